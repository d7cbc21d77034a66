"""Compares what members saw with what the store says: nothing lost, nothing twice, no more digests than promised."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select

from bot.adapters.store.tables import DeliveryLineRow, DeliveryRow, OccurrenceRow
from bot.care.duty import Urgency
from bot.care.place import Keeper
from bot.services.records import DeliveryState, KeeperId, OccurrenceState
from tests.chat.requests import check_rules, check_shape
from tests.crash.bot_process import TOKEN
from tests.crash.platform import FIRST_CHANNEL
from tests.crash.stage import Stage, line_counts, reminders

WAIT = timedelta(minutes=20)
"""Longest wait between two tries, and a little more."""
REACHED = {OccurrenceState.SENT, OccurrenceState.LAPSED}


async def examine(stage: Stage) -> dict[str, int]:
    """Raise on anything lost, doubled or unexplained; returns figures of the run."""
    seen = await stage.seen()
    assert TOKEN not in stage.journal.read_text("utf-8"), "the token stands in the log"
    async with stage.core.engine.connect() as connection:
        rows = (await connection.execute(select(OccurrenceRow.__table__))).mappings().all()
        sent = (await connection.execute(select(DeliveryRow.__table__))).mappings().all()
        held = (await connection.execute(select(DeliveryLineRow.__table__))).mappings().all()
    messages, counts = reminders(seen), line_counts(seen)
    _nothing_twice(messages, counts)
    keepers = await _keepers(stage, rows)
    _nothing_lost(rows, counts, keepers, stage.clock.now())
    _records_agree(sent, held, messages)
    _at_most_one_digest_a_day(keepers, seen, {row["id"]: row["urgency"] for row in rows})
    for request in seen["requests"]:
        if request["body"] is not None:
            check_shape(request["method"], request["path"], request["body"])
            check_rules(request["body"])
    return {
        "messages": len(messages),
        "lines": len(counts),
        "folded": seen["folded"],
        "looked for": sum(request["method"] == "GET" and "messages" in request["path"] for request in seen["requests"]),
        "tried again": sum(delivery["attempts"] > 1 for delivery in sent),
    }


def _nothing_twice(messages: dict[int, list[set[int]]], counts: Counter[int]) -> None:
    twice = {delivery: lines for delivery, lines in messages.items() if len(lines) > 1}
    assert not twice, f"deliveries that were seen twice: {twice}"
    doubled = {line: count for line, count in counts.items() if count > 1}
    assert not doubled, f"lines that were seen twice: {doubled}"


def _nothing_lost(rows: Any, counts: Counter[int], keepers: dict[int, Keeper], now: datetime) -> None:
    for row in rows:
        story = {name: str(row[name]) for name in ("id", "duty", "day", "due_at", "state", "delivery_id")}
        if row["state"] in REACHED:
            assert counts[row["id"]] == 1, f"marked as sent, never seen: {story}"
        if row["state"] == OccurrenceState.SUPERSEDED:
            assert counts[row["id"]] == 0, f"seen, though the plan took it back: {story}"
        if row["state"] == OccurrenceState.PLANNED:
            assert counts[row["id"]] == 0, f"seen, but still planned: {story}"
            keeper = keepers[row["keeper_id"]]
            quiet = keeper.quiet.next_allowed(now, keeper.zone) > now
            assert quiet or row["due_at"] > now - WAIT, f"overdue and never sent: {story}"


def _records_agree(sent: Any, held: Any, messages: dict[int, list[set[int]]]) -> None:
    lines: dict[int, set[int]] = {}
    for line in held:
        lines.setdefault(line["delivery_id"], set()).add(line["occurrence_id"])
    for delivery in sent:
        number = delivery["id"]
        assert delivery["state"] != DeliveryState.SENDING, f"delivery {number} was never brought to its end"
        if delivery["state"] == DeliveryState.SENT:
            assert number in messages, f"recorded as sent, never seen: {number}"
            assert messages[number][0] <= lines[number], f"a message with lines of another: {number}"
        elif delivery["problem"] == "it never arrived":
            assert number not in messages, f"it did arrive: {number}"
    assert set(messages) <= {delivery["id"] for delivery in sent}, "a message that nobody remembers"


async def _keepers(stage: Stage, rows: Any) -> dict[int, Keeper]:
    ids = {KeeperId(row["keeper_id"]) for row in rows}
    return {keeper: (await stage.core.keepers.get(keeper)).settings for keeper in ids}


def _at_most_one_digest_a_day(keepers: dict[int, Keeper], seen: dict[str, Any], urgencies: dict[int, int]) -> None:
    digests = Counter[tuple[int, str]]()
    for message in seen["messages"]:
        lines = set().union(*(found for group in reminders({"messages": [message]}).values() for found in group))
        keeper = int(message["channel_id"]) - FIRST_CHANNEL
        if any(urgencies[line] < Urgency.URGENT for line in lines):
            day = datetime.fromisoformat(message["timestamp"]).astimezone(keepers[keeper].zone).date()
            digests[keeper, day.isoformat()] += 1
    many = {key: count for key, count in digests.items() if count > 1}
    assert not many, f"more than one digest on a local day: {many}"
