"""Which figures of a community may be shown, so that no member can be read out of them. All rules are our judgement.

1: a figure stands on five members, none of whom holds over half of it. 2: it is rounded; totals are sums of shown
figures; a part whose rest would stand on fewer than five is shown as the whole. 3: a group's figures stay until the
shares of five members differ from those they were made of: two views in a row differ by the deeds of five, or not.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from bot.care.phase import Phase
from bot.care.season.community import Half, Mark, Share
from bot.care.species import DormancyClass

FLOOR = 5
"""Fewest members behind any figure."""
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True, order=True)
class GroupKey:
    """Colonies whose year turns alike: half of the earth, seasonal cycle, season."""

    half: Half
    dormancy: DormancyClass
    year: int


@dataclass(frozen=True, slots=True)
class Spread:
    """Mondays of weeks in which a phase begins: by `first` and from `last` on for five members, `middle` for half."""

    first: date
    middle: date
    last: date


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupFigures:
    """Shown figures of one group, as taken on a day. Counts are colonies, rounded; what may not be shown is absent."""

    key: GroupKey
    taken: date
    colonies: int
    marks: Mapping[Mark, int] = field(default_factory=dict)
    begins: Mapping[Phase, Spread] = field(default_factory=dict)
    weeks: Mapping[Phase, Mapping[date, int]] = field(default_factory=dict)
    """Phase -> Monday -> colonies in that phase in that week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupState:
    """What is shown of a group, and the fingerprints of the members it was made of when it was shown last."""

    shown: GroupFigures | None = None
    made_of: Mapping[str, str] = field(default_factory=dict)


def rounded(count: int) -> int:
    """To the nearest 5 (at least 5), from 100 to the nearest 10, from 1,000 to the nearest 100."""
    step = 5 if count < 100 else 10 if count < 1000 else 100
    return max(FLOOR, (count + step // 2) // step * step)


def monday(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def by_group(shares: Iterable[Share]) -> Mapping[GroupKey, tuple[Share, ...]]:
    """Shares by the group they count in."""
    found: dict[GroupKey, list[Share]] = {}
    for share in shares:
        found.setdefault(GroupKey(share.half, share.dormancy, share.year), []).append(share)
    return {key: tuple(group) for key, group in found.items()}


def renew(key: GroupKey, state: GroupState, shares: Sequence[Share], day: date) -> GroupState:
    """The state of a group after looking again on `day`: the same unless five members or more changed (rule 3)."""
    now = _fingerprints(shares)
    changed = [member for member in {*state.made_of, *now} if state.made_of.get(member) != now.get(member)]
    if len(changed) < FLOOR:
        return state
    shown = figures_of(key, shares, day)
    return GroupState(shown=None, made_of=state.made_of) if shown is None else GroupState(shown=shown, made_of=now)


def figures_of(key: GroupKey, shares: Sequence[Share], day: date) -> GroupFigures | None:
    """Everything that rules 1 and 2 allow of one group; `None` when the group itself is too small."""
    if not _stands(shares):
        return None
    colonies = rounded(len(shares))
    marks = {mark: _part(shares, [mark in share.marks for share in shares]) for mark in Mark}
    return GroupFigures(
        key=key,
        taken=day,
        colonies=colonies,
        marks={mark: count for mark, count in marks.items() if count is not None},
        begins={phase: spread for phase in Phase if (spread := _spread(shares, phase)) is not None},
        weeks={phase: counts for phase in Phase if (counts := _weeks(shares, phase))},
    )


def _stands(shares: Sequence[Share]) -> bool:
    """Rule 1."""
    each = Counter(share.member for share in shares)
    return len(each) >= FLOOR and 2 * max(each.values()) <= len(shares)


def _part(shares: Sequence[Share], inside: Sequence[bool]) -> int | None:
    """A part of a group that itself stands, rounded (rule 2); `None` where it may not be shown."""
    part = [share for share, counts in zip(shares, inside, strict=True) if counts]
    if not _stands(part):
        return None
    others = {share.member for share, counts in zip(shares, inside, strict=True) if not counts}
    whole = rounded(len(shares))
    return whole if len(others) < FLOOR else min(rounded(len(part)), whole)


def _spread(shares: Sequence[Share], phase: Phase) -> Spread | None:
    starts = sorted(
        (monday(span.start), share.member) for share in shares for span in share.phases if span.phase is phase
    )
    first, last = _fifth_member(starts), _fifth_member(starts[::-1])
    if first is None or last is None:
        return None
    last = max(first, last)  # where both ends would cross, only the week by which five have begun is told
    middle = starts[len(starts) // 2][0]
    return Spread(first, min(max(middle, first), last), last)


def _fifth_member(starts: Sequence[tuple[date, str]]) -> date | None:
    """The week in which the fifth different member turns up."""
    members: set[str] = set()
    for week, member in starts:
        members.add(member)
        if len(members) == FLOOR:
            return week
    return None


def _weeks(shares: Sequence[Share], phase: Phase) -> Mapping[date, int]:
    spans = [span for share in shares for span in share.phases if span.phase is phase]
    if not spans:
        return {}
    week, last = monday(min(span.start for span in spans)), max(span.end for span in spans)
    found: dict[date, int] = {}
    while week < last:
        thursday = week + timedelta(days=3)
        count = _part(shares, [_in_phase(share, phase, thursday) for share in shares])
        if count is not None:
            found[week] = count
        week += WEEK
    return found


def _in_phase(share: Share, phase: Phase, day: date) -> bool:
    return any(span.phase is phase and span.start <= day < span.end for span in share.phases)


def _fingerprints(shares: Sequence[Share]) -> Mapping[str, str]:
    """Member -> a short digest of everything the figures could take from them."""
    said: dict[str, list[str]] = {}
    for share in shares:
        spans = ",".join(f"{span.phase.value}{span.start}{span.end}" for span in share.phases)
        said.setdefault(share.member, []).append(f"{spans}:{sorted(share.marks)}")
    return {
        member: hashlib.sha256("\n".join(sorted(lines)).encode()).hexdigest()[:16] for member, lines in said.items()
    }
