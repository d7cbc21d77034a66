"""Results that are remembered with their value stay those of that value."""

from dataclasses import dataclass, replace

from bot.care.once import once


@dataclass(frozen=True)
class Nest:
    sides: int


def test_a_result_is_worked_out_once_for_each_value_and_each_question() -> None:
    asked = list[tuple[int, int]]()

    @once
    def half(nest: Nest, parts: int = 2) -> float:
        asked.append((nest.sides, parts))
        return nest.sides / parts

    nest = Nest(2)
    assert (half(nest), half(nest), half(nest, 4), half(nest, 4), half(replace(nest, sides=6))) == (1, 1, 0.5, 0.5, 3)
    assert asked == [(2, 2), (2, 4), (6, 2)]


def test_what_is_remembered_makes_no_value_unlike_another() -> None:
    @once
    def doubled(nest: Nest) -> int:
        return nest.sides * 2

    known = Nest(2)
    assert doubled(known) == 4
    assert known == Nest(2)
    assert repr(known) == repr(Nest(2))
