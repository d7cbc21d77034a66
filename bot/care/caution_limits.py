"""Which of the cautions that were raised a keeper is shown today: repeat limits, and room in one message.

Limits: the safety notes behind `config/cautions`, section 0; how many lines a message carries is judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from bot.care.cautions import Caution, Severity, in_order
from bot.care.handbook import Handbook

MOST_IN_A_MESSAGE = {Severity.WARNING: 2, Severity.NOTE: 1}
"""How many lines below danger one message carries (judgement)."""


def select(
    ids: Iterable[str],
    handbook: Handbook,
    shown: Mapping[str, date],
    today: date,
    muted: bool,  # noqa: FBT001 - a setting of the keeper, passed on as it is stored
) -> tuple[Caution, ...]:
    """The cautions a keeper sees in one message, in order: medical first, then danger, warning, note.

    Every danger is among them, every time. A medical line comes before all others and is never left out for want of
    room; in a reminder one that is a warning keeps the fourteen days of any warning, in an answer it always comes
    (`bot/services/asking.py`). Of the others only a few, because a wall of warnings hides the one that matters; those
    left out have not been shown, so they come with a later message.

    Args:
        ids: what the answer or reminder carries; ids of an older handbook that are gone now are passed over.
        handbook: holds the cautions.
        shown: the last local day on which this keeper saw a caution.
        today: the keeper's local day.
        muted: whether the keeper mutes notes. Danger is shown every time, whatever was shown or muted.
    """
    book = handbook.cautions
    wanted = in_order((name for name in ids if name in book), book)
    speaking = [caution for caution in wanted if _speaks(caution, shown.get(caution.id), today, muted=muted)]
    left = dict(MOST_IN_A_MESSAGE)
    return tuple(caution for caution in speaking if _has_room(caution, left))


def _has_room(caution: Caution, left: dict[Severity, int]) -> bool:
    """Whether a caution still fits into the message; counts it when it does."""
    if caution.medical or caution.severity not in left:
        return True
    left[caution.severity] -= 1
    return left[caution.severity] >= 0


def _speaks(caution: Caution, last: date | None, today: date, *, muted: bool) -> bool:
    if caution.severity is Severity.DANGER:
        return True
    if muted and caution.severity is Severity.NOTE:
        return False
    return last is None or not 0 <= (today - last).days < caution.severity.repeat_days
