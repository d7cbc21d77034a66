"""What a colony adds to the figures, and what of many may be shown. The rules are our own judgement."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Brood, LogEntry, RestWishes
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase, PhaseSpan
from bot.care.season.community import Half, Mark, Share, half_of, season_year, share_of
from bot.care.season.figures import (
    FLOOR,
    GroupFigures,
    GroupKey,
    GroupState,
    by_group,
    figures_of,
    monday,
    renew,
    rounded,
)
from bot.care.species import DormancyClass
from bot.care.units import Band
from tests.care.builders import colony, handbook, keeper, place, profile

KEY = GroupKey(Half.NORTH, DormancyClass.ENDO, 2026)
AUTUMN = date(2026, 10, 12)
"""A Monday."""
PHASES = (Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)


def share(member: str, start: date = AUTUMN, marks: Sequence[Mark] = ()) -> Share:
    """A colony whose five phases last four weeks each."""
    edges = [start + timedelta(weeks=4 * number) for number in range(6)]
    spans = tuple(PhaseSpan(phase, edges[number], edges[number + 1], Band(5, 8)) for number, phase in enumerate(PHASES))
    return Share(
        member=member,
        half=KEY.half,
        dormancy=KEY.dormancy,
        year=KEY.year,
        phases=spans,
        marks=frozenset(marks),
    )


def community(members: int, colonies: int | None = None, marks: Sequence[Mark] = ()) -> list[Share]:
    return [share(f"m{number % members}", marks=marks) for number in range(members if colonies is None else colonies)]


def of(shares: Sequence[Share]) -> GroupFigures | None:
    return figures_of(KEY, shares, AUTUMN)


def told(**changes: Any) -> Share:
    arguments = {
        "colony": colony(),
        "profile": profile(dormancy=DormancyClass.ENDO),
        "place": place(),
        "keeper": keeper(),
        "handbook": handbook(),
        "day": AUTUMN,
    }
    found = share_of("m", **{**arguments, **changes})
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("latitude", "half"),
    [(48.0, Half.NORTH), (-37.0, Half.SOUTH), (10.0, Half.TROPICS), (-5.0, Half.TROPICS), (None, None)],
)
def test_the_half_follows_the_latitude(latitude: float | None, half: Half | None) -> None:
    assert half_of(keeper(latitude=latitude)) == half
    if half is None:
        assert share_of("m", colony(), profile(), place(), keeper(latitude=None), handbook(), AUTUMN) is None


@pytest.mark.parametrize(
    ("half", "day", "year"),
    [
        (Half.NORTH, date(2026, 5, 2), 2026),
        (Half.NORTH, date(2026, 11, 1), 2026),
        (Half.NORTH, date(2027, 4, 30), 2026),
        (Half.NORTH, date(2027, 5, 5), 2027),
        (Half.SOUTH, date(2026, 11, 2), 2027),
        (Half.SOUTH, date(2027, 5, 1), 2027),
        (Half.SOUTH, date(2027, 10, 30), 2027),
        (Half.TROPICS, date(2027, 12, 31), 2027),
    ],
)
def test_a_season_runs_six_months_to_either_side_of_its_wind_down(half: Half, day: date, year: int) -> None:
    assert season_year(half, day) == year


def test_marks_say_what_stands_in_the_way() -> None:
    cold = told(colony=colony(rest=RestWishes(place="cellar", place_low_c=-3, place_high_c=15)))
    assert cold.marks == {Mark.TOO_COLD, Mark.TOO_WARM}
    assert told().marks == {Mark.NO_PLACE}
    pupae = colony(brood=Brood(pupae=True), rest=RestWishes(place_low_c=5, place_high_c=8))
    assert told(colony=pupae, day=date(2026, 10, 20)).marks == {Mark.PUPAE}
    assert told(keeper=keeper(latitude=3.0)).marks == {Mark.NO_PLAN}


def test_a_colony_seen_awake_in_this_rest_is_marked_so() -> None:
    seen = LogEntry(day=date(2027, 2, 20), duty=Duty.REST_CHECK, outcome=Outcome.AWAKE)
    fits = RestWishes(place_low_c=5, place_high_c=8)
    assert told(colony=colony(log=(seen,), rest=fits), day=date(2027, 2, 21)).marks == {Mark.AWAKE}
    before = replace(seen, day=date(2026, 5, 1))
    assert not told(colony=colony(log=(before,), rest=fits), day=date(2027, 2, 21)).marks


@pytest.mark.parametrize("dormancy", [DormancyClass.HOMO, DormancyClass.REVERSED, DormancyClass.QUASI])
def test_species_without_a_rest_have_neither_dates_nor_trouble(dormancy: DormancyClass) -> None:
    found = told(profile=profile(dormancy=dormancy))
    assert (found.phases, found.marks, found.dormancy) == ((), frozenset(), dormancy)


def test_shares_carry_no_name() -> None:
    assert "Dusk" not in repr(told(colony=colony(name="Dusk")))


@pytest.mark.parametrize(
    ("count", "shown"),
    [(1, 5), (5, 5), (7, 5), (8, 10), (37, 35), (99, 100), (104, 100), (105, 110), (995, 1000), (5049, 5000)],
)
def test_figures_are_rounded(count: int, shown: int) -> None:
    assert rounded(count) == shown


@pytest.mark.parametrize("members", [0, 1, 4])
def test_four_members_never_appear_however_many_colonies_they_have(members: int) -> None:
    assert of(community(members, 400) if members else []) is None


def test_five_do() -> None:
    shown = of(community(5))
    assert shown is not None
    assert shown.colonies == 5


def test_a_group_that_is_mostly_one_member_is_not_shown() -> None:
    assert of([*community(5), *[share("m0")] * 5]) is None
    assert of([*community(6), *[share("m0")] * 4]) is not None


def test_a_part_of_four_is_not_shown_and_a_rest_of_four_neither() -> None:
    few = [*community(20), *[share(f"p{number}", marks=[Mark.PUPAE]) for number in range(4)]]
    shown = of(few)
    assert shown is not None
    assert Mark.PUPAE not in shown.marks
    many = [*community(20, marks=[Mark.PUPAE]), *[share(f"p{number}") for number in range(4)]]
    shown = of(many)
    assert shown is not None
    assert shown.marks == {Mark.PUPAE: shown.colonies}, "the whole, so that nobody is left as the difference"


def test_weeks_and_spread_stand_on_five_members() -> None:
    early = [share(f"e{number}", AUTUMN - timedelta(weeks=5)) for number in range(4)]
    shown = of([*early, *community(9), share("late", AUTUMN + timedelta(weeks=9))])
    assert shown is not None
    assert min(shown.weeks[Phase.WIND_DOWN]) == AUTUMN
    assert shown.begins[Phase.WIND_DOWN].first == AUTUMN
    assert shown.begins[Phase.WIND_DOWN].last == AUTUMN


SHARES = st.lists(
    st.builds(
        share,
        st.integers(0, 11).map("m{}".format),
        st.integers(0, 40).map(lambda days: AUTUMN + timedelta(days=days)),
        st.lists(st.sampled_from(Mark), max_size=3),
    ),
    max_size=60,
)


@given(SHARES)
def test_every_figure_stands_on_five_members(shares: list[Share]) -> None:
    shown = of(shares)
    members = {each.member for each in shares}
    if shown is None:
        return
    assert len(members) >= FLOOR
    for mark, count in shown.marks.items():
        inside = {each.member for each in shares if mark in each.marks}
        outside = {each.member for each in shares if mark not in each.marks}
        assert len(inside) >= FLOOR
        assert count == shown.colonies or len(outside) >= FLOOR
    for phase, weeks in shown.weeks.items():
        for week, count in weeks.items():
            day = week + timedelta(days=3)
            inside = {
                each.member
                for each in shares
                if any(span.phase is phase and span.start <= day < span.end for span in each.phases)
            }
            assert len(inside) >= FLOOR
            assert count <= shown.colonies
    for phase, spread in shown.begins.items():
        starts = {(each.member, monday(span.start)) for each in shares for span in each.phases if span.phase is phase}
        assert len({member for member, week in starts if week <= spread.first}) >= FLOOR
        assert len({member for member, week in starts if week >= spread.last}) >= FLOOR or spread.first == spread.last
        assert spread.first <= spread.middle <= spread.last


def changed(shares: Sequence[Share], others: Sequence[Share]) -> set[str]:
    """Members whose shares differ, worked out apart from the code under test."""
    one: dict[str, list[str]] = {}
    two: dict[str, list[str]] = {}
    for into, source in ((one, shares), (two, others)):
        for each in source:
            into.setdefault(each.member, []).append(f"{each.phases}{sorted(each.marks)}")
    return {member for member in {*one, *two} if sorted(one.get(member, [])) != sorted(two.get(member, []))}


@given(st.lists(SHARES, min_size=1, max_size=6))
def test_two_views_in_a_row_differ_by_the_deeds_of_five_members_or_not_at_all(days: list[list[Share]]) -> None:
    state = GroupState()
    made_of: list[Share] = []
    shown_last: GroupFigures | None = None
    for number, shares in enumerate(days):
        before = state
        state = renew(KEY, state, shares, AUTUMN + timedelta(days=number))
        if state.shown is None or state.shown == before.shown:
            continue
        assert len(changed(made_of, shares)) >= FLOOR or shown_last is None
        assert state.shown == figures_of(KEY, shares, AUTUMN + timedelta(days=number))
        made_of, shown_last = shares, state.shown


@given(SHARES, SHARES)
def test_what_fewer_than_five_members_do_changes_nothing(shares: list[Share], more: list[Share]) -> None:
    state = renew(KEY, GroupState(), shares, AUTUMN)
    few = [each for each in more if each.member in {"m1", "m2", "m3", "m4"}]
    kept = [each for each in shares if each.member not in {"m1", "m2", "m3", "m4"}]
    assert renew(KEY, state, [*kept, *few], AUTUMN + timedelta(days=1)) == state or state.shown is None


def test_joining_and_leaving_one_by_one_shows_nothing_of_them() -> None:
    """The attack on a rounded count: watch it while members come; the fifth change brings all five at once."""
    state = renew(KEY, GroupState(), community(7), AUTUMN)
    seen = []
    for number in range(8, 14):
        state = renew(KEY, state, community(number), AUTUMN + timedelta(days=number))
        assert state.shown is not None
        seen.append(state.shown.colonies)
    assert seen == [5, 5, 5, 5, 10, 10]


def test_figures_that_vanish_come_back_only_after_five_changes() -> None:
    state = renew(KEY, GroupState(), community(6), AUTUMN)
    gone = renew(KEY, state, community(1), AUTUMN)
    assert gone.shown is None
    assert renew(KEY, gone, community(7), AUTUMN).shown is None, "one more than before would be shown to be the seventh"
    assert renew(KEY, gone, [share(f"n{number}") for number in range(5)], AUTUMN).shown is not None


def test_groups_are_apart_by_half_cycle_and_season() -> None:
    base = share("m")
    others = [
        base,
        replace(base, half=Half.SOUTH),
        replace(base, dormancy=DormancyClass.EXO),
        replace(base, year=2027),
    ]
    assert len(by_group(others)) == 4


@pytest.mark.parametrize("count", [5, 37, 5000])
def test_a_large_community_is_counted_in_time(count: int) -> None:
    shown = of([share(f"m{number}", AUTUMN + timedelta(days=number % 50)) for number in range(count)])
    assert shown is not None
    assert shown.colonies == rounded(count)
    assert all(week.weekday() == 0 for weeks in shown.weeks.values() for week in weeks)
