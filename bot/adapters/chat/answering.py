"""What a press means: one use case, and the message as it stands afterwards. Knows no components."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from bot.adapters.chat.contact import Contact
from bot.adapters.chat.marks import TODAY, Act, Scope
from bot.adapters.chat.presenters.board import Board, Fixed, arrange
from bot.adapters.chat.presenters.lines import Line, Standing, from_sent
from bot.care.duty import Outcome
from bot.services.errors import AlreadyAnsweredError, NoLongerDueError
from bot.services.records import OccurrenceId

SATURDAY = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """The message that was pressed: its scope, its fixed words, and the lines it showed."""

    scope: Scope
    fixed: Fixed
    seen: tuple[OccurrenceId, ...] = ()


async def lines_of(contact: Contact, scope: Scope, seen: Iterable[OccurrenceId]) -> tuple[Line, ...]:
    """The lines of a message as they stand now.

    Raises:
        NotYoursError: a reminder of somebody else.
    """
    sent = contact.services.sent_digests
    if scope.delivery is not None:
        found = await sent.of(contact.keeper_id, scope.delivery, seen, contact.now)
    elif scope == TODAY:
        found = await sent.open_now(contact.keeper_id, seen, contact.now)
    else:
        found = await sent.only(contact.keeper_id, seen, contact.now)
    return tuple(from_sent(line) for line in found)


async def board_now(
    contact: Contact,
    message: Message,
    *,
    focus: OccurrenceId | None = None,
    choosing: OccurrenceId | None = None,
    page: int = 1,
) -> Board:
    """The message as it should look now."""
    lines = await lines_of(contact, message.scope, message.seen)
    return arrange(message.scope, message.fixed, lines, focus=focus, choosing=choosing, page=page)


async def answer(contact: Contact, act: Act, occurrence: OccurrenceId, verdict: Outcome | None) -> None:
    """Record what was pressed on a line.

    Raises:
        NotYoursError, AlreadyAnsweredError, NoLongerDueError: see `services/line_answers.py`.
    """
    use, who, now = contact.services.line_answers, contact.keeper_id, contact.now
    if act is Act.DONE:
        await use.done(who, occurrence, now)
    elif act is Act.SKIP:
        await use.not_needed(who, occurrence, now)
    elif act is Act.UNDO:
        await use.undo(who, occurrence, now)
    elif act is Act.VERDICT and verdict is not None:
        await use.verdict(who, occurrence, verdict, now)
    elif act in {Act.TOMORROW, Act.WEEKEND}:
        today = await contact.today()
        await use.later(who, occurrence, today + timedelta(days=1) if act is Act.TOMORROW else weekend(today), now)


def weekend(today: date) -> date:
    """The next Saturday after today."""
    return today + timedelta(days=(SATURDAY - today.weekday() - 1) % 7 + 1)


async def answer_all(contact: Contact, message: Message) -> int:
    """Done for every open line; lines answered meanwhile are left as they are. Returns how many were recorded."""
    count = 0
    for line in await lines_of(contact, message.scope, message.seen):
        if line.standing is not Standing.OPEN:
            continue
        try:
            await contact.services.line_answers.done(contact.keeper_id, line.id, contact.now)
        except (AlreadyAnsweredError, NoLongerDueError):
            continue
        count += 1
    return count
