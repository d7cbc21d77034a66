"""Countries that a question names: found in four languages, and their rules told instead of nobody's or the asker's.

Which line belongs to a country stands in `config/countries.toml`; names of countries are general knowledge of the four
languages, and the questions are our own ways of asking.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from datetime import UTC
from pathlib import Path
from typing import Any

import pytest

from bot.adapters.handbook.country_names import FILE, load_country_names
from bot.adapters.handbook.errors import HandbookError
from bot.adapters.terminal.answer_text import answer_text
from bot.care.answers.countries import Role, called, rules_of
from bot.care.answers.filling import SLOTS
from bot.care.answers.named_cautions import SOMEBODY
from bot.care.answers.values import NO_FACTS, Answer
from bot.care.place import Keeper
from bot.services.answers import answer_question, country_slots
from bot.services.asking import Asking
from tests.shelf import CONFIG, guide, handbook

HANDBOOK = handbook()
COUNTRIES = guide().countries
NAMES: dict[str, Any] = tomllib.loads((CONFIG / FILE).read_text("utf-8"))["names"]
LANGUAGES = ("en", "de", "es", "fr")
BEHIND = {"en": "in", "de": "aus", "es": "en", "fr": "en"}
GERMAN = Keeper(zone_name="Etc/UTC", zone=UTC, country="DE")
ASKED_BACK = "In which country do you live?"
ALLOWED = re.compile(r"\b(?:is|are) (?:legal|allowed|permitted|fine)\b|you may (?:keep|import|send)", re.IGNORECASE)
REACTION = "my friend was stung by an ant and cannot breathe, we are in spain"


def codes(text: str) -> list[str]:
    return [land.country.code for land in COUNTRIES.find(text)]


def asked(text: str, keeper: Keeper = SOMEBODY) -> Answer:
    return answer_question(text, NO_FACTS, guide(), country_slots(keeper, HANDBOOK), keeper)


def shown(answer: Answer) -> str:
    return answer_text(answer, guide(), HANDBOOK)


def first_sentence(caution: str) -> str:
    return HANDBOOK.cautions[caution].text.partition(". ")[0]


def test_every_country_of_the_handbook_has_names_in_four_languages() -> None:
    assert set(NAMES) == set(HANDBOOK.countries)
    for code, entry in NAMES.items():
        for language in LANGUAGES:
            names = (*entry.get(language, ()), *entry.get("after_preposition", {}).get(language, ()))
            assert names, f"{code} has no name in {language}"
            for name in names:
                assert codes(f"xx {BEHIND[language]} {name} xx") == [code], f"{name} in {language}"


def test_the_name_that_the_handbook_prints_is_found() -> None:
    for country in HANDBOOK.countries.values():
        assert codes(f"ants in {called(country)}") == [country.code]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("is it legal to keep solenopsis invicta in spain", ["ES"]),
        ("can i import queens to new zealand", ["NZ"]),
        ("nz rules for exotic ants", ["NZ"]),
        ("darf ich in österreich ameisen halten", ["AT"]),
        ("darf ich in Oesterreich ameisen halten", ["AT"]),
        ("do i need a permit in california", ["US"]),
        ("shipping in the us, what paper", ["US"]),
        ("is a permit needed in the US?", ["US"]),
        ("US permits for queens", ["US"]),
        ("uk law on queens", ["GB"]),
        ("¿es legal en españa?", ["ES"]),
        ("hormigas en los EE.UU.", ["US"]),
        ("puedo tener hormigas en argentina", ["AR"]),
        ("ai-je le droit en Nouvelle-Zélande", ["NZ"]),
        ("les règles de l'Australie", ["AU"]),
        ("fourmis aux pays-bas", ["NL"]),
        ("Ameisen in der Türkei halten", ["TR"]),
        ("keeping ants in turkey", ["TR"]),
        ("keeping ants in greece or turkey", ["GR", "TR"]),
        ("ants from china", ["CN"]),
        ("darf ich aus Polen bestellen", ["PL"]),
        ("queens in new mexico", ["US"]),
        ("queens in mexico", ["MX"]),
        ("ants in south korea", ["KR"]),
    ],
)
def test_a_country_is_found(text: str, found: list[str]) -> None:
    assert codes(text) == found


@pytest.mark.parametrize(
    "text",
    [
        "turkey mince for ants",
        "can ants eat turkey",
        "scraps of turkey breast in the outworld",
        "tell us how",
        "give it to us",
        "TELL US HOW TO FEED THEM",
        "water on a china plate",
        "ants in china dishes",
        "my ants are hungary",
        "greece on the rim",
        "la hormiga argentina en mi jardín",
        "fourmi argentine à la maison",
        "qué se usa para el tubo",
        "polen de flores para hormigas",
        "extracto de malta para hormigas",
        "can they eat brazil nuts",
        "an island in the outworld",
        "keeping ants in northern ireland",
        "Formica montana queen",
        "Solenopsis invicta in the tube",
        "",
    ],
)
def test_ordinary_words_are_no_countries(text: str) -> None:
    assert codes(text) == []


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("import ants from spain to australia", [("AU", Role.TO), ("ES", Role.FROM)]),
        ("ameisen von deutschland in die türkei schicken", [("TR", Role.TO), ("DE", Role.OF)]),
        ("llevar hormigas de alemania a méxico", [("MX", Role.TO), ("DE", Role.OF)]),
        ("importer des fourmis d'espagne en suisse", [("CH", Role.IN), ("ES", Role.OF)]),
        ("rules in germany, austria and switzerland", [("DE", Role.IN), ("AT", Role.IN), ("CH", Role.IN)]),
        ("spain, later also to spain", [("ES", Role.TO)]),
    ],
)
def test_the_country_travelled_to_comes_first(text: str, order: Sequence[tuple[str, Role]]) -> None:
    assert [(land.country.code, land.role) for land in COUNTRIES.find(text)] == list(order)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("is it legal to keep ants in spain", "ES"),
        ("do i need a permit to keep ants in california", "US"),
        ("darf ich in österreich ameisen halten", "AT"),
        ("¿es legal tener hormigas en australia?", "AU"),
        ("est-ce légal d'avoir des fourmis au canada", "CA"),
        ("can i import queens to new zealand", "NZ"),
    ],
)
@pytest.mark.parametrize("keeper", [SOMEBODY, GERMAN])
def test_the_rules_of_the_named_country_are_told_and_whose_they_are(text: str, code: str, keeper: Keeper) -> None:
    country = HANDBOOK.countries[code]
    answer = asked(text, keeper)
    assert f"For {called(country)}: " in answer.text
    assert SLOTS["country_law"] not in answer.text
    assert country.law_caution in answer.cautions
    assert "LAW-ASK" not in answer.cautions
    assert ASKED_BACK not in answer.asks
    assert not ALLOWED.search(shown(answer))


def test_a_country_without_a_pointer_is_not_called_free_of_rules() -> None:
    assert HANDBOOK.countries["CH"].law_caution is None
    answer = asked("is it legal to keep ants in switzerland")
    assert "For Switzerland I hold no rules, which does not mean that there are none" in answer.text
    assert "LAW-ASK" in answer.cautions


def test_two_countries_are_both_told_briefly_and_the_goal_first() -> None:
    answer = asked("can i import queens from spain to australia")
    australia, spain = answer.text.find("For Australia: "), answer.text.find("For Spain: ")
    assert 0 < australia < spain
    assert "Check federal and state rules" not in answer.text, "one sentence each"
    assert first_sentence("LAW-01") in answer.text


def test_countries_of_one_rule_share_it_and_many_are_told_in_part() -> None:
    said = rules_of(COUNTRIES.find("in germany and spain"), None, HANDBOOK)
    assert said == f"For Germany and Spain: {first_sentence('LAW-01')}."
    many = rules_of(COUNTRIES.find("in germany, japan, brazil and canada"), None, HANDBOOK)
    assert "Canada" not in many
    assert "one by one" in many


def test_ants_that_come_from_a_country_leave_open_whose_law_counts() -> None:
    text = "i ordered ants from thailand, is that legal"
    unknown = asked(text)
    assert SLOTS["country_law"] in unknown.text
    assert "For Thailand I hold no rules" in unknown.text
    assert ASKED_BACK in unknown.asks
    assert asked(text, GERMAN).text.find("For Germany: ") > 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("is it legal to keep Solenopsis invicta in spain", "is named by official rules or lists for Spain"),
        ("is it legal to keep Solenopsis invicta in japan", "is named by official rules or lists for Japan"),
        (
            "is it legal to keep Solenopsis invicta in brazil",
            "is on no list that I hold for Brazil, which says nothing",
        ),
        ("is it legal to keep Lasius niger in germany", "is on no list that I hold for Germany, which says nothing"),
    ],
)
def test_the_law_fact_of_an_ant_is_that_of_the_named_country(text: str, said: str) -> None:
    assert said in asked(text).about


def test_an_ant_off_the_list_of_the_eu_is_not_put_on_it_and_not_called_free() -> None:
    answer = asked("is it legal to keep Lasius niger in germany")
    assert "LAW-01" not in answer.cautions
    assert "countries have rules of their own" in answer.text
    assert not ALLOWED.search(shown(answer))


def test_a_listed_ant_gets_the_line_of_the_country_that_is_named() -> None:
    assert "LAW-01" in asked("is it legal to keep Solenopsis invicta in spain").cautions
    american = asked("is it legal to keep Solenopsis invicta in the us", GERMAN)
    assert "LAW-02" in american.cautions
    assert "LAW-01" not in american.cautions


def test_where_somebody_is_hurt_the_asker_s_own_number_comes_first() -> None:
    assert f"In Spain it is {HANDBOOK.countries['ES'].emergency}." in asked(REACTION).text
    japanese = Keeper(zone_name="Etc/UTC", zone=UTC, country="JP")
    assert f"In Japan it is {HANDBOOK.countries['JP'].emergency}." in asked(REACTION, japanese).text
    foreign = asked("an ant from australia stung my friend and he cannot breathe")
    assert SLOTS["emergency_number"] in foreign.text, "nobody rings the number of the ants' home"


@pytest.mark.asyncio
async def test_a_post_and_a_near_card_keep_the_country() -> None:
    asking = Asking(no_records, HANDBOOK, guide)
    preview = await asking.preview("can i import queens to new zealand")
    assert preview.card is not None
    assert preview.ants == ("NZ",)
    posted = await asking.public(preview.card.id, [one.id for one in preview.cautions], preview.ants)
    assert (posted.text, posted.cautions) == (preview.text, preview.cautions)


def no_records() -> Any:
    raise AssertionError("a preview reads no records")


def edited(tmp_path: Path, before: str, after: str) -> Path:
    text = (CONFIG / FILE).read_text("utf-8")
    assert before in text
    (tmp_path / FILE).write_text(text.replace(before, after, 1), "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("[names.ES]", "[names.XQ]", "[names.XQ]: there is no country “XQ” in countries.toml"),
        ('en = ["Spain"]', 'en = ["Italy"]', "“Italy” already means ES; a name belongs to one country"),
        ('en = ["Spain"]', 'en = ["Spain"]\nit = ["Spagna"]', "names.ES.it"),
        ('en = ["Türkiye"]', 'en = ["Turkey"]', "“Turkey” stands under after_preposition and as a name too"),
        ("[names.ES]", "[names.ES", "cannot be read"),
    ],
)
def test_a_mistake_in_the_names_is_told(tmp_path: Path, before: str, after: str, said: str) -> None:
    with pytest.raises(HandbookError) as caught:
        load_country_names(edited(tmp_path, before, after), HANDBOOK.countries)
    assert said in str(caught.value)
    assert FILE in str(caught.value)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(HandbookError, match=FILE):
        load_country_names(tmp_path, HANDBOOK.countries)
