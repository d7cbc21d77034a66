"""Acid in an eye: the rinsing line is always there, and the right first-aid card comes first."""

import pytest

from bot.care.answers.guide import Guide


@pytest.mark.parametrize(
    "text",
    [
        "acid in my eye from the ants",
        "formic acid got into my eye",
        "ant sprayed acid in my face and my eye burns",
        "ameise hat mir säure ins auge gespritzt",
        "me entró ácido de hormiga en el ojo",
        "acide formique dans l'œil",
        "my eyes are red after opening the tank",
    ],
)
def test_rinsing_is_said_and_its_card_comes_first(guide: Guide, text: str) -> None:
    answer = guide.answer(text)
    assert "STG-05" in answer.cautions
    assert answer.card == "medical-eye-acid"
    assert not answer.answered


def test_signs_of_a_severe_reaction_outrank_the_eye(guide: Guide) -> None:
    answer = guide.answer("got stung near the eye, my throat swells and I cannot breathe, eye burns too")
    assert answer.cautions[0] == "STG-01"
    assert answer.card == "medical-severe-reaction"
