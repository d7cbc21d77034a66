"""Instructions for a sitter: one for every duty, with the figures where there are any (common practice)."""

from __future__ import annotations

import pytest

from bot.care.duty import Duty
from bot.care.sitter_words import Facts, instruction
from bot.care.units import Units
from tests.care.builders import handbook


@pytest.mark.parametrize("duty", Duty)
def test_every_duty_has_a_short_instruction_also_without_figures(duty: Duty) -> None:
    said = instruction(duty, {}, handbook(), Units.CELSIUS)
    assert said.endswith((".", "?"))
    assert 20 < len(said) <= 200


@pytest.mark.parametrize(
    ("duty", "facts", "part"),
    [
        (Duty.WATER, {"water_ml": 12.5, "side": "B"}, "about 12.5 ml of water to side B"),
        (Duty.WATER, {"replace_after_days": 60}, "When little is left, tell the keeper"),
        (Duty.SUGAR, {"amount": "two drops"}, "Offer two drops (sugar water)"),
        (Duty.PROTEIN, {"amount": "one or two", "food": "not-in-the-book"}, "Offer one or two (prey)"),
        (Duty.LEFTOVERS, {"leftovers_hours": 24}, "within 24 hours of feeding"),
        (Duty.HEAT_CHECK, {"off_c": 35.0}, "At 35"),
        (Duty.REST_CHECK, {"target_low_c": 5.0, "target_high_c": 8.0}, "should stand at 5"),
        (Duty.REST_BEGIN, {"target_low_c": 5.0, "target_high_c": 8.0}, "should stand at 5"),
    ],
)
def test_figures_are_named(duty: Duty, facts: Facts, part: str) -> None:
    assert part in instruction(duty, facts, handbook(), Units.CELSIUS)


def test_a_sitter_reads_their_own_scale() -> None:
    assert "°F" in instruction(Duty.HEAT_CHECK, {"off_c": 35.0}, handbook(), Units.FAHRENHEIT)


def test_what_a_known_food_is_called() -> None:
    book = handbook()
    food = next(iter(book.foods.values()))
    assert food.name in instruction(Duty.PROTEIN, {"food": food.id}, book, Units.CELSIUS)
