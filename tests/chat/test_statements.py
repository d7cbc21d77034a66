"""How often the most used answers ask the store: bounds, so that what was made fast does not creep up again.

Every statement costs 0.3 to 0.7 ms of processor time (measured), and on PostgreSQL a way to the server and back.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Engine, event

from tests.chat.world import ChatWorld, button, line_of, text

pytestmark = pytest.mark.asyncio

WATERED = 31
"""1 who asks, 2 for the name, 20 to write (4 who and what, 5 answer, log and colony, 11 the plan), 8 what it shows."""
DONE = 33
"""1 who asks, 1 what it is about, 21 to write (as above), 10 the message with its delivery.

The keeper has another colony with its own line: an answer plans the colony that it is about, not all of them.
"""


@contextmanager
def counted() -> Iterator[list[str]]:
    """Statements from now on, without the beginnings and ends of units of work."""
    seen: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        if not statement.startswith("BEGIN"):
            seen.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(Engine, "before_cursor_execute", note)


async def test_watered_asks_the_store_no_more_than_it_needs(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    with counted() as seen:
        shown = await world.slash("care watered", colony="Dusk")
    assert "Dusk" in text(shown)
    assert len(seen) <= WATERED, "\n".join(seen)


async def test_a_press_on_done_asks_the_store_no_more_than_it_needs(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    await world.register("Dawn")
    message = await world.reminder()
    with counted() as seen:
        await world.ada.user.click(message, custom_id=button(message, "done", line_of(message, "Water")))
    assert "✓ **Water** done." in text(world.inbox()[-1])
    assert len(seen) <= DONE, "\n".join(seen)
