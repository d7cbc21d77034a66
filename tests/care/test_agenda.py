"""One plan without contradictions: water before all, no protein in rest, chores share visits, nothing drifts."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import groupby, pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.agenda import ColonyPlan, due_moment, plan_colony, plan_firsts, plan_household
from bot.care.colony import Amount, Brood, Colony, LogEntry, Nest, NestKind
from bot.care.duty import FEEDING, REST_STEPS, Duty, Input, Occurrence, Outcome, Urgency
from bot.care.localtime import QuietHours
from bot.care.phase import Phase
from bot.care.place import Household, Place
from bot.care.species import DormancyClass
from bot.care.visits import CHORES, WAIT_DAYS
from tests.care import builders

START = date(2027, 8, 20)
YEAR = 400


def plan(colony: Colony | None = None, start: date = START, days: int = YEAR, **profile: object) -> ColonyPlan:
    """The plan of the builders' colony, with changes to its profile."""
    situation = builders.situation()
    book = builders.handbook()
    changed = replace(book.profile("Lasius niger"), **profile)  # type: ignore[arg-type] # fields by name
    book = replace(book, species={changed.name: changed}, names={changed.name.casefold(): changed.name})
    return plan_colony(colony or builders.colony(), situation.keeper, situation.place, book, start, days)


def days_of(found: ColonyPlan, *duties: Duty) -> list[date]:
    return [occurrence.day for occurrence in found.occurrences if occurrence.duty in duties]


def test_p24_water_is_never_paused_through_a_whole_year() -> None:
    # Common practice, no source: a colony bears weeks without food but very little time without water.
    watered = days_of(plan(), Duty.WATER)
    gaps = [(later - earlier).days for earlier, later in pairwise(watered)]
    assert max(gaps) <= 21
    assert (START + timedelta(days=YEAR) - watered[-1]).days <= 21


def test_p25_there_is_no_food_in_deep_rest() -> None:
    # Common practice, no source.
    found = plan()
    for occurrence in found.occurrences:
        phases = [rest.phase_on(occurrence.day) for rest in found.rests]
        if Phase.REST in phases:
            assert occurrence.duty not in FEEDING


def test_a_planned_look_in_the_cold_waters_nothing_until_the_side_should_be_dry() -> None:
    # P19, P20, P24, common practice, no source: looks go on, and only real waterings swap the side.
    nest = builders.nest(water_ml=200, wetted_cm2=150, openness=0.2)
    found = plan(builders.colony(nest=nest), start=date(2027, 9, 1), days=260)
    rest = next(span for span in found.rests[0].phases if span.phase is Phase.REST)
    looks = [one for one in found.occurrences if one.duty is Duty.WATER and rest.start <= one.day < rest.end]
    sides = [one.facts["side"] for one in looks]
    assert len(looks) >= 5
    assert all("gives" in one.facts for one in looks)
    assert 0 < sum(earlier != later for earlier, later in pairwise(sides)) < len(sides) / 2
    summer = [one for one in found.occurrences if one.duty is Duty.WATER and one.day < found.rests[0].phases[0].start]
    assert not any("gives" in one.facts for one in summer)


def test_p05_prey_takes_turns_inside_one_long_plan() -> None:
    # At least three kinds a month, none for more than three weeks (common practice; Edwards & Abraham 1990).
    fed = [found for found in plan(days=60).occurrences if found.duty is Duty.PROTEIN]
    prey = [str(found.facts["food"]) for found in fed]
    assert len(set(prey[:10])) == 3
    assert all(earlier != later for earlier, later in pairwise(prey))
    assert "longest ago" in fed[0].why.rule
    assert not any("three weeks" in found.reason for found in fed)


def test_a_change_of_prey_is_announced_once_where_it_was_the_same_for_long() -> None:
    log = tuple(
        LogEntry(day=START - timedelta(days=ago), duty=Duty.PROTEIN, outcome=Outcome.DONE, food="mealworm")
        for ago in range(30, 0, -3)
    )
    fed = [found for found in plan(builders.colony(log=log), days=30).occurrences if found.duty is Duty.PROTEIN]
    assert [("three weeks" in found.reason) for found in fed] == [True, *(False for _ in fed[1:])]
    assert fed[0].facts["food"] != "mealworm"


def test_rest_steps_come_once_and_in_order() -> None:
    steps = [
        occurrence for occurrence in plan(days=300).occurrences if occurrence.duty in REST_STEPS - {Duty.REST_CHECK}
    ]
    assert [step.duty for step in steps] == [
        Duty.REST_WIND_DOWN,
        Duty.REST_COOL_DOWN,
        Duty.REST_BEGIN,
        Duty.REST_WARM_UP,
        Duty.REST_END,
    ]


def test_a_tropical_colony_has_no_rest_steps_and_food_all_year() -> None:
    found = plan(dormancy=DormancyClass.HOMO)
    assert not days_of(found, *REST_STEPS)
    fed = days_of(found, *FEEDING)
    assert max((later - earlier).days for earlier, later in pairwise(fed)) <= 8


def test_each_duty_falls_at_most_once_on_a_day() -> None:
    seen = [(occurrence.duty, occurrence.day) for occurrence in plan().occurrences]
    assert len(seen) == len(set(seen))


def test_weekly_chores_stay_weekly_and_mostly_share_a_visit() -> None:
    found = plan(days=120)
    wiped = days_of(found, Duty.OUTSIDE_WIPE)
    gaps = [(later - earlier).days for earlier, later in pairwise(wiped)]
    assert min(gaps) >= 6
    assert max(gaps) <= 7 + WAIT_DAYS
    visits = set(days_of(found, *(set(Duty) - CHORES)))
    alone = [day for day in wiped if day not in visits]
    assert len(alone) <= len(wiped) / 3


def test_leftovers_follow_every_feeding_within_three_days() -> None:
    # Common practice, no source (practice P4): leftovers come out before they mould.
    found = plan(days=60)
    cleared = days_of(found, Duty.LEFTOVERS)
    for day in days_of(found, Duty.PROTEIN)[:-2]:
        assert any(0 < (later - day).days <= 3 for later in cleared)


def test_leftovers_taken_out_on_the_day_of_the_next_meal_are_those_of_the_last_one() -> None:
    fed: date | None = None
    for day, visit in groupby(plan(days=120).occurrences, key=lambda found: found.day):
        duties = {found.duty: found for found in visit}
        if fed is not None and Duty.LEFTOVERS in duties:
            assert Input("fed on", fed.isoformat()) in duties[Duty.LEFTOVERS].why.inputs
        fed = day if duties.keys() & {Duty.SUGAR, Duty.PROTEIN} else fed


def test_sides_take_turns() -> None:
    # Common practice, no source (practice P20).
    sides = [found.facts["side"] for found in plan(days=60).occurrences if found.duty is Duty.WATER]
    assert len(sides) >= 4
    assert all(first != second for first, second in pairwise(sides))


def test_a_plan_does_not_depend_on_the_order_of_colonies() -> None:
    situation = builders.situation()
    colonies = (builders.colony(key="a", name="A"), builders.colony(key="b", name="B", workers=900))
    book = builders.handbook()
    forward = plan_household(Household(keeper=situation.keeper, colonies=colonies), book, START, 60)
    backward = plan_household(Household(keeper=situation.keeper, colonies=colonies[::-1]), book, START, 60)
    assert forward == backward[::-1]


def test_planning_day_by_day_brings_what_the_long_plan_promised() -> None:
    colony, promised = builders.colony(), plan(days=30)
    seen: list[tuple[date, Duty]] = []
    for ahead in range(30):
        today = START + timedelta(days=ahead)
        for found in plan(colony, today, 1).occurrences:
            seen.append((today, found.duty))
            side = found.facts.get("side")
            entry = LogEntry(day=today, duty=found.duty, outcome=Outcome.DONE)
            if isinstance(side, str):
                colony = replace(colony, nest=replace(colony.nest, watered_side=colony.nest.watered_side.other))
                entry = replace(entry, side=colony.nest.watered_side)
            colony = replace(colony, log=(*colony.log, entry))
    feeding = [(found.day, found.duty) for found in promised.occurrences if found.duty in FEEDING | {Duty.WATER}]
    kept = [item for item in seen if item[1] in FEEDING | {Duty.WATER}]
    assert sorted(kept)[:8] == sorted(feeding)[:8]


def test_not_needed_for_water_is_looked_at_again_soon() -> None:
    log = (
        LogEntry(day=START - timedelta(days=9), duty=Duty.WATER, outcome=Outcome.DONE),
        LogEntry(day=START, duty=Duty.WATER, outcome=Outcome.SKIPPED),
    )
    first = days_of(plan(builders.colony(log=log)), Duty.WATER)[0]
    assert START < first <= START + timedelta(days=5)


def test_urgent_speaks_up_in_the_morning_and_quiet_hours_shift() -> None:
    keeper = replace(builders.situation().keeper, zone=ZoneInfo("Europe/Vienna"), zone_name="Europe/Vienna")
    local = due_moment(START, Urgency.URGENT, keeper).astimezone(keeper.zone)
    assert local.time() == time(8, 0)
    sleeper = replace(keeper, quiet=QuietHours(time(22, 0), time(10, 0)))
    assert due_moment(START, Urgency.URGENT, sleeper).astimezone(keeper.zone).time() == time(10, 0)
    late = replace(keeper, digest_at=time(23, 0))
    assert due_moment(START, Urgency.ROUTINE, late).astimezone(keeper.zone) == due_moment(
        START + timedelta(days=1), Urgency.URGENT, replace(late, digest_at=time(7, 0))
    ).astimezone(keeper.zone)


COLONIES = st.builds(
    builders.colony,
    workers=st.integers(0, 20_000),
    brood=st.builds(Brood, st.sampled_from([None, *Amount]), pupae=st.sampled_from([None, True, False])),
    nest=st.builds(
        Nest,
        kind=st.sampled_from(NestKind),
        material=st.sampled_from([None, "aac", "plaster", "acrylic", "cork"]),
        water_ml=st.none() | st.floats(0.5, 500),
        openness=st.none() | st.floats(0.02, 1),
        wetted_cm2=st.none() | st.floats(2, 2000),
    ),
)


@given(
    colony=COLONIES,
    start=st.dates(date(2020, 1, 1), date(2040, 1, 1)),
    latitude=st.none() | st.floats(-90, 90),
    room=st.none() | st.floats(-20, 45),
    humidity=st.none() | st.floats(1, 100),
    dormancy=st.sampled_from(DormancyClass),
)
def test_no_household_crashes_and_water_always_comes(
    colony: Colony,
    start: date,
    latitude: float | None,
    room: float | None,
    humidity: float | None,
    dormancy: DormancyClass,
) -> None:
    keeper = replace(builders.situation().keeper, latitude=latitude)
    book = builders.handbook()
    profile = replace(book.profile("Lasius niger"), dormancy=dormancy)
    book = replace(book, species={profile.name: profile})
    found = plan_colony(colony, keeper, Place(temperature_c=room, humidity_percent=humidity), book, start, 200)
    watered = [start, *days_of(found, Duty.WATER), start + timedelta(days=200)]
    assert max((later - earlier).days for earlier, later in pairwise(watered)) <= 60
    for occurrence in found.occurrences:
        assert occurrence.earliest <= occurrence.day <= occurrence.latest
        assert occurrence.reason
        assert occurrence.why.evidence.sources


@given(
    colony=COLONIES,
    start=st.dates(date(2027, 1, 1), date(2027, 12, 31)),
    days=st.integers(1, 60),
    held=st.sets(st.sampled_from(Duty)),
    held_days=st.integers(0, 20),
    latitude=st.sampled_from([52.0, -37.8, 4.0]),
)
def test_the_beginning_of_a_plan_holds_the_first_of_each_duty(
    colony: Colony, start: date, days: int, held: set[Duty], held_days: int, latitude: float
) -> None:
    keeper, place = replace(builders.situation().keeper, latitude=latitude), builders.situation().place
    back = start + timedelta(days=held_days)

    def counts(found: Occurrence) -> bool:
        return found.duty not in held or found.day >= back

    whole = plan_colony(colony, keeper, place, builders.handbook(), start, days).occurrences
    beginning = plan_firsts(colony, keeper, place, builders.handbook(), start, days, counts)
    assert beginning == whole[: len(beginning)]
    later = {found.duty for found in whole[len(beginning) :] if counts(found)}
    assert later <= {found.duty for found in beginning if counts(found)}


@pytest.mark.parametrize("latitude", [52.0, -37.8])
def test_a_rest_falls_into_the_local_winter(latitude: float) -> None:
    situation = builders.situation()
    keeper = replace(situation.keeper, latitude=latitude)
    found = plan_colony(builders.colony(), keeper, situation.place, builders.handbook(), date(2027, 2, 1), YEAR)
    begins = days_of(found, Duty.REST_BEGIN)
    assert len(begins) == 1
    assert begins[0].month in ({10, 11, 12} if latitude > 0 else {4, 5, 6})
