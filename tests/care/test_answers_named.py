"""Answers to questions that name an ant: its facts, slots and cautions, before those of the asker's own colony.

What is told is compared with the entry in `config/species` as it stands in the file: its figures, its sources and how
they are known. Which lines belong to a species follows `caution_rules.py`, whose tests name the safety notes.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bot.adapters.terminal.answer_text import answer_text
from bot.care.answers.guide import Guide
from bot.care.answers.named_cautions import SOMEBODY, Lines, speak_of
from bot.care.answers.naming import Names
from bot.care.answers.portrait import MOST_TOLD, portrait, slots_for
from bot.care.answers.profile_facts import FACTS
from bot.care.answers.subject import told_of
from bot.care.answers.values import Answer, Facts, Season
from bot.care.cautions import Kind
from bot.care.units import Units
from bot.services.answers import spoken
from tests.shelf import handbook

CONFIG = Path(__file__).parents[2] / "config"
HANDBOOK = handbook()
NAMES = Names(HANDBOOK.species.values())
NIGER = Facts(genus="Lasius", workers=40, nest="test tube", season=Season.AUTUMN, species="Lasius niger")


def entry(name: str) -> dict[str, Any]:
    """Facts of a species as its file has them, the genus's where its own page is silent."""
    genus = tomllib.loads((CONFIG / "species" / f"{name.split(maxsplit=1)[0].lower()}.toml").read_text("utf-8"))
    own: dict[str, Any] = next((page["facts"] for page in genus.get("species", ()) if page["name"] == name), {})
    return {**genus["facts"], **own}


def lines(answer: Answer) -> list[str]:
    return [caution.text for caution in spoken(answer.cautions, answer.whom, HANDBOOK)]


@pytest.mark.parametrize("name", ["Lasius niger", "Messor barbarus", "Camponotus ligniperda", "Temnothorax nylanderi"])
def test_the_winter_rest_of_a_species_is_that_of_its_entry(guide: Guide, name: str) -> None:
    facts = entry(name)
    (low, high), (least, most) = facts["rest_band_c"]["value"], facts["rest_weeks"]["value"]
    answer = guide.answer(f"does {name} hibernate?")
    assert answer.about.startswith(f"**{name}** rests")
    assert f"{low}–{high} °C for {least}–{most} weeks" in answer.about
    assert set(facts["rest_band_c"]["source"]) <= set(answer.about_sources)


def test_how_a_figure_is_known_is_told_beside_it(guide: Guide) -> None:
    facts = entry("Messor barbarus")
    assert facts["rest_band_c"]["confidence"] == "common practice"
    assert facts["dormancy"]["confidence"] == "memory"
    about = guide.answer("does Messor barbarus hibernate?").about
    assert "custom among keepers" in about
    assert "from memory, not checked" in about
    assert "little is known" in about  # `weak` of its genus


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("welche Temperatur im Winter für Lasius niger", "4–8 °C"),
        ("Messor barbarus necesita hibernar?", "10–15 °C"),
        ("est-ce que Messor barbarus doit hiberner", "10–15 °C"),
        ("does M. barbarus need hibernation", "10–15 °C"),
        ("does mesor barbarus hibernate", "10–15 °C"),
    ],
)
def test_the_answer_speaks_of_the_named_ant_in_four_languages(guide: Guide, text: str, said: str) -> None:
    assert said in guide.answer(text).about


def test_a_tropical_ant_is_never_chilled(guide: Guide) -> None:
    assert entry("Atta cephalotes")["dormancy"]["value"] == "HOMO"
    answer = guide.answer("winter temperature for Atta cephalotes")
    assert "no winter rest" in answer.about
    assert any(line.startswith("Atta cephalotes: This ant comes from the warm tropics") for line in lines(answer))
    assert "REST-COOL-SLOWLY" not in answer.cautions, "nobody is told how to cool it"


@pytest.mark.parametrize(
    "text", ["Polyrhachis dives in winter, how cold", "que temperatura en invierno para Atta sexdens"]
)
def test_no_card_lays_a_tropical_ant_to_rest(guide: Guide, text: str) -> None:
    answer = guide.answer(text)
    assert not all(topic.startswith("hibernation") for topic in answer.topics) or "needs none" in answer.text
    assert "°C on the warm side" in answer.about


@pytest.mark.parametrize(("name", "claustral"), [("Manica rubida", False), ("Lasius niger", True)])
def test_only_a_claustral_queen_is_called_so(guide: Guide, name: str, *, claustral: bool) -> None:
    assert ("claustral" in entry(name)["founding"]["value"]) is claustral
    profiles = [HANDBOOK.species[name]]
    found = speak_of(Lines(("FOUNDING-QUIET",)), (), profiles, HANDBOOK, SOMEBODY, guide.warner.stands_for)
    assert ("FOUNDING-QUIET" in found.ids) is claustral
    assert {HANDBOOK.cautions[one].kind for one in found.ids} >= {Kind.STRESS}, "a line for each kind is left"


def test_an_ant_that_rests_is_not_called_tropical(guide: Guide) -> None:
    answer = guide.answer("does Messor barbarus hibernate?")
    assert "REST-TROPICAL" not in answer.cautions
    assert "cold" in answer.caution_kinds


def test_a_genus_with_tropical_species_keeps_that_warning(guide: Guide) -> None:
    assert entry("Messor cephalotes")["dormancy"]["value"] == "HOMO"
    answer = guide.answer("does Messor hibernate?")
    assert "REST-TROPICAL" in answer.cautions
    assert "its species differ" in answer.about


def test_a_hard_sting_is_told_whatever_is_asked(guide: Guide) -> None:
    assert entry("Myrmecia pilosula")["hazard"]["value"] == 3
    answer = guide.answer("how often do I feed Myrmecia pilosula")
    assert any(line.startswith("Myrmecia pilosula: Treat this ant as dangerous") for line in lines(answer))


def test_a_listed_species_is_told_of_whatever_is_asked(guide: Guide) -> None:
    assert "EU_UNION_LIST_2022" in entry("Solenopsis invicta")["regulation"]["value"]
    said = lines(guide.answer("what does Solenopsis invicta eat"))
    assert any(line.startswith("Solenopsis invicta: This kind stands on official lists") for line in said)
    assert any(line.startswith("Solenopsis invicta: The EU bans") for line in said)


def test_the_union_list_is_not_held_against_a_keeper_elsewhere(guide: Guide) -> None:
    american = replace(SOMEBODY, country="US")
    answer = guide.answer("what does Solenopsis invicta eat", keeper=american)
    assert "LAW-01" not in answer.cautions
    assert "LAW-12" in answer.cautions


def test_a_protected_ant_is_left_alone(guide: Guide) -> None:
    assert "DE_PROTECTED" in entry("Formica rufa")["regulation"]["value"]
    assert "LAW-08" in guide.answer("can I keep Formica rufa").cautions


def test_harmless_ants_are_not_called_dangerous(guide: Guide) -> None:
    answer = guide.answer("is Lasius niger a good first species")
    assert "STG-03" not in answer.cautions
    assert "sting" in guide.answer("is Myrmecia a good first species").caution_kinds


def test_an_unknown_species_is_answered_by_its_genus_and_says_so(guide: Guide) -> None:
    about = guide.answer("does Lasius emarginatus hibernate").about
    assert about.startswith("I know nothing of Lasius emarginatus itself, only of its genus, and species differ.")
    low, high = entry("Lasius")["rest_band_c"]["value"]
    assert f"{low}–{high} °C" in about


def test_nothing_is_invented_for_an_unknown_genus(guide: Guide) -> None:
    answer = guide.answer("does Dorymyrmex bicolor hibernate")
    assert (answer.about, answer.named, answer.whom) == ("", (), {})


def test_what_is_not_studied_stays_unknown(guide: Guide) -> None:
    assert entry("Rhytidoponera metallica")["dormancy"]["value"] == "UNKNOWN"
    about = guide.answer("does Rhytidoponera metallica hibernate").about
    assert "not well studied" in about
    assert "°C" not in about


def test_two_ants_are_both_told(guide: Guide) -> None:
    about = guide.answer("hibernation of Lasius niger and Messor barbarus").about
    assert "**Lasius niger** rests every year" in about
    assert "**Messor barbarus** rests when autumn cools" in about


def test_many_ants_are_answered_in_general_with_their_dangers(guide: Guide) -> None:
    text = "hibernation of Lasius, Messor, Formica and Paraponera"
    assert len(NAMES.find(text)) > MOST_TOLD
    assert slots_for(NAMES.find(text)) == {}
    answer = guide.answer(text)
    assert answer.about.startswith("You name 4 kinds of ants, so I answer in general.")
    assert "STG-03" in answer.cautions


def test_where_the_question_is_not_understood_the_ant_is_still_told(guide: Guide) -> None:
    for text in ("Manica rubida??", "MANICA"):
        answer = guide.answer(text)
        assert not answer.answered
        assert "can hurt people" in answer.about
        assert "rests every year by an inner clock" in answer.about


def test_first_aid_speaks_of_nothing_else(guide: Guide) -> None:
    answer = guide.answer("Pogonomyrmex barbatus stung me and my throat swells")
    assert answer.cautions == ("STG-01", "STG-04")
    assert answer.about == ""


def test_the_named_ant_comes_before_the_askers_own(guide: Guide) -> None:
    slots = {"rest_needed": "Lasius niger rests at 4–8 °C.", "next_water": "For Anna, water.", "country_law": "Ask."}
    answer = guide.answer("does Atta cephalotes need a winter rest", NIGER, slots)
    assert "Lasius niger" not in answer.about + answer.text
    assert "Atta cephalotes" in answer.about


MINE = {"rest_needed": "Anna rests from November."}


@pytest.mark.parametrize("text", ["does my Lasius niger need a winter rest", "my lasius", "Lasius niger or Messor"])
def test_who_names_the_ant_they_keep_is_told_of_their_colony(text: str) -> None:
    assert told_of(NAMES.find(text), NIGER, MINE, Units.CELSIUS) == (NIGER, MINE)


def test_a_colony_known_by_its_genus_may_be_the_named_species() -> None:
    by_genus = Facts(genus="Lasius", workers=40, species="Lasius")
    assert told_of(NAMES.find("my Lasius niger"), by_genus, MINE, Units.CELSIUS) == (by_genus, MINE)


@pytest.mark.parametrize("text", ["Lasius flavus", "Lasius emarginatus", "Messor"])
def test_facts_of_a_colony_say_nothing_of_another_species(text: str) -> None:
    facts, slots = told_of(NAMES.find(text), NIGER, {**MINE, "country_law": "Ask."}, Units.CELSIUS)
    assert facts == Facts(genus=text.split(maxsplit=1)[0], season=Season.AUTUMN)
    assert slots["rest_needed"] != MINE["rest_needed"]
    assert slots["country_law"] == "Ask."


def test_genus_facts_of_a_batch_stay_what_they_are(guide: Guide) -> None:
    """They are known of the colony; the ant in the words is what the answer speaks of."""
    messor = Facts(genus="Messor", workers=10)
    assert told_of(NAMES.find("my lasius niger are too hot"), messor, {}, Units.CELSIUS)[0] == messor
    assert guide.answer("my lasius niger are too hot", messor).named == ("Lasius niger",)


def test_nobody_is_asked_which_ant_it_is_after_naming_it(guide: Guide) -> None:
    assert any(ask.startswith("Which ant") for ask in guide.answer("do my ants need hibernation").asks)
    assert not any(ask.startswith("Which ant") for ask in guide.answer("does Messor barbarus hibernate?").asks)


def test_temperatures_are_told_in_the_readers_units() -> None:
    told = portrait(NAMES.find("Messor barbarus"), ("hibernation-temp",), Units.FAHRENHEIT)
    assert "50–59 °F" in told.text  # 10 and 15 °C by the definition of the scale


def test_slots_of_a_profile_are_short_and_its_own() -> None:
    slots = slots_for(NAMES.find("Messor barbarus"))
    assert slots["rest_needed"] == "Messor barbarus needs one."
    assert slots["rest_weeks"] == "For Messor barbarus: 8–12 weeks."
    assert slots_for(NAMES.find("Atta cephalotes"))["rest_needed"] == "Atta cephalotes needs none."
    assert "°C" not in slots_for(NAMES.find("Atta cephalotes"))["rest_temperature"]


def test_facts_are_looked_up_by_topics_that_exist(guide: Guide) -> None:
    assert FACTS.keys() <= guide.topics.keys()


def test_every_entry_can_be_told_on_every_topic() -> None:
    for name in HANDBOOK.species:
        for topics in (None, *((topic,) for topic in FACTS)):
            told = portrait(NAMES.find(name), topics)
            assert name in told.text
            assert "None" not in told.text
            assert len(told.text) <= 900
            assert set(told.sources) <= set(HANDBOOK.sources)


def test_the_json_text_begins_with_the_named_ant(guide: Guide) -> None:
    said = guide.answer("does Messor barbarus hibernate?").as_json()["text"]
    assert isinstance(said, str)
    assert said.startswith("**Messor barbarus** rests")


def test_the_terminal_names_the_sources_of_the_ant(guide: Guide) -> None:
    shown = answer_text(guide.answer("does Messor barbarus hibernate?"), guide, HANDBOOK)
    cited = [HANDBOOK.sources[name].citation for name in entry("Messor barbarus")["rest_band_c"]["source"]]
    last = shown.splitlines()[-1]
    assert last.startswith("On the ants you name: ")
    assert all(one in last for one in cited)
