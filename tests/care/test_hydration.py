"""Water advice: defaults of the room, the forecast, the two sides, and that water is never paused.

Figures without another source are derived from the model; what keepers do is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Amount, Brood, Heater, Nest, NestKind, RestWishes, Side, Stage
from bot.care.duty import Duty, Urgency
from bot.care.phase import Phase
from bot.care.place import Place
from bot.care.situation import Situation
from bot.care.species import Moisture
from bot.care.units import Band
from bot.care.water.advice import DryingForecast, advise_water, forecast_drying
from bot.care.water.room_air import indoor_humidity, indoor_temperature, room_air, season_humidity
from tests.care.builders import colony, keeper, nest, place, profile, situation

BROODLESS = Brood(level=Amount.NONE)
NO_PLACE = Place()


def forecast(**changes: object) -> DryingForecast:
    return forecast_drying(situation(colony=colony(brood=BROODLESS, nest=nest(**changes))))


@pytest.mark.parametrize(
    ("outdoor_c", "percent", "indoor_c"), [(-15, 30, 20), (5, 45, 20), (15, 55, 22.5), (25, 60, 25)]
)
def test_room_air_from_the_outdoor_mean(outdoor_c: float, percent: float, indoor_c: float) -> None:
    # C34: EN 15026, normal occupancy (read second hand).
    assert indoor_humidity(outdoor_c) == percent
    assert indoor_temperature(outdoor_c) == indoor_c
    assert indoor_humidity(outdoor_c, crowded=True) == min(max(outdoor_c + 50, 40), 70)


def test_what_the_keeper_measured_comes_before_every_default() -> None:
    told = room_air(situation(place=place(temperature_c=19, humidity_percent=61)), outdoor_c=-15)
    assert (told.air.temperature_c, told.air.humidity_percent) == (19, 61)
    assert not any(value.defaulted for value in told.inputs)
    guessed = room_air(situation(place=NO_PLACE), outdoor_c=-15)
    assert (guessed.air.temperature_c, guessed.air.humidity_percent) == (20, 30)
    assert all(value.defaulted for value in guessed.inputs)


def test_seasons_turn_round_south_of_the_equator_and_are_unknown_in_the_tropics() -> None:
    # Judgement: heated winter air 40 %, summer 55 %.
    january, july = date(2027, 1, 15), date(2027, 7, 15)
    south, tropics, unknown = keeper(latitude=-40.0), keeper(latitude=5.0), keeper(latitude=None)
    assert [season_humidity(day, keeper()) for day in (january, july)] == [40, 55]
    assert [season_humidity(day, south) for day in (january, july)] == [55, 40]
    assert [season_humidity(january, who) for who in (tropics, unknown)] == [50, 50]


@pytest.mark.parametrize(("resting_place", "percent"), [("cellar", 75), ("fridge", 50), (None, 50)])
def test_a_resting_place_has_air_of_its_own(resting_place: str | None, percent: float) -> None:
    # Cellar 75 % and fridge 50 % are judgement; a fridge is dry.
    home = colony(rest=RestWishes(place=resting_place))
    assert room_air(situation(phase=Phase.REST, colony=home, place=NO_PLACE)).air.humidity_percent == percent


def test_the_worked_nest_of_aerated_concrete() -> None:
    # C20 through the front door: 60 ml, 150 cm2, openness 0.4, 24 C, 50 %, no brood: 10.8 g a day, 6.9 days; derived.
    found = forecast()
    assert found.grams_a_day == pytest.approx(10.8, abs=0.05)
    assert found.days == pytest.approx(6.87, abs=0.01)
    assert found.early < found.look_days < found.days < found.overdue_days < found.late
    assert found.defaulted == ()
    assert found.curve[0] == (0, 60)
    assert found.curve[-1][0] == pytest.approx(found.late)


def test_the_worked_nest_under_a_heater() -> None:
    # C22: half the area at 28 C in a room of 22 C, 45 %: 3.9 days instead of 6.8, that is 1.74 times faster; derived.
    room = place(temperature_c=22, humidity_percent=45)
    home = colony(brood=BROODLESS, heater=Heater(hot_c=28, share=0.5))
    found = forecast_drying(situation(colony=home, place=room))
    assert found.days == pytest.approx(3.92, abs=0.01)
    assert found.heat_ratio == pytest.approx(1.74, abs=0.005)


def test_defaults_are_named_and_widen_the_band() -> None:
    unsaid = situation(colony=colony(nest=Nest(kind=NestKind.NEST)), place=NO_PLACE)
    found = forecast_drying(unsaid)
    assert not found.sized
    assert {"nest", "room temperature", "water at one watering", "wetted area"} <= set(found.defaulted)
    sized = forecast_drying(situation(colony=colony(nest=Nest(kind=NestKind.NEST, water_ml=20))))
    assert found.late / found.look_days > sized.late / sized.look_days
    advice = advise_water(unsaid)
    assert advice.interval_days == pytest.approx(found.look_days, abs=0.06)
    assert "your own value for: wetted area" in advice.why.would_change


def test_an_area_alone_tells_the_water() -> None:
    # The default area of C34 turned round: 102.6 cm2 of aerated concrete belong to 60 ml.
    found = forecast(water_ml=None, wetted_cm2=102.6)
    assert found.water_ml == pytest.approx(60, abs=0.1)


def test_brood_and_moist_species_are_watered_earlier() -> None:
    usual = forecast_drying(situation(colony=colony(brood=BROODLESS)))
    assert forecast_drying(situation(colony=colony(brood=Brood()))).days < usual.days, "brood nobody looked for counts"
    moist = profile(moisture=Moisture.HUMID)
    assert forecast_drying(situation(colony=colony(brood=BROODLESS), profile=moist)).days < usual.days


@given(
    room_c=st.floats(-20, 45),
    percent=st.floats(1, 100),
    water=st.none() | st.floats(0.01, 2000),
    area=st.none() | st.floats(0.1, 9000),
    openness=st.none() | st.floats(0, 1),
    material=st.sampled_from([None, "aac", "plaster", "sand", "cork", "acrylic", "no such thing"]),
    phase=st.sampled_from(Phase),
    kind=st.sampled_from(NestKind),
    hot_c=st.none() | st.floats(-10, 80),
    stage=st.sampled_from(Stage),
)
def test_p24_water_is_never_paused(  # noqa: PLR0913, PLR0917 - one argument a setting that must not silence water
    room_c: float,
    percent: float,
    water: float | None,
    area: float | None,
    openness: float | None,
    material: str | None,
    phase: Phase,
    kind: NestKind,
    hot_c: float | None,
    stage: Stage,
) -> None:
    # P24, common practice, no source: very little time without water, so no phase, stage or input may end in silence.
    home = colony(
        stage=stage,
        nest=Nest(kind=kind, material=material, water_ml=water, wetted_cm2=area, openness=openness),
        heater=None if hot_c is None else Heater(hot_c=hot_c),
    )
    advice = advise_water(
        situation(phase=phase, colony=home, place=Place(temperature_c=room_c, humidity_percent=percent))
    )
    assert advice.duty is Duty.WATER
    assert 1 <= advice.interval_days <= 60
    assert advice.band_days.low <= advice.interval_days <= advice.band_days.high
    assert advice.urgency >= Urgency.SOON
    assert advice.first_after_days == 0, "never watered as far as we know: look today"
    assert advice.cautions[0] == "WATER"


@given(percent=st.floats(15, 90), room_c=st.floats(2, 34), more=st.floats(0.1, 4))
def test_days_fall_with_warmth_and_heat_and_rise_with_humidity(percent: float, room_c: float, more: float) -> None:
    # C36 through the front door; derived.
    def days(room_c: float, percent: float, heater: Heater | None = None) -> float:
        room = Place(temperature_c=room_c, humidity_percent=percent)
        return forecast_drying(situation(colony=colony(heater=heater), place=room)).days

    usual = days(room_c, percent)
    assert days(room_c + more, percent) <= usual
    assert days(room_c, min(percent + more, 100)) >= usual
    assert days(room_c, percent, Heater(hot_c=room_c + more)) <= usual


def test_p14_aerated_concrete_is_watered_less_often_than_plaster_and_grout() -> None:
    # P14, common practice, no source: aerated concrete holds water longer than plaster or grout.
    by_material = {name: forecast(material=name).days for name in ("aac", "plaster", "grout")}
    assert by_material["aac"] > by_material["plaster"]
    assert by_material["aac"] > by_material["grout"]


def test_p19_one_half_is_watered_and_the_other_left_dry() -> None:
    # P19, common practice, no source: the ants choose, so a nest always hears of one side, and a tube of none.
    assert advise_water(situation()).facts["side"] == "B"
    other = colony(nest=nest(watered_side=Side.B))
    assert advise_water(situation(colony=other)).facts["side"] == "A"
    assert "side" not in advise_water(situation(colony=colony(nest=Nest()))).facts


def test_p20_when_the_watered_half_is_nearly_dry_the_other_is_watered() -> None:
    # P20, common practice, no source; the days are derived.
    advice = advise_water(situation(colony=colony(brood=BROODLESS)))
    assert advice.interval_days == pytest.approx(6.9)
    assert advice.reason == "Side A should be nearly dry about 7 days (3–16) after watering. Water side B next."
    assert advice.facts["water_ml"] == 60


def test_p23_a_warmed_nest_is_watered_more_often_and_told_so() -> None:
    # P23, common practice, no source: a warmed nest dries sooner.
    warm = advise_water(situation(colony=colony(heater=Heater(hot_c=29, share=0.5))))
    cool = advise_water(situation())
    assert warm.interval_days < cool.interval_days
    assert warm.facts["dries_times_faster"] == pytest.approx(1.6, abs=0.2)
    assert "The heater makes it dry about" in warm.reason
    assert {"HEAT-DRIES", "FIX-10"} <= set(warm.cautions)
    assert (warm.urgency, cool.urgency) == (Urgency.URGENT, Urgency.SOON)


def test_a_small_nest_is_urgent_too() -> None:
    small = advise_water(situation(colony=colony(nest=nest(water_ml=3, wetted_cm2=10))))
    assert small.urgency is Urgency.URGENT


def resting(phase: Phase = Phase.REST, **changes: object) -> Situation:
    home = colony(rest=RestWishes(place="cellar"))
    return situation(phase=phase, colony=replace(home, **changes))  # type: ignore[arg-type] # names of fields


def test_p25_in_the_rest_water_goes_on_with_half_as_much() -> None:
    # P25, common practice, no source: water always, every two to three weeks with rest checks in between; a cold nest
    # of which half the water would not last a week gets all of it.
    advice = advise_water(resting())
    assert 14 <= advice.interval_days <= 21
    assert advice.facts["water_ml"] == 30
    assert {"REST-WATER", "REST-DRY-AIR"} <= set(advice.cautions)
    assert advise_water(resting(rest=RestWishes(place="fridge"))).interval_days <= 14
    tube = resting(rest=RestWishes(place="fridge"), nest=Nest())
    assert advise_water(tube).interval_days <= 7
    thirsty = advise_water(resting(nest=nest(material="plaster", water_ml=10)))
    assert thirsty.facts["water_ml"] == 10
    assert "half" not in thirsty.reason


def test_the_heater_dries_nothing_outside_the_active_season() -> None:
    heated = resting(heater=Heater(hot_c=30))
    assert forecast_drying(heated).heat_ratio == 1
    assert "dries_times_faster" not in advise_water(heated).facts


@pytest.mark.parametrize("phase", Phase)
def test_a_tube_is_looked_at_every_two_weeks_in_every_season(phase: Phase) -> None:
    # Common practice, no source: a look every 14 days, a fresh tube within 30 to 120 days.
    advice = advise_water(situation(phase=phase, colony=colony(nest=Nest(), workers=0, outworld=None)))
    assert advice.interval_days == 14
    replaced = advice.facts["replace_after_days"]
    assert isinstance(replaced, int)
    assert 30 <= replaced <= 120


def test_a_tube_that_runs_low_is_looked_at_sooner() -> None:
    nearly_empty = Nest(water_ml=1.0, bore_mm=22)
    assert advise_water(situation(colony=colony(nest=nearly_empty))).interval_days < 14


def test_the_explanation_names_inputs_rule_source_and_what_would_change_it() -> None:
    why = advise_water(situation()).why
    assert [value.label for value in why.inputs][:3] == ["room temperature", "humidity of the air around it", "nest"]
    assert "FAO56" in why.evidence.sources
    assert any("still damp" in hint for hint in why.would_change)


def test_a_resting_nest_of_the_shelf_lasts_several_times_longer() -> None:
    # C21: the same 60 ml last 25.0 days at 12 C and 75 %, 3.6 times as long; derived. The keeper gives 120 ml, so that
    # half of it is those 60 ml.
    cellar = colony(brood=BROODLESS, nest=nest(water_ml=120), rest=RestWishes(place="cellar"))
    plan = situation(phase=Phase.REST, colony=cellar)
    span = replace(plan.rest.phases[0], temperature_c=Band(12, 12))
    cold = replace(plan, rest=replace(plan.rest, phases=(span,)))
    assert forecast_drying(cold).days == pytest.approx(25.0, abs=0.05)
    assert forecast_drying(cold).days / forecast().days == pytest.approx(3.6, abs=0.05)
