"""Answers for a colony that is known: no rest for ants without one, lines of its own species, nothing asked twice.

Species and their ways of founding and wintering are those of `config/species`.
"""

from __future__ import annotations

import pytest

from bot.care.answers.guide import Guide
from bot.care.answers.naming import Named
from bot.care.answers.own_cautions import own_ant
from bot.care.answers.portrait import slots_for
from bot.care.answers.subject import lays_to_rest
from bot.care.answers.values import Facts, Season
from bot.care.phase import Phase
from bot.care.place import Keeper
from bot.care.species import Founding
from tests.care import builders
from tests.shelf import handbook

HANDBOOK = handbook()
RESTS = ("how do i begin the winter rest", "how cold for hibernation", "is it too late to hibernate my ants")


def facts(species: str, **known: object) -> Facts:
    genus = species.split(maxsplit=1)[0]
    values: dict[str, object] = {"workers": 300, "nest": "plaster", "season": Season.WINTER}
    return Facts(genus=genus, species=species, **(values | known))  # type: ignore[arg-type] # named by each test


@pytest.mark.parametrize("question", RESTS)
@pytest.mark.parametrize("species", ["Pheidole megacephala", "Pheidole"])
def test_nobody_is_told_to_cool_ants_that_have_no_known_rest(guide: Guide, question: str, species: str) -> None:
    answer = guide.answer(question, facts(species, restless=True))
    assert answer.card is not None
    assert not lays_to_rest(guide.cards[answer.card])
    assert "REST-TROPICAL" in answer.cautions
    assert not {"REST-COOL-SLOWLY", "REST-ENDO"} & set(answer.cautions)


def test_ants_with_a_rest_keep_its_cards(guide: Guide) -> None:
    assert guide.answer(RESTS[0], facts("Lasius niger")).card == "rest-begin"


def test_once_the_rest_runs_nobody_is_told_to_cool_down(guide: Guide) -> None:
    question = "when do i have to feed my ants next"
    answer = guide.answer(question, facts("Lasius niger", phase=Phase.REST))
    assert "REST" in answer.cautions
    assert "REST-COOL-SLOWLY" not in answer.cautions
    begun = guide.answer("is it too late to start winter rest for my colony", facts("Lasius niger", phase=Phase.REST))
    assert "REST-COOL-SLOWLY" in begun.cautions, "the calendar may be ahead of the colony"


@pytest.mark.parametrize(
    ("species", "founding", "quiet"),
    [
        ("Lasius niger", None, True),
        ("Myrmica rubra", None, False),
        ("Manica rubida", None, False),
        ("Lasius", Founding.PARASITIC, False),
    ],
)
def test_water_and_quiet_are_not_all_that_every_queen_needs(
    guide: Guide, species: str, founding: Founding | None, *, quiet: bool
) -> None:
    answer = guide.answer("how do i set up my founding queen", facts(species, workers=0, founding=founding))
    assert ("FOUNDING-QUIET" in answer.cautions) is quiet


def test_what_its_keeper_told_of_a_queen_comes_before_her_species() -> None:
    own = own_ant(facts("Lasius", founding=Founding.PARASITIC), HANDBOOK.species)
    assert own is not None
    assert own.founding == (Founding.PARASITIC,)
    assert own_ant(Facts(genus="Lasius"), HANDBOOK.species) is None


def test_nothing_is_asked_that_is_known(guide: Guide) -> None:
    card = guide.cards["rest-begin"]
    keeper: Keeper = builders.keeper(country="DE")
    open_ones = guide.show(card, Facts(), {}).asks
    assert any(ask.startswith("Which ant is it") for ask in open_ones)
    asks = guide.show(card, facts("Lasius niger"), {}, keeper=keeper).asks
    assert set(asks) < set(open_ones)
    assert not any(ask.startswith(("Which ant is it", "How many workers", "In which country")) for ask in asks)


def test_an_alarm_of_its_own_is_named_for_a_named_ant_too() -> None:
    slots = slots_for([Named(HANDBOOK.species["Messor barbarus"])])
    assert slots["heat_limit"] == "For Messor barbarus 33 °C is the alarm."
