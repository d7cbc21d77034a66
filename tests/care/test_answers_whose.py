"""Which of several colonies a question is about."""

import pytest

from bot.care.answers.guide import Guide
from bot.care.answers.whose import Kept, asked_about

KEPT = (
    Kept("Anna", "Lasius niger", "Lasius"),
    Kept("Bea", "Messor barbarus", "Messor"),
    Kept("Lasius B", "Lasius flavus", "Lasius"),
    Kept("Queen", "Camponotus", "Camponotus"),
    Kept("Anna two", None, None),
)


@pytest.mark.parametrize(
    ("question", "name"),
    [
        ("how often do i feed bea", "Bea"),
        ("Anna's tube is nearly dry", None),
        ("anna: tube is nearly dry", "Anna"),
        ("anna two does not eat", "Anna two"),
        ("is lasius b ready for winter", "Lasius B"),
        ("when does my messor go to rest", "Bea"),
        ("wie oft füttere ich Messor barbarus", "Bea"),
        ("does my camponotus need heat", "Queen"),
        ("when does lasius niger go to rest", "Anna"),
        ("when does lasius go to rest", None),
        ("my queen is dead", None),
        ("mould in the tube", None),
        ("does atta need a rest", None),
    ],
)
def test_a_colony_is_told_by_its_name_or_by_being_the_only_one_of_its_kind(
    guide: Guide, question: str, name: str | None
) -> None:
    found = asked_about(question, guide, KEPT)
    assert (None if found is None else found.name) == name


def test_who_keeps_nothing_is_asked_about_nothing(guide: Guide) -> None:
    assert asked_about("how often do i feed bea", guide, ()) is None
