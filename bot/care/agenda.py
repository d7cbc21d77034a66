"""One dated plan for a colony or a household, without contradictions: the rules of all engines, merged.

What is decided here and nowhere else: when advice becomes an occurrence, which duties join one visit, what must not
fall together, and that water comes before everything. The engines say how often and why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from bot.care.caution_rules import for_occurrence
from bot.care.colony import Colony, Side
from bot.care.duty import REST_STEPS, SEEN, Duty, Occurrence, Outcome, Urgency
from bot.care.feeding.leftovers import PERISHABLE, days_lying
from bot.care.growth.founding import founding_question
from bot.care.handbook import Handbook
from bot.care.localtime import moment
from bot.care.phase import Phase, RestPlan
from bot.care.place import Household, Keeper, Place
from bot.care.rest.duties import RestStep, rest_steps
from bot.care.rest.plan import plan_rest
from bot.care.rules import RULES
from bot.care.situation import Advice, Situation
from bot.care.species import SpeciesProfile
from bot.care.visits import Due, due_on, visit_on
from bot.care.water.advice import is_only_a_look
from bot.care.water.log import after_watering, learned_from_log

HEATER_OFF = REST_STEPS - {Duty.REST_WIND_DOWN, Duty.REST_CHECK}
"""Steps of a rest from which on no heater runs."""
COUNTS_AS_DONE = frozenset(Outcome) - SEEN
"""Outcomes that start an interval anew; the others were only seen."""
URGENT_WALL = time(8, 0)
"""When an urgent duty speaks up, if the quiet hours allow it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColonyPlan:
    """The plan of one colony from a day on. `warnings` are sentences about what is missing or does not fit."""

    colony: Colony
    profile: SpeciesProfile
    rests: tuple[RestPlan, ...]
    occurrences: tuple[Occurrence, ...]
    rest: RestPlan | None = None
    """The rest that runs on the first day, else the next one, however far ahead; or why there is none."""
    warnings: tuple[str, ...] = ()

    def first(self, duty: Duty) -> Occurrence | None:
        """The next occurrence of a duty."""
        return next((occurrence for occurrence in self.occurrences if occurrence.duty is duty), None)


def plan_household(household: Household, handbook: Handbook, start: date, days: int) -> tuple[ColonyPlan, ...]:
    """Plans of all colonies, in the order of the household; none depends on another.

    Raises:
        UnknownNameError, BadValueError: a species or place that does not exist.
    """
    return tuple(
        plan_colony(colony, household.keeper, household.place_of(colony), handbook, start, days)
        for colony in household.colonies
    )


def plan_colony(colony: Colony, keeper: Keeper, place: Place, handbook: Handbook, start: date, days: int) -> ColonyPlan:
    """The plan for `days` days from `start`, as if every duty were done on its day.

    Raises:
        UnknownNameError: the species is not in the handbook.
    """
    profile = handbook.profile(colony.species)
    walk = _Walk(colony, profile, place, keeper, handbook, start, start + timedelta(days=days))
    occurrences = tuple(sorted(walk.run(), key=_in_time))
    rests = tuple(rest for rest in walk.rests if not rest.phases or rest.phases[0].start < walk.end)
    question = founding_question(colony, profile)
    problems = [problem for rest in rests for problem in rest.problems] + ([question] if question else [])
    warnings = tuple(dict.fromkeys(problems))
    return ColonyPlan(
        colony=colony, profile=profile, rests=rests, occurrences=occurrences, rest=walk.rests[0], warnings=warnings
    )


def plan_firsts(
    colony: Colony,
    keeper: Keeper,
    place: Place,
    handbook: Handbook,
    start: date,
    days: int,
    counts: Callable[[Occurrence], bool],
) -> tuple[Occurrence, ...]:
    """The beginning of `plan_colony`: up to where every duty that comes up in these days has come once.

    `counts` says whether an occurrence is what the caller looks for; where it is not, another of its duty must follow.

    Raises:
        UnknownNameError: the species is not in the handbook.
    """
    profile = handbook.profile(colony.species)
    walk = _Walk(colony, profile, place, keeper, handbook, start, start + timedelta(days=days))
    return tuple(sorted(walk.until_all_came(counts), key=_in_time))


def _in_time(found: Occurrence) -> tuple[date, datetime, int, Duty]:
    return found.day, found.due_at, -found.urgency, found.duty


class _Walk:
    """Walks through the days of one colony from one event to the next, doing every duty on its day."""

    def __init__(
        self,
        colony: Colony,
        profile: SpeciesProfile,
        place: Place,
        keeper: Keeper,
        handbook: Handbook,
        start: date,
        end: date,
    ) -> None:
        self.start, self.end = start, end
        self.keeper = keeper
        self.colony = colony
        self.rests: list[RestPlan] = []
        done = {
            duty: entry.day for duty in Duty if (entry := colony.last(duty, *_counting(duty))) and entry.day <= start
        }
        self._due: dict[Duty, Due] = {}
        self._asked: list[Duty] = []
        self._situation = Situation(
            colony=colony,
            profile=profile,
            place=place,
            keeper=keeper,
            handbook=handbook,
            day=start,
            rest=self._rest_around(start, profile, place, handbook),
            done=done,
        )
        self._situation = replace(self._situation, heater_in_doubt=_is_heater_in_doubt(self._situation))
        learned = learned_from_log(self._situation)
        self._situation = replace(self._situation, colony=replace(colony, drying=learned))
        self._steps = rest_steps(self._situation.rest, self._situation)

    def run(self) -> Iterator[Occurrence]:
        """Every occurrence from start up to and without end."""
        return (found for _, visit in self._visits() for found in visit)

    def until_all_came(self, counts: Callable[[Occurrence], bool]) -> Iterator[Occurrence]:
        """The same, up to the day after which no duty can come that did not come yet."""
        came: set[Duty] = set()
        for day, visit in self._visits():
            yield from visit
            came.update(found.duty for found in visit if counts(found))
            if not self._brings_others(came, day):
                return

    def _visits(self) -> Iterator[tuple[date, Sequence[Occurrence]]]:
        """What comes up on each day on which something happens."""
        visit = [*self._missed_steps()]
        phase: Phase | None = None
        day = self.start
        while day < self.end:
            self._move_to(day)
            if self._situation.phase is not phase:
                phase = self._situation.phase
                self._asked = list(RULES)
                self._ask()
            visit += self._steps_on(day)
            visit += self._do(self._visit(day))
            yield day, visit
            self._ask()
            visit = []
            day = self._next_event(day)

    def _brings_others(self, came: set[Duty], day: date) -> bool:
        """Whether duties that did not come yet can come after a day.

        Each is asked again when a phase begins or it was done, and leftovers with every feeding.
        """
        ahead = {*self._asked, *(duty for duty, found in self._due.items() if found.earliest < self.end)}
        if not ahead.isdisjoint(PERISHABLE):
            ahead.add(Duty.LEFTOVERS)
        return not ahead <= came or any(day < when < self.end for when in self._turns())

    def _rest_around(self, day: date, profile: SpeciesProfile, place: Place, handbook: Handbook) -> RestPlan:
        rest = plan_rest(self.colony, profile, place, self.keeper, handbook, day)
        self.rests.append(rest)
        return rest

    def _move_to(self, day: date) -> None:
        now = self._situation
        rest = now.rest
        self._situation = replace(now, day=day)
        if rest.phases and day >= rest.phases[-1].end:
            rest = self._rest_around(day, now.profile, now.place, now.handbook)
            self._situation = replace(now, day=day, rest=rest, heater_in_doubt=False)
            self._steps = rest_steps(rest, self._situation)

    def _ask(self) -> None:
        """Asks duties when they come next."""
        for duty in self._asked:
            self._advise(duty)
        self._asked = []

    def _advise(self, duty: Duty) -> None:
        advice = RULES[duty](self._situation)
        if advice is None:
            self._due.pop(duty, None)
            return
        last = self._situation.done.get(duty)
        wait = advice.first_after_days if last is None else advice.interval_days
        due = (last or self._situation.day) + timedelta(days=max(round(wait), 0 if last is None else 1))
        if duty is Duty.WATER:
            due = max(due, self._looked_again(advice))
        self._due[duty] = due_on(advice, max(due, self._situation.day), last, self._situation.phase)

    def _looked_again(self, advice: Advice) -> date:
        """After “not needed” for water the nest is looked at again soon: in a third of the interval."""
        seen = self.colony.last(Duty.WATER, Outcome.SKIPPED)
        if seen is None or seen.day > self.start:
            return date.min
        return seen.day + timedelta(days=max(1, round(advice.interval_days / 3)))

    def _visit(self, day: date) -> list[Duty]:
        """What is done on a day, in the order in which it is done; what waits for a later visit gets its day."""
        lying = timedelta(days=days_lying(self._situation, Duty.PROTEIN))
        today, waiting = visit_on(day, self._due, day + lying)
        for duty, visit in waiting.items():
            self._due[duty] = replace(self._due[duty], day=visit)
        return [duty for duty in RULES if duty in today]

    def _do(self, duties: Sequence[Duty]) -> Sequence[Occurrence]:
        """Does the duties of one visit; after it they are asked when they come next."""
        visit = [self._occurrence(self._due.pop(duty).advice) for duty in duties]
        now = self._situation
        foods = {food: now.day for found in visit if isinstance(food := found.facts.get("food"), str)}
        done = {**now.done, **dict.fromkeys(duties, now.day)}
        self._situation = replace(now, done=done, offered={**now.offered, **foods})
        for found in visit:
            if found.duty is Duty.WATER:
                self._water(found)
        again = {*duties, *([Duty.LEFTOVERS] if set(PERISHABLE) & set(duties) else [])}
        self._asked = [duty for duty in RULES if duty in again]
        return visit

    def _water(self, found: Occurrence) -> None:
        """Ahead of time waterings are done on their side, so that the sides take turns; a mere look waters nothing."""
        if is_only_a_look(self._situation):
            return
        side = found.facts.get("side")
        colony = after_watering(self._situation.colony, found.day, Side(side) if isinstance(side, str) else None)
        self._situation = replace(self._situation, colony=colony)

    def _occurrence(self, advice: Advice) -> Occurrence:
        day = self._situation.day
        last = self._situation.done.get(advice.duty)
        early, late = (day, day) if last is None else (last + timedelta(days=int(d)) for d in _ends(advice))
        return Occurrence(
            colony=self.colony.key,
            duty=advice.duty,
            day=day,
            due_at=due_moment(day, advice.urgency, self.keeper),
            earliest=min(early, day),
            latest=max(late, day),
            reason=advice.reason,
            why=advice.why,
            urgency=advice.urgency,
            useful_days=advice.useful_days,
            facts=advice.facts,
            cautions=for_occurrence(advice.duty, self._situation, advice.facts, advice.cautions),
        )

    def _missed_steps(self) -> Iterator[Occurrence]:
        """Rest steps whose day passed a short while ago without a word: still useful, so they come today."""
        for step in self._steps:
            late = (self.start - step.day).days
            if 0 < late <= step.useful_days and not self._was_done(step):
                yield self._step(step, self.start)

    def _steps_on(self, day: date) -> Iterator[Occurrence]:
        for step in self._steps:
            if step.day == day and not self._was_done(step):
                yield self._step(step, day)

    def _was_done(self, step: RestStep) -> bool:
        entry = self.colony.last(step.duty)
        return entry is not None and abs((entry.day - step.day).days) <= 60

    def _step(self, step: RestStep, day: date) -> Occurrence:
        now = self._situation
        in_doubt = now.heater_in_doubt and not (step.duty in HEATER_OFF and step.day == day)
        self._situation = replace(now, done={**now.done, step.duty: day}, heater_in_doubt=in_doubt)
        return Occurrence(
            colony=self.colony.key,
            duty=step.duty,
            day=day,
            due_at=due_moment(day, Urgency.SOON, self.keeper),
            earliest=min(step.earliest, day),
            latest=max(step.latest, day),
            reason=step.reason,
            why=step.why,
            urgency=Urgency.SOON,
            useful_days=step.useful_days,
            facts=step.facts,
            cautions=for_occurrence(step.duty, self._situation, step.facts, step.cautions),
        )

    def _next_event(self, day: date) -> date:
        ahead = [*(found.day for found in self._due.values()), *self._turns()]
        return min((when for when in ahead if when > day), default=self.end)

    def _turns(self) -> Iterator[date]:
        """Days on which a phase of the winter rest begins or the last one ends, and its steps."""
        phases = self._situation.rest.phases
        yield from (span.start for span in phases)
        yield from (span.end for span in phases[-1:])
        yield from (step.day for step in self._steps)


def due_moment(day: date, urgency: Urgency, keeper: Keeper) -> datetime:
    """When an occurrence speaks up: the digest, or for urgent ones the morning; quiet hours shift, never drop. UTC."""
    wall = min(URGENT_WALL, keeper.digest_at) if urgency is Urgency.URGENT else keeper.digest_at
    return keeper.quiet.next_allowed(moment(day, wall, keeper.zone), keeper.zone)


def _is_heater_in_doubt(situation: Situation) -> bool:
    """Whether a rest runs by the calendar alone around a heater: until a step of it is told, it may still be on."""
    heated = situation.colony.heater is not None
    return heated and situation.phase is not Phase.ACTIVE and HEATER_OFF.isdisjoint(situation.rest.told)


def _counting(duty: Duty) -> tuple[Outcome, ...]:
    """A nest that was only looked at was not watered."""
    counting = COUNTS_AS_DONE - {Outcome.SKIPPED} if duty is Duty.WATER else COUNTS_AS_DONE
    return tuple(sorted(counting))


def _ends(advice: Advice) -> tuple[float, float]:
    return advice.band_days.low, advice.band_days.high
