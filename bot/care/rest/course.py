"""The dates of one winter rest: phases laid end to end, with the steps a keeper logged in place of the calendar's.

Lengths and gates: decision table A.2 of the dossier on dormancy. A rest that begins late still ends with the season,
but is never planned shorter than its floor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from bot.care.colony import Colony, LogEntry
from bot.care.duty import REST_STEPS, Duty, Outcome
from bot.care.phase import Phase
from bot.care.rest.start import RestStart
from bot.care.rest.terms import RestKind, RestTerms

WAIT_DAYS = 28
"""Longest wait for eggs and pupae beyond the usual end of a phase."""
LOOK_AGAIN_DAYS = 7
TOO_LATE_DAYS = 84
"""A colony that the bot learns of later than this in a season waits for the next one, unless it rests already
(judgement: a rest from here on would end in summer)."""
SEASON_BEFORE_DAYS = 120
"""Logged steps from this long before a start belong to its rest; the days after it fill up one year."""
SEASON_AFTER_DAYS = 245
STEPS = (Duty.REST_WIND_DOWN, Duty.REST_COOL_DOWN, Duty.REST_BEGIN, Duty.REST_WARM_UP, Duty.REST_END)
PHASES = (Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)


@dataclass(frozen=True, slots=True, kw_only=True)
class RestCourse:
    """First days of the five phases in order, and the day after the last. Phases of no length are left out of spans."""

    start: RestStart
    edges: tuple[date, ...]
    real: frozenset[Duty]
    """Steps whose date the keeper logged."""
    waiting: bool
    """Eggs or pupae hold the cool-down back."""

    @property
    def late_days(self) -> int:
        """Days by which the wind-down begins after the calendar's day because the bot learned of the colony later."""
        return 0 if self.real else max(0, (self.edges[0] - self.start.day).days)

    @property
    def end(self) -> date:
        """The day on which the colony is active again."""
        return self.edges[-1]

    @property
    def spans(self) -> tuple[tuple[Phase, date, date], ...]:
        """Phases with their first day and the day after their last."""
        return tuple(
            (phase, first, last)
            for phase, (first, last) in zip(PHASES, pairwise(self.edges), strict=True)
            if first < last
        )

    def first_day(self, phase: Phase) -> date:
        """First day of a phase, also of one without length."""
        return self.edges[PHASES.index(phase)]


def rest_log(colony: Colony, day: date) -> tuple[LogEntry, ...]:
    """What was logged up to `day` that can move a rest."""
    return tuple(
        entry
        for entry in colony.log
        if entry.day <= day and (entry.duty in REST_STEPS or entry.outcome is Outcome.PUPAE)
    )


def lay_out(start: RestStart, terms: RestTerms, colony: Colony, log: Sequence[LogEntry], day: date) -> RestCourse:
    """The course of the rest that begins with `start`, as known on `day`."""
    begin = start.day - timedelta(days=SEASON_BEFORE_DAYS)
    end = start.day + timedelta(days=SEASON_AFTER_DAYS)
    season = [entry for entry in log if begin <= entry.day < end]
    real = {entry.duty: entry.day for entry in season if _is_real(entry)}
    reports = sorted(entry.day for entry in season if entry.outcome is Outcome.PUPAE) if terms.gated else []
    course = _course(start, terms, colony, real, reports, day)
    if not terms.gated or not (colony.brood.pupae or colony.brood.eggs) or not real.keys() <= {Duty.REST_WIND_DOWN}:
        return course
    held = _course(start, terms, colony, real, reports, day, wait=WAIT_DAYS)
    return held if held.edges[0] <= day < held.first_day(Phase.WARM_UP) else course


def _is_real(entry: LogEntry) -> bool:
    """Whether a log entry fixes the date of a step; ants that are awake make the last two steps real."""
    if entry.duty not in STEPS:
        return False
    awake = entry.outcome is Outcome.AWAKE and entry.duty in {Duty.REST_WARM_UP, Duty.REST_END}
    return awake or entry.outcome is Outcome.DONE


def _course(
    start: RestStart,
    terms: RestTerms,
    colony: Colony,
    real: dict[Duty, date],
    reports: Sequence[date],
    day: date,
    *,
    wait: int = 0,
) -> RestCourse:
    wind = real.get(Duty.REST_WIND_DOWN) or _began(start, colony, day, known=bool(real))
    usual = wind + timedelta(days=terms.kind.wind_down_days)
    cool = real.get(Duty.REST_COOL_DOWN) or _held(usual + timedelta(days=wait), reports, date.min, WAIT_DAYS - wait)
    cold = cool + timedelta(days=terms.cool_down_days)
    rest = real.get(Duty.REST_BEGIN) or _held(cold, reports, cool, WAIT_DAYS)
    warm = real.get(Duty.REST_WARM_UP) or _warm_up(start, terms, colony, cool, rest)
    done = real.get(Duty.REST_END) or warm + timedelta(days=terms.warm_up_days)
    edges = [wind, cool, rest, warm, done]
    for later in range(len(edges) - 1, 0, -1):
        edges[later - 1] = min(edges[later - 1], edges[later])
    edges.append(done + timedelta(days=terms.kind.resume_days))
    waiting = Duty.REST_COOL_DOWN not in real and cool > usual
    return RestCourse(start=start, edges=tuple(edges), real=frozenset(real), waiting=waiting)


def _began(start: RestStart, colony: Colony, day: date, *, known: bool) -> date:
    """The calendar's day, or the later one on which the bot learned of a colony of which no step is known."""
    learned = colony.learned_of
    return start.day if known or learned is None or learned > day else max(start.day, learned)


def _held(usual: date, reports: Sequence[date], after: date, at_most: int) -> date:
    """The end of a phase, a week beyond the newest report of pupae that came while it ran or was about to end."""
    edge, last = usual, usual + timedelta(days=at_most)
    for report in reports:
        if after < report <= edge + timedelta(days=LOOK_AGAIN_DAYS):
            edge = max(edge, min(report + timedelta(days=LOOK_AGAIN_DAYS), last))
    return edge


def _warm_up(start: RestStart, terms: RestTerms, colony: Colony, cool: date, rest: date) -> date:
    """First day of the warm-up for a rest that began on `rest`."""
    longest = max(rest, cool + timedelta(days=terms.kind.limit_days - terms.warm_up_days))
    if colony.rest.weeks is not None:
        wanted = rest + timedelta(days=round(7 * max(colony.rest.weeks, terms.floor_weeks)))
    else:
        cold = start.day + timedelta(days=terms.kind.wind_down_days + terms.cool_down_days)
        wanted = max(cold + timedelta(days=usual_days(start, terms, cold)), rest + timedelta(days=floor_days(terms)))
        wanted = min(wanted, rest + timedelta(days=round(7 * terms.weeks.high)))
    return max(min(wanted, longest), rest + timedelta(days=1))


def floor_days(terms: RestTerms) -> int:
    """Fewest days at the target that are planned."""
    return round(7 * terms.floor_weeks)


def usual_days(start: RestStart, terms: RestTerms, cold: date) -> int:
    """Days at the target: the warm-up ends when spring light is back, within the usual weeks of the species."""
    if terms.kind is RestKind.QUASI:
        return round(7 * terms.weeks.middle)
    if start.spring is None:
        return round(7 * terms.weeks.low)
    light = (start.spring - cold).days - terms.warm_up_days
    return round(min(max(light, 7 * terms.weeks.low), 7 * terms.weeks.high))
