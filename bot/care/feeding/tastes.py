"""What a colony's own log teaches: how much it clears, and which food comes next.

Two feedings in a row half left or refused: a quarter less; two gone at once: a quarter more; between a quarter and four
times the model. The rotation (nothing for more than three weeks, several kinds a month) is common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from bot.care.colony import LogEntry
from bot.care.duty import FEEDING, Duty, Outcome
from bot.care.goods import Food
from bot.care.units import Band

LIMITS = Band(0.25, 4.0)
_STEP = 0.25
_RUN = 2
_LEFT = frozenset({Outcome.HALF_TAKEN, Outcome.REFUSED})
_ATE = frozenset({Outcome.TAKEN, Outcome.GONE_QUICKLY})
_JUDGED = _LEFT | _ATE
_SAME_FOOD_DAYS = 21
_REST_OF_REFUSED = 28
KINDS = 3
"""Kinds of prey that are enough for a month (common practice): a keeper need not own every insect there is."""
NOTHING_OFFERED: Mapping[str, date] = {}


def _by_day(log: Iterable[LogEntry]) -> list[LogEntry]:
    return sorted(log, key=lambda entry: entry.day)


def feeding_outcomes(log: Iterable[LogEntry], duty: Duty) -> tuple[Outcome, ...]:
    """What became of each feeding of a kind, oldest first.

    An outcome noted when leftovers were taken out belongs to the last feeding before it, if that was of this kind.
    """
    outcomes: list[Outcome] = []
    latest: Duty | None = None
    for entry in _by_day(log):
        if entry.duty in FEEDING:
            latest = entry.duty
        mine = entry.duty is duty or (entry.duty is Duty.LEFTOVERS and latest is duty)
        if mine and entry.outcome in _JUDGED:
            outcomes.append(entry.outcome)
    return tuple(outcomes)


def feedback_factor(outcomes: Iterable[Outcome]) -> float:
    """What the model's amount is multiplied with, 0.25..4, after all outcomes in their order."""
    factor, run, last = 1.0, 0, None
    for outcome in outcomes:
        side = -1 if outcome in _LEFT else 1 if outcome is Outcome.GONE_QUICKLY else 0
        run = run + 1 if side == last else 1
        last = side
        if run == _RUN and side != 0:
            factor = LIMITS.clamp(factor * (1 + side * _STEP))
            run = 0
    return factor


def _refused(entries: Sequence[LogEntry], day: date) -> bool:
    """Refused twice running, the last time within four weeks."""
    last = [entry for entry in entries if entry.outcome in _JUDGED][-_RUN:]
    recent = bool(last) and day - last[-1].day <= timedelta(days=_REST_OF_REFUSED)
    return recent and len(last) == _RUN and all(entry.outcome is Outcome.REFUSED for entry in last)


def _liking(entries: Sequence[LogEntry]) -> int:
    ate = sum(entry.outcome in _ATE for entry in entries)
    return ate - sum(entry.outcome is Outcome.REFUSED for entry in entries)


def next_food(
    foods: Iterable[Food],
    log: Iterable[LogEntry],
    day: date,
    offered: Mapping[str, date] = NOTHING_OFFERED,
    *,
    rotate: bool = True,
) -> Food | None:
    """The food to offer next out of `foods` (in order of fit), `None` when there is none.

    Skips what was refused twice running in the last four weeks. With `rotate`: among foods the colony does not dislike,
    the one offered longest ago, never the one it had last if there is another. Without: the best liked, for ants that
    live on one kind of prey. `offered` holds days ahead of the log on which a plan offered a food already.
    """
    known = {food.id: food for food in foods}
    entries = [entry for entry in _by_day(log) if entry.food in known]
    history = {key: [entry for entry in entries if entry.food == key] for key in known}
    open_to = [key for key in known if not _refused(history[key], day)] or list(known)
    if not open_to:
        return None
    if not rotate:
        return known[max(open_to, key=lambda key: _liking(history[key]))]
    had = {key: entries[-1].day for key, entries in history.items() if entries}
    had |= {key: max(when, had.get(key, when)) for key, when in offered.items() if key in known}
    last = max(had, key=lambda key: had[key], default=None)
    others = [key for key in open_to if key != last] or open_to
    liked = [key for key in others if _liking(history[key]) >= 0] or others
    return known[min(liked, key=lambda key: had.get(key, date.min))]


def too_long_the_same(log: Iterable[LogEntry], duty: Duty, day: date) -> bool:
    """Whether nothing but one food was given for three weeks or more."""
    named = [entry for entry in _by_day(log) if entry.duty is duty and entry.food is not None]
    if not named:
        return False
    run = named[-1]
    for entry in reversed(named):
        if entry.food != named[-1].food:
            break
        run = entry
    return (day - run.day).days >= _SAME_FOOD_DAYS and (day - named[-1].day).days < _SAME_FOOD_DAYS
