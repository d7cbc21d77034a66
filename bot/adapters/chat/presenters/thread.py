"""What is said in a private thread, where moderators may look in: how much is due, and nothing about what."""

from __future__ import annotations

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.people import person
from bot.services.thread_records import ThreadReminder


def thread_page(reminder: ThreadReminder) -> Page:
    """One word to the keeper."""
    things = "1 thing is due" if reminder.count == 1 else f"{reminder.count} things are due"
    return Page(
        title="Something is due",
        blocks=(
            f"{person(reminder.keeper_id)}, {things}. Open `/care due`; only you see its answer.",
            (
                "I write here because your direct messages are closed to me. Open them and it ends by itself; "
                "`/season share threads:False` ends it at once."
            ),
        ),
    )
