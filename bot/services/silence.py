"""What happens when a keeper does not answer: the rhythm slows step by step, water never does.

Steps are judgement: nobody measured when reminders turn into noise.
"""

from __future__ import annotations

from bot.care.duty import REST_STEPS, Duty

SLOWER_AFTER = 3
"""Unanswered digests after which routine duties come less often."""
MOST_EXTRA_DAYS = 7
ASK_AFTER = 10
"""Unanswered digests after which one kind question is asked, and only water goes on until the keeper returns."""

NEVER_HELD = frozenset({Duty.WATER, Duty.HEAT_CHECK}) | REST_STEPS
"""Duties whose silence could kill."""


def holds_something(unanswered: int) -> bool:
    """Whether a plan is another one after so many unanswered digests in a row than after none."""
    return unanswered >= SLOWER_AFTER


def extra_days(duty: Duty, unanswered: int) -> int:
    """Days by which a duty waits longer after so many unanswered digests in a row."""
    if duty in NEVER_HELD or not holds_something(unanswered):
        return 0
    return min(1 + unanswered - SLOWER_AFTER, MOST_EXTRA_DAYS)


def held_back(duty: Duty, unanswered: int) -> bool:
    """Whether a duty rests until the keeper returns."""
    return unanswered > ASK_AFTER and duty not in NEVER_HELD
