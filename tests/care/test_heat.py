"""Heat checks: limits, urgency and words. What keepers do is common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from bot.care.colony import Heater
from bot.care.duty import Urgency
from bot.care.phase import Phase
from bot.care.place import Place
from bot.care.situation import Advice
from bot.care.units import Band, Units
from bot.care.upkeep.heat import HeatLimits, Warm, advise_heat_check, heat_limits
from tests.care.builders import colony, keeper, profile, situation


def checked(hot_c: float, **changes: Any) -> Advice:
    advice = advise_heat_check(situation(colony=colony(heater=Heater(hot_c=hot_c)), **changes))
    assert advice is not None
    return advice


@pytest.mark.parametrize(
    ("wall_c", "level", "urgency", "days"),
    [
        (28, Warm.FINE, Urgency.ROUTINE, 7),
        (30, Warm.FINE, Urgency.ROUTINE, 7),
        (31, Warm.WARM, Urgency.SOON, 7),
        (33, Warm.TOO_WARM, Urgency.URGENT, 1),
        (35, Warm.SWITCH_OFF, Urgency.URGENT, 1),
    ],
)
def test_limits_at_30_32_and_35(wall_c: float, level: Warm, urgency: Urgency, days: int) -> None:
    # Judgement from published losses: eggs of the Argentine ant all die at 32 C (Abril et al. 2010, abstract).
    assert heat_limits(profile()).judge(wall_c) is level
    advice = checked(wall_c)
    assert (advice.urgency, advice.interval_days) == (urgency, days)


def test_a_species_with_its_own_alarm_moves_all_limits() -> None:
    assert heat_limits(profile(heat_alarm_c=38)) == HeatLimits(36, 38, 41)
    assert checked(34, profile=profile(heat_alarm_c=38)).urgency is Urgency.ROUTINE
    assert checked(29, profile=profile(heat_alarm_c=27)).urgency is Urgency.URGENT


def test_p22_the_nest_stays_between_20_and_30_c_in_the_active_season() -> None:
    # P22, common practice, no source.
    assert "above 30 °C" in checked(31).reason
    cold_room = Place(temperature_c=15)
    cool = profile(active_c=Band(20, 30))
    assert "cool side: 20–30 °C" in checked(17, place=cold_room, profile=cool).reason
    assert "cool side" not in checked(25, profile=cool).reason


def test_p23_one_edge_only_and_the_ants_choose() -> None:
    # P23, common practice, no source: the facts name a warm and a cool end, the cautions the edge.
    advice = checked(28)
    assert (advice.facts["warm_c"], advice.facts["cool_c"]) == (28, 24)
    assert "HEAT-DRIES" in advice.cautions
    unknown = advise_heat_check(situation(colony=colony(heater=Heater(kind="no such heater"))))
    assert unknown is not None
    assert "HEAT-EDGE" in unknown.cautions


def test_too_hot_says_switch_off_first() -> None:
    advice = checked(36, keeper=keeper(units=Units.FAHRENHEIT))
    assert advice.cautions[0] == "HEAT-OFF"
    assert "switch the heater off now" in advice.reason
    assert "97 °F" in advice.reason


def test_a_wall_nobody_measured_is_said_to_be_unknown() -> None:
    lamp = advise_heat_check(situation(colony=colony(heater=Heater(kind="heat-lamp"))))
    assert lamp is not None
    assert "nobody has told me" in lamp.reason
    assert lamp.why.inputs[1].shown == "not measured"
    mat = advise_heat_check(situation(colony=colony(heater=Heater(kind="heat-mat"))))
    assert mat is not None
    assert mat.facts["warm_c"] == 36, "24 °C and the 12 degrees that the handbook of the test assumes"
    assert mat.why.inputs[1].defaulted


def test_without_a_heater_only_a_hot_room_is_a_duty() -> None:
    assert advise_heat_check(situation()) is None
    hot = advise_heat_check(situation(place=Place(temperature_c=36)))
    assert hot is not None
    assert "coolest place" in hot.reason
    assert "FIX-03" in hot.cautions
    assert "HEAT-OFF" not in hot.cautions


@pytest.mark.parametrize("phase", [phase for phase in Phase if phase is not Phase.ACTIVE])
def test_no_heat_checks_in_the_rest(phase: Phase) -> None:
    assert advise_heat_check(situation(phase=phase, colony=colony(heater=Heater(hot_c=30)))) is None
