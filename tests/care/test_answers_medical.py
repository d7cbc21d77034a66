"""Medical lines are found in free text, in every language of the bot, and stand first (safety notes, section 0)."""

import pytest

from bot.care.answers.guide import Guide

ASKED = {
    "FIX-11": (
        "toddler swallowed a button cell of the hygrometer",
        "kind hat eine knopfzelle verschluckt",
        "mi hijo se tragó una pila de botón",
        "mon fils a avalé une pile bouton",
    ),
    "STG-07": (
        "i found little fire ants, can i keep them",
        "elektrische ameise im blumentopf",
        "hormiga eléctrica en mi maceta",
        "fourmi électrique dans mon jardin",
    ),
    "BAR-03": (
        "can i smoke a cigarette while i put the ptfe on",
        "darf ich beim auftragen vom ptfe rauchen",
        "puedo fumar mientras pongo el ptfe",
        "fumer pendant que je pose le ptfe",
    ),
    "FIX-12": (
        "can i clean the box with bleach and vinegar",
        "box mit chlorreiniger und essig putzen",
        "limpiar la caja con lejía y vinagre",
        "nettoyer la boîte avec javel et vinaigre",
    ),
    "MED-SHOCK": (
        "got a shock from the heat mat, my arm is numb",
        "stromschlag von der heizmatte bekommen",
        "me dio corriente la manta térmica",
        "j'ai pris une décharge avec le tapis chauffant",
    ),
    "MED-SWALLOWED": (
        "my kid swallowed talc powder",
        "meine tochter hat talkum verschluckt",
        "mi hijo se tragó talco",
        "mon fils a avalé du talc",
    ),
}


@pytest.mark.parametrize(("caution", "text"), [(name, text) for name, asked in ASKED.items() for text in asked])
def test_a_medical_line_is_found_in_every_language_and_stands_first(guide: Guide, caution: str, text: str) -> None:
    answer = guide.answer(text)
    assert caution in answer.cautions
    assert guide.handbook.cautions[answer.cautions[0]].medical
    assert answer.asks == ()


def test_what_was_swallowed_is_for_a_poison_centre(guide: Guide) -> None:
    answer = guide.answer("my kid swallowed talc powder")
    assert answer.card == "medical-swallowed"
    assert "poison centre" in answer.text
    assert not answer.answered


@pytest.mark.parametrize(
    "text",
    [
        "got a shock from the heat mat, hand numb and heart goes funny",
        "stromschlag von der heizmatte, herz stolpert seitdem",
        "décharge avec le tapis chauffant, mon cœur bat bizarre",
        "the wet cable shocked me and my chest hurts",
    ],
)
def test_a_shock_is_no_allergy(guide: Guide, text: str) -> None:
    answer = guide.answer(text)
    assert answer.card == "medical-shock"
    assert answer.cautions[0] == "MED-SHOCK"
    assert "STG-01" not in answer.cautions


def test_signs_of_poisoning_are_for_a_poison_centre(guide: Guide) -> None:
    answer = guide.answer("used bug spray in the room, now my hands tingle and i drool")
    assert answer.card == "medical-swallowed"
    assert "MED-SWALLOWED" in answer.cautions


@pytest.mark.parametrize(
    "text", ["do ants bite", "my ant stung me", "which ants sting hard", "is solenopsis dangerous"]
)
def test_who_tells_no_signs_is_not_told_to_lie_down(guide: Guide, text: str) -> None:
    answer = guide.answer(text)
    assert answer.answered
    assert "STG-01" not in answer.cautions
    assert "MED-IF" in answer.cautions
