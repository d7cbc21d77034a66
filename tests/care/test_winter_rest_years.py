"""The rest over whole years and over the whole earth: one a year, steady dates, sound phases, whatever comes in."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Brood, Colony, LogEntry, RestWishes
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase, RestPlan
from bot.care.place import Place
from bot.care.rest.course import STEPS
from bot.care.rest.plan import plan_rest
from bot.care.rest.terms import RestKind, rest_terms
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import Band
from tests.care.builders import colony, handbook, keeper, place, profile

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))
LATITUDES = st.floats(-90, 90)
HANDBOOK = handbook()
KINDS = {
    "inner clock": profile(
        dormancy=DormancyClass.ENDO,
        rest_target_c=5,
        rest_band_c=Band(2, 8),
        rest_weeks=Band(12, 20),
        rest_floor_weeks=8,
    ),
    "northern Camponotus": profile(
        dormancy=DormancyClass.ENDO,
        rest_target_c=5,
        rest_band_c=Band(3, 10),
        rest_weeks=Band(16, 22),
        rest_floor_weeks=12,
    ),
    "cool": profile(
        dormancy=DormancyClass.EXO, rest_target_c=8, rest_band_c=Band(5, 12), rest_weeks=Band(8, 14), rest_floor_weeks=6
    ),
    "mild": profile(
        dormancy=DormancyClass.EXO,
        rest_target_c=12,
        rest_band_c=Band(10, 16),
        rest_weeks=Band(6, 12),
        rest_floor_weeks=4,
    ),
    "silent": SpeciesProfile(name="Nova", genus="Nova", rank="genus", dormancy=DormancyClass.EXO),
}


def rest(species: SpeciesProfile, day: date, latitude: float | None, kept: Colony, room: Place) -> RestPlan:
    return plan_rest(kept, species, room, keeper(latitude=latitude), HANDBOOK, day)


def walk(species: SpeciesProfile, first: date, days: int, latitude: float, kept: Colony) -> list[RestPlan]:
    room = place(temperature_c=22)
    return [rest(species, first + timedelta(days=offset), latitude, kept, room) for offset in range(days)]


def assert_sound(plan: RestPlan, species: SpeciesProfile, kept: Colony, room: Place) -> None:
    order = list(Phase)
    for earlier, later in pairwise(plan.phases):
        assert earlier.end == later.start
        assert order.index(earlier.phase) < order.index(later.phase)
    assert all(span.start < span.end for span in plan.phases)
    terms = rest_terms(kept, species, room)
    between = [span for span in plan.phases if span.phase in {Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP}]
    if between and not kept.log:
        assert (between[-1].end - between[0].start).days <= terms.kind.limit_days
    for span in plan.phases:
        if span.phase is Phase.REST and species.rest_band_c is not None:
            assert span.temperature_c.low in species.rest_band_c
            assert span.temperature_c.high in species.rest_band_c


@pytest.mark.parametrize("species", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("latitude", [50, 30, 65, 89, -35, -52, -70, 25, -26])
@pytest.mark.parametrize("first", [date(2026, 1, 1), date(2026, 6, 15)])
def test_one_rest_a_year_on_dates_that_stay(species: SpeciesProfile, latitude: float, first: date) -> None:
    plans = walk(species, first, 400, latitude, colony())
    calendars = list(dict.fromkeys(plan.phases for plan in plans))
    starts = [phases[0].start for phases in calendars]
    assert len(calendars) in {2, 3}
    assert all(330 < (later - earlier).days < 400 for earlier, later in pairwise(starts))
    began = [day for day in (first + timedelta(days=offset) for offset in range(365)) if day in starts]
    assert len(began) == 1
    for offset, plan in enumerate(plans):
        day = first + timedelta(days=offset)
        assert plan.phases[-1].end > day
        running = next((phases for phases in calendars if phases[0].start <= day < phases[-1].end), None)
        assert running in {None, plan.phases}


def test_the_rest_runs_on_over_new_year() -> None:
    plans = walk(KINDS["inner clock"], date(2026, 12, 20), 30, 50, colony())
    assert {plan.phase_on(date(2026, 12, 20) + timedelta(days=offset)) for offset, plan in enumerate(plans)} == {
        Phase.REST
    }
    assert len({plan.phases for plan in plans}) == 1


def test_a_tropical_keeper_gets_a_rest_only_on_their_own_date() -> None:
    kind = KINDS["cool"]
    assert not any(plan.phases for plan in walk(kind, date(2026, 1, 1), 400, 5, colony()))
    wished = colony(rest=RestWishes(start=date(2026, 7, 1)))
    starts = {plan.phases[0].start for plan in walk(kind, date(2026, 1, 1), 400, 5, wished)}
    assert starts == {date(2026, 7, 1), date(2027, 7, 1)}


@pytest.mark.parametrize("species", KINDS.values(), ids=KINDS)
def test_a_keeper_who_never_looks_again_gets_steady_dates_once_the_rest_began(species: SpeciesProfile) -> None:
    """Pupae seen in autumn and never updated: the season still ends, without a jump into the cold or out of it."""
    plans = walk(species, date(2026, 9, 1), 300, 50, colony(brood=Brood(pupae=True)))
    for offset, (earlier, later) in enumerate(pairwise(plans)):
        day = date(2026, 9, 1) + timedelta(days=offset + 1)
        before, after = earlier.phase_on(day), later.phase_on(day)
        assert before is after, (day, before, after)


@given(st.sampled_from(list(KINDS.values())), st.floats(30, 70), st.integers(1995, 2085))
def test_the_other_hemisphere_rests_about_half_a_year_apart(
    species: SpeciesProfile, latitude: float, year: int
) -> None:
    room = place(temperature_c=22)
    north = rest(species, date(year, 8, 1), latitude, colony(), room).phases[0].start
    south = rest(species, date(year, 2, 1), -latitude, colony(), room).phases[0].start
    assert 165 <= (north - south).days <= 200


@given(
    species=st.sampled_from(list(KINDS.values())),
    latitude=LATITUDES,
    day=DAYS,
    room_c=st.one_of(st.none(), st.floats(-20, 45)),
    wishes=st.builds(
        RestWishes,
        start=st.one_of(st.none(), DAYS),
        weeks=st.one_of(st.none(), st.floats(0, 60)),
        place_low_c=st.one_of(st.none(), st.floats(-30, 40)),
        place_high_c=st.one_of(st.none(), st.floats(-30, 40)),
        from_other_hemisphere_since=st.one_of(st.none(), DAYS),
        first_year_queen=st.booleans(),
    ),
    brood=st.builds(Brood, eggs=st.sampled_from([None, True, False]), pupae=st.sampled_from([None, True, False])),
)
def test_any_place_any_day_any_wish_gives_a_sound_plan(
    species: SpeciesProfile, latitude: float, day: date, room_c: float | None, wishes: RestWishes, brood: Brood
) -> None:
    kept, room = colony(rest=wishes, brood=brood), place(temperature_c=room_c)
    plan = rest(species, day, latitude, kept, room)
    assert plan.needed
    assert plan.why
    assert_sound(plan, species, kept, room)


@given(
    st.sampled_from(list(KINDS.values())),
    LATITUDES,
    DAYS,
    st.lists(st.tuples(st.integers(-400, 0), st.sampled_from(STEPS), st.sampled_from([*Outcome])), max_size=8),
)
def test_any_log_gives_phases_in_order(
    species: SpeciesProfile, latitude: float, day: date, entries: list[tuple[int, Duty, Outcome]]
) -> None:
    log = tuple(
        LogEntry(day=day + timedelta(days=offset), duty=duty, outcome=outcome)
        for offset, duty, outcome in sorted(entries)
    )
    kept, room = colony(log=log), place(temperature_c=22)
    assert_sound(rest(species, day, latitude, kept, room), species, kept, room)


@given(LATITUDES, DAYS, st.sampled_from([DormancyClass.HOMO, DormancyClass.REVERSED]))
def test_what_must_not_be_chilled_never_gets_phases(latitude: float, day: date, dormancy: DormancyClass) -> None:
    wishes = RestWishes(start=day, weeks=8)
    plan = rest(profile(dormancy=dormancy), day, latitude, colony(rest=wishes), place())
    assert (plan.needed, plan.phases) == (False, ())


@pytest.mark.parametrize("kind", RestKind)
def test_limits_of_the_table(kind: RestKind) -> None:
    """Table A.2: hard limits from cool-down to warm-up."""
    assert kind.limit_days == {"ENDO": 200, "EXO_COOL": 150, "EXO_MILD": 130, "QUASI": 70}[kind.name]
