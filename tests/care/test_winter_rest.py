"""Which rest a colony gets, when, how cold, and why not. B numbers: dossier, section B; its tables A.1 and A.2."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from bot.care.colony import Brood, LogEntry, RestWishes, Stage
from bot.care.duty import Duty, Outcome
from bot.care.evidence import JUDGEMENT, Confidence, Evidence
from bot.care.phase import Phase, RestPlan
from bot.care.rest.plan import plan_rest
from bot.care.species import DormancyClass, SpeciesProfile, WinterBrood
from bot.care.units import Band, Units
from tests.care.builders import colony, handbook, keeper, place, profile

OCTOBER = date(2026, 10, 20)
ENDO = profile(
    dormancy=DormancyClass.ENDO, rest_target_c=5, rest_band_c=Band(2, 8), rest_weeks=Band(12, 20), rest_floor_weeks=8
)
MILD = profile(
    name="Messor barbarus",
    dormancy=DormancyClass.EXO,
    rest_target_c=12,
    rest_band_c=Band(10, 16),
    rest_weeks=Band(6, 12),
    rest_floor_weeks=4,
)


def rest(
    species: SpeciesProfile = ENDO,
    day: date = OCTOBER,
    *,
    latitude: float | None = 50,
    room_c: float | None = 22,
    wishes: RestWishes | None = None,
    **changes: Any,
) -> RestPlan:
    kept = colony(rest=wishes or RestWishes(), **changes)
    return plan_rest(kept, species, place(temperature_c=room_c), keeper(latitude=latitude), handbook(), day)


def starts(plan: RestPlan) -> dict[Phase, date]:
    return {span.phase: span.start for span in plan.phases}


def done(duty: Duty, day: date, outcome: Outcome = Outcome.DONE) -> LogEntry:
    return LogEntry(day=day, duty=duty, outcome=outcome)


def test_the_worked_schedule() -> None:
    """B36 and B38, derived: start 13 October 2026, 22 to 5 C in 30 days, 12 weeks of rest."""
    plan = rest(wishes=RestWishes(start=date(2026, 10, 13), weeks=12))
    assert starts(plan) == {
        Phase.WIND_DOWN: date(2026, 10, 13),
        Phase.COOL_DOWN: date(2026, 10, 27),
        Phase.REST: date(2026, 11, 26),
        Phase.WARM_UP: date(2027, 2, 18),
        Phase.RESUME: date(2027, 3, 5),
    }
    assert plan.phases[-1].end == date(2027, 3, 19)


def test_cool_down_takes_30_days() -> None:
    """B36, derived from at most 4 C a week, a published rate."""
    cool_down = rest().phases[1]
    assert (cool_down.end - cool_down.start).days == 30


@pytest.mark.parametrize(
    "wishes", [RestWishes(start=OCTOBER), RestWishes(weeks=10), RestWishes(place="fridge"), RestWishes()]
)
def test_a_tropical_species_is_never_chilled(wishes: RestWishes) -> None:
    """B39: refused with the caution, whatever is asked."""
    plan = rest(profile(name="Atta sexdens", dormancy=DormancyClass.HOMO), wishes=wishes)
    assert not plan.needed
    assert plan.phases == ()
    assert plan.cautions == ("REST-TROPICAL",)
    assert "must not be chilled" in plan.why


@pytest.mark.parametrize("brood", [Brood(pupae=True), Brood(eggs=True)])
def test_brood_on_the_first_day_holds_the_cool_down(brood: Brood) -> None:
    """B39: wind-down longer by up to 28 days, with the caution."""
    usual, held = rest(), rest(brood=brood)
    assert starts(held)[Phase.COOL_DOWN] - starts(usual)[Phase.COOL_DOWN] == timedelta(days=28)
    assert "REST-PUPAE" in held.cautions
    assert "REST-PUPAE" not in usual.cautions
    assert any("waits" in problem for problem in held.problems)


def test_brood_months_before_the_rest_says_nothing_about_its_dates() -> None:
    assert rest(day=date(2026, 6, 1), brood=Brood(pupae=True)).phases == rest(day=date(2026, 6, 1)).phases


def test_species_that_winter_with_all_brood_do_not_wait() -> None:
    all_year = replace(ENDO, winter_brood=WinterBrood.ALL)
    assert rest(all_year, brood=Brood(pupae=True)).phases == rest(all_year).phases


def test_a_report_of_pupae_moves_the_gate_a_week_at_a_time_up_to_four() -> None:
    usual = starts(rest())[Phase.COOL_DOWN]
    reports = [done(Duty.REST_COOL_DOWN, usual + timedelta(days=7 * week), Outcome.PUPAE) for week in range(6)]
    for count in range(1, 7):
        log = tuple(reports[:count])
        found = starts(rest(day=log[-1].day, log=log))[Phase.COOL_DOWN]
        assert found == usual + timedelta(days=7 * min(count, 4))


def test_pupae_during_the_cool_down_pause_it() -> None:
    begun = date(2026, 10, 26)
    log = (done(Duty.REST_COOL_DOWN, begun), done(Duty.REST_CHECK, begun + timedelta(days=28), Outcome.PUPAE))
    plan = rest(day=log[-1].day, log=log)
    assert starts(plan)[Phase.COOL_DOWN] == begun
    assert starts(plan)[Phase.REST] == log[-1].day + timedelta(days=7)
    assert "REST-PUPAE" in plan.cautions
    assert any("12–15 °C" in problem for problem in plan.problems)


def test_real_dates_outrank_the_calendar() -> None:
    log = (
        done(Duty.REST_WIND_DOWN, date(2026, 9, 20)),
        done(Duty.REST_COOL_DOWN, date(2026, 10, 10)),
        done(Duty.REST_BEGIN, date(2026, 11, 1)),
        done(Duty.REST_WARM_UP, date(2027, 2, 1)),
        done(Duty.REST_END, date(2027, 2, 10)),
    )
    expected = (Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)
    for count in range(1, 6):
        plan = rest(day=log[count - 1].day, log=log[:count])
        assert starts(plan)[expected[count - 1]] == log[count - 1].day
    assert starts(rest(day=date(2027, 2, 10), log=log)) == dict(
        zip(expected, (entry.day for entry in log), strict=True)
    )


def test_a_late_rest_ends_with_the_season_but_not_before_its_floor() -> None:
    planned = starts(rest())[Phase.WARM_UP]
    late = (done(Duty.REST_BEGIN, date(2026, 12, 10)),)
    assert starts(rest(day=date(2026, 12, 10), log=late))[Phase.WARM_UP] == planned
    very_late = (done(Duty.REST_BEGIN, date(2027, 1, 20)),)
    found = starts(rest(day=date(2027, 1, 20), log=very_late))[Phase.WARM_UP]
    assert found == date(2027, 1, 20) + timedelta(weeks=8)


def test_a_colony_that_woke_by_itself_is_awake() -> None:
    log = (done(Duty.REST_END, date(2027, 2, 1), Outcome.AWAKE),)
    assert rest(day=date(2027, 2, 1), log=log).phase_on(date(2027, 2, 1)) is Phase.RESUME
    next_rest = rest(day=date(2027, 2, 20), log=log)
    assert next_rest.phase_on(date(2027, 2, 20)) is Phase.ACTIVE
    assert next_rest.phases[0].start.year == 2027


def test_steps_logged_after_the_day_are_not_known_yet() -> None:
    log = (done(Duty.REST_BEGIN, date(2026, 12, 20)),)
    assert rest(day=OCTOBER, log=log).phases == rest(day=OCTOBER).phases


def test_ants_awake_in_the_rest_are_a_problem() -> None:
    log = (done(Duty.REST_CHECK, date(2026, 12, 20), Outcome.AWAKE),)
    assert any("awake" in problem for problem in rest(day=date(2026, 12, 21), log=log).problems)


def test_a_slowed_species_rests_only_when_asked() -> None:
    """A.1 rule 3; A.2: optional, mild, at most 70 days."""
    fire_ant = profile(name="Solenopsis invicta", dormancy=DormancyClass.QUASI, rest_target_c=None, rest_band_c=None)
    fire_ant = replace(fire_ant, rest_weeks=None, rest_floor_weeks=None)
    assert rest(fire_ant).phases == ()
    assert rest(fire_ant).cautions == ("REST-NONE",)
    asked = rest(fire_ant, wishes=RestWishes(weeks=6))
    assert asked.phases[2].temperature_c == Band(16, 18)
    assert (asked.phases[3].end - asked.phases[1].start).days <= 70


def test_a_summer_rester_is_told_so() -> None:
    plan = rest(profile(name="Prenolepis imparis", dormancy=DormancyClass.REVERSED))
    assert (plan.needed, plan.phases, plan.cautions) == (False, (), ("REST-SUMMER",))
    assert "summer" in plan.why


@pytest.mark.parametrize(("origin", "rests"), [(None, False), (20, False), (48, True), (-40, True)])
def test_an_unstudied_species_goes_by_its_origin(origin: float | None, *, rests: bool) -> None:
    unknown = profile(name="Iridomyrmex", dormancy=DormancyClass.UNKNOWN, rest_target_c=None, rest_band_c=None)
    plan = rest(unknown, wishes=RestWishes(origin_latitude=origin))
    assert plan.needed is rests
    if rests:
        assert plan.phases[2].temperature_c == Band(10, 12)
        assert any("not well studied" in problem for problem in plan.problems)
    if origin is None:
        assert "latitude its stock comes from" in plan.why


@pytest.mark.parametrize("dormancy", [DormancyClass.ENDO, DormancyClass.EXO])
def test_a_fallback_is_marked_as_judgement(dormancy: DormancyClass) -> None:
    silent = SpeciesProfile(name="Nova", genus="Nova", rank="genus", dormancy=dormancy)
    plan = rest(silent)
    assert plan.explained.evidence == JUDGEMENT
    assert any("our judgement" in problem for problem in plan.problems)
    assert any(given.defaulted for given in plan.explained.inputs if given.label == "rest temperature")


def test_where_a_temperature_comes_from_is_said() -> None:
    seen = replace(ENDO, evidence={"rest_target_c": Evidence(("Ha15",), Confidence.SECOND_HAND, "C")})
    assert "published work" in rest(seen).why
    custom = replace(ENDO, evidence={"rest_target_c": Evidence(("common-practice",), Confidence.COMMON_PRACTICE, "C")})
    assert "custom among keepers" in rest(custom).why


def test_temperatures_follow_the_keepers_scale() -> None:
    plan = plan_rest(colony(), ENDO, place(), keeper(units=Units.FAHRENHEIT), handbook(), OCTOBER)
    assert "36–46 °F" in plan.why
    assert "°C" not in " ".join([plan.why, *plan.gates.values(), *plan.problems, plan.explained.rule])


@pytest.mark.parametrize("young", [{"workers": 0}, {"stage": Stage.FOUNDING}])
def test_a_founding_queen_is_kept_at_5_to_8(young: dict[str, Any]) -> None:
    """Aim for first-year queens: common practice; young workers did worse at 2 C in one published species."""
    plan = rest(**young)
    assert plan.phases[2].temperature_c == Band(5, 8)
    assert "REST-LONE-QUEEN" in plan.cautions


def test_a_lone_queen_of_a_mild_species_is_not_sent_into_the_cold() -> None:
    plan = rest(MILD, workers=0)
    assert plan.phases[2].temperature_c == Band(10, 16)
    assert "REST-LONE-QUEEN" not in plan.cautions


def test_first_year_queen_with_workers_counts_as_young() -> None:
    assert rest(wishes=RestWishes(first_year_queen=True)).phases[2].temperature_c == Band(5, 8)


@pytest.mark.parametrize(
    ("low", "high", "words", "caution"),
    [
        (-3, 6, "frost can kill", "REST-TOO-COLD"),
        (1, 6, "frost can kill", "REST-TOO-COLD"),
        (4, 14, "cooler spot", "REST-TOO-WARM"),
        (4, 9, "cooler spot", None),
    ],
)
def test_a_wrong_place_is_named(low: float, high: float, words: str, caution: str | None) -> None:
    plan = rest(wishes=RestWishes(place_low_c=low, place_high_c=high))
    assert any(words in problem for problem in plan.problems)
    if caution is None:
        assert "REST-TOO-WARM" not in plan.cautions
    else:
        assert caution in plan.cautions


def test_a_mild_species_in_a_cold_place_is_warned() -> None:
    plan = rest(MILD, wishes=RestWishes(place_low_c=5, place_high_c=9))
    assert any("milder spot" in problem for problem in plan.problems)


def test_an_unknown_place_is_asked_for_and_a_fitting_one_narrows_the_aim() -> None:
    assert any("not known" in problem for problem in rest().problems)
    fitting = rest(wishes=RestWishes(place_low_c=4, place_high_c=7))
    assert fitting.problems == ()
    assert fitting.phases[2].temperature_c == Band(4, 7)


def test_the_rooms_own_winter_temperature_stands_in() -> None:
    room = place(temperature_c=22, winter_temperature_c=20)
    plan = plan_rest(colony(), ENDO, room, keeper(), handbook(), OCTOBER)
    assert any("reaches 20 °C" in problem for problem in plan.problems)


def test_fridge_and_outdoors_bring_their_cautions() -> None:
    assert {"FIX-04", "REST-FRIDGE"} <= set(rest(wishes=RestWishes(place="fridge")).cautions)
    assert "REST-OUTDOORS" in rest(wishes=RestWishes(place="outdoors")).cautions


def test_skipping_is_respected_and_commented() -> None:
    inner_clock, facultative = rest(wishes=RestWishes(skip=True)), rest(MILD, wishes=RestWishes(skip=True))
    assert (inner_clock.needed, inner_clock.phases, inner_clock.cautions) == (True, (), ("REST-ENDO",))
    assert (facultative.needed, facultative.phases) == (False, ())
    assert "hardly measured" in facultative.why


def test_weeks_are_kept_between_floor_and_limit() -> None:
    short = rest(wishes=RestWishes(weeks=3))
    assert (short.phases[2].end - short.phases[2].start).days == 56
    assert any("fewer than 8" in problem for problem in short.problems)
    long = rest(wishes=RestWishes(weeks=40))
    assert (long.phases[3].end - long.phases[1].start).days == 200
    assert "REST-TOO-LONG" in long.cautions
    assert any("longer than we plan" in problem for problem in long.problems)


def test_an_odd_date_is_kept_and_questioned() -> None:
    plan = rest(day=date(2026, 7, 2), wishes=RestWishes(start=date(2026, 7, 1)))
    assert plan.phases[0].start == date(2026, 7, 1)
    assert any("eight weeks" in problem for problem in plan.problems)
    assert not any("eight weeks" in problem for problem in rest(wishes=RestWishes(start=OCTOBER)).problems)


def test_a_wished_date_comes_back_every_year() -> None:
    wishes = RestWishes(start=date(2028, 2, 29))
    assert rest(day=date(2028, 3, 1), wishes=wishes).phases[0].start == date(2028, 2, 29)
    assert rest(day=date(2029, 3, 1), wishes=wishes).phases[0].start == date(2029, 2, 28)


def test_before_the_wished_year_the_calendar_counts() -> None:
    assert rest(day=date(2026, 1, 10), wishes=RestWishes(start=date(2026, 11, 1))).phases[0].start.year == 2025


def test_without_a_latitude_the_bot_asks() -> None:
    plan = rest(latitude=None)
    assert (plan.needed, plan.phases) == (True, ())
    assert "half of the earth" in plan.why
    assert rest(latitude=None, wishes=RestWishes(start=OCTOBER)).phases[0].start == OCTOBER


@pytest.mark.parametrize("latitude", [0, 1.3, -12, 23.4, -23.4])
def test_in_the_tropics_nothing_is_scheduled_from_latitude(latitude: float) -> None:
    plan = rest(latitude=latitude)
    assert (plan.needed, plan.phases) == (True, ())
    assert "tropics" in plan.why
    assert rest(latitude=latitude, wishes=RestWishes(start=OCTOBER)).phases[0].start == OCTOBER


@pytest.mark.parametrize(("latitude", "start"), [(25, date(2026, 11, 2)), (-25, date(2027, 5, 3))])
def test_near_the_tropics_custom_decides(latitude: float, start: date) -> None:
    """A.1 rule 8: seven weeks before the shortest day."""
    plan = rest(latitude=latitude)
    assert plan.phases[0].start == start
    assert "custom" in plan.why
    assert "REST-DATES" in plan.cautions


def test_light_dates_are_called_our_convention() -> None:
    plan = rest()
    assert "our calendar convention from the light of your place" in plan.why
    assert "REST-DATES" in plan.cautions
    shown = " ".join([plan.why, plan.explained.rule, *plan.problems, *plan.gates.values()])
    assert "11 h" not in shown
    assert "critical" not in shown


def test_a_cold_spell_on_record_comes_before_the_light() -> None:
    """A.1 rule 6: first six days in a row below 10 C after 1 July."""
    means = {date(2026, 9, 1) + timedelta(days=offset): 15.0 - offset / 4 for offset in range(60)}
    plan = plan_rest(colony(), ENDO, place(), keeper(), handbook(), OCTOBER, daily_means_c=means)
    assert plan.phases[0].start == date(2026, 9, 22)
    assert "record" in plan.why


def test_a_colony_that_stopped_early_leads() -> None:
    """A.1 rule 5, as a hint: the keeper's log moves the dates."""
    stopped = Brood(eggs=False, pupae=False)
    assert any("leads" in problem for problem in rest(day=date(2026, 9, 1), brood=stopped).problems)
    assert not any("leads" in problem for problem in rest(day=date(2026, 6, 1), brood=stopped).problems)


def test_a_colony_from_the_other_half_of_the_earth_keeps_its_season_first() -> None:
    wishes = RestWishes(from_other_hemisphere_since=date(2026, 3, 1))
    kept = rest(day=date(2026, 3, 2), wishes=wishes)
    assert kept.phases[0].start == date(2026, 4, 9)
    assert "REST-HEMISPHERE" in kept.cautions
    following = rest(day=kept.phases[-1].end, wishes=wishes)
    assert following.phases[0].start == date(2027, 10, 12)
    assert following.phases[0].start - kept.phases[-1].end > timedelta(days=243)


@pytest.mark.parametrize("latitude", [50, -35])
@pytest.mark.parametrize("month", range(1, 13))
def test_a_crossing_brings_one_long_pause_and_never_two_rests_close_together(latitude: float, month: int) -> None:
    wishes = RestWishes(from_other_hemisphere_since=date(2026, month, 15))
    days = (date(2026, month, 15) + timedelta(days=offset) for offset in range(-400, 1200, 3))
    plans = (rest(latitude=latitude, day=day, wishes=wishes) for day in days)
    seen = sorted({(plan.phases[0].start, plan.phases[-1].end) for plan in plans})
    gaps = [(later[0] - earlier[1]).days for earlier, later in pairwise(seen)]
    assert min(later[0] - earlier[0] for earlier, later in pairwise(seen)) > timedelta(days=350)
    assert sum(gap > 365 for gap in gaps) == 1


def test_p25_temperate_colonies_winter_cool_with_little_food_and_always_water() -> None:
    """Practice P25 (common practice, no source): an unheated insulated room of 10 to 15 C works for many."""
    plan = rest(MILD, wishes=RestWishes(place="unheated room", place_low_c=10, place_high_c=15))
    assert plan.needed
    assert plan.problems == ()
    assert plan.phases[2].temperature_c == Band(10, 15)
    assert "REST-DRY-AIR" in plan.cautions


def test_every_caution_named_by_the_rest_is_in_the_handbook() -> None:
    root = Path(__file__).parents[2]
    named = set()
    for module in ("plan", "warnings", "duties"):
        words = (root / "bot" / "care" / "rest" / f"{module}.py").read_text(encoding="utf-8").split('"')
        named |= {word for word in words if word.startswith(("REST-", "FIX-"))}
    known: set[str] = set()
    for file in (root / "config" / "cautions").glob("*.toml"):
        known |= set(tomllib.loads(file.read_text(encoding="utf-8")))
    assert len(named) >= 15
    assert named <= known
