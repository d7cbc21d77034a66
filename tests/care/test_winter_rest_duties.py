"""Steps of a rest as dated duties, and looking at a resting colony."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.care.colony import Brood, RestWishes
from bot.care.duty import Duty
from bot.care.phase import Phase
from bot.care.rest.duties import RestStep, advise_rest_check, rest_steps
from bot.care.rest.plan import plan_rest
from bot.care.situation import Situation
from bot.care.species import DormancyClass
from bot.care.units import Band, Units
from tests.care.builders import colony, keeper, place, profile, situation

ENDO = profile(
    dormancy=DormancyClass.ENDO, rest_target_c=5, rest_band_c=Band(2, 8), rest_weeks=Band(12, 20), rest_floor_weeks=8
)


def resting(day: date = date(2026, 12, 24), wishes: RestWishes | None = None, **changes: object) -> Situation:
    base = situation(
        colony=colony(rest=wishes or RestWishes(), **changes), profile=ENDO, place=place(temperature_c=22), day=day
    )
    return replace(base, rest=plan_rest(base.colony, base.profile, base.place, base.keeper, base.handbook, base.day))


def steps(at: Situation) -> dict[Duty, RestStep]:
    return {step.duty: step for step in rest_steps(at.rest, at)}


def test_each_phase_begins_with_its_step() -> None:
    at = resting()
    assert list(steps(at)) == [
        Duty.REST_WIND_DOWN,
        Duty.REST_COOL_DOWN,
        Duty.REST_BEGIN,
        Duty.REST_WARM_UP,
        Duty.REST_END,
    ]
    assert [step.day for step in rest_steps(at.rest, at)] == [span.start for span in at.rest.phases]


def test_every_step_lies_in_its_window_with_reason_and_figures() -> None:
    at = resting()
    for step in rest_steps(at.rest, at):
        assert step.earliest <= step.day <= step.latest
        assert 0 <= step.useful_days <= (step.latest - step.day).days
        assert step.reason
        assert step.why == at.rest.explained
        assert step.facts["target_low_c"] <= step.facts["target_high_c"]  # type: ignore[operator]  # both are numbers


def test_the_gate_leaves_four_weeks_for_pupae() -> None:
    """Table A.2, phase 1."""
    cool_down = steps(resting())[Duty.REST_COOL_DOWN]
    assert cool_down.latest - cool_down.earliest == timedelta(days=28)
    assert "pupae" in cool_down.reason
    assert "4 °C a week" in cool_down.reason


def test_warming_up_is_possible_from_the_floor_to_the_longest_rest() -> None:
    found = steps(resting())
    begun, warm_up = found[Duty.REST_BEGIN].day, found[Duty.REST_WARM_UP]
    assert warm_up.earliest == begun + timedelta(weeks=8)
    assert warm_up.latest == begun + timedelta(weeks=20)


def test_pupae_bring_their_caution_to_the_cool_down() -> None:
    held = steps(resting(day=date(2026, 10, 20), brood=Brood(pupae=True)))[Duty.REST_COOL_DOWN]
    assert "REST-PUPAE" in held.cautions
    assert held.earliest < held.day == held.latest


def test_p26_a_waking_colony_may_look_dead() -> None:
    """Practice P26 (common practice, no source)."""
    waking = steps(resting())[Duty.REST_END]
    assert "may look dead" in waking.reason
    assert "REST-WAKING" in waking.cautions


def test_p24_water_is_never_paused() -> None:
    """Practice P24 (common practice, no source)."""
    at = resting()
    check = advise_rest_check(at)
    assert check is not None
    assert "Water is never paused" in check.reason
    assert "always water" in steps(at)[Duty.REST_BEGIN].reason


def test_no_food_in_deep_cold_and_a_little_sugar_in_a_mild_rest() -> None:
    """Common practice, no source: none below 8 C."""
    mild = replace(ENDO, dormancy=DormancyClass.EXO, rest_target_c=12, rest_band_c=Band(10, 16))
    at = resting()
    warm = replace(at, profile=mild)
    warm = replace(warm, rest=plan_rest(warm.colony, mild, warm.place, warm.keeper, warm.handbook, warm.day))
    assert "no food" in steps(at)[Duty.REST_BEGIN].reason
    assert "sugar water" in steps(warm)[Duty.REST_BEGIN].reason


def test_without_a_rest_there_are_no_steps_and_no_checks() -> None:
    summer = situation()
    assert rest_steps(summer.rest, summer) == ()
    assert advise_rest_check(summer) is None


@pytest.mark.parametrize("phase", [Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.WARM_UP, Phase.RESUME])
def test_checks_belong_to_the_rest_alone(phase: Phase) -> None:
    assert advise_rest_check(situation(phase=phase)) is None


def test_a_resting_colony_is_looked_at_weekly_and_a_lone_queen_every_two_weeks() -> None:
    """Common practice, no source; a lone queen's tube is not opened each week."""
    grown, queen = advise_rest_check(resting()), advise_rest_check(resting(workers=0))
    assert grown is not None
    assert queen is not None
    assert (grown.interval_days, queen.interval_days) == (7, 14)
    assert "without opening" in queen.reason
    assert "REST-LONE-QUEEN" in queen.cautions


def test_a_check_carries_the_cautions_of_its_place() -> None:
    check = advise_rest_check(resting(wishes=RestWishes(place="fridge", place_low_c=1, place_high_c=6)))
    assert check is not None
    assert {"FIX-04", "REST-TOO-COLD", "REST-DRY-AIR"} <= set(check.cautions)


def test_steps_speak_the_keepers_scale() -> None:
    at = replace(resting(), keeper=keeper(units=Units.FAHRENHEIT))
    assert "°C" not in " ".join(step.reason for step in rest_steps(at.rest, at))
    assert "7 °F a week" in steps(at)[Duty.REST_COOL_DOWN].reason
