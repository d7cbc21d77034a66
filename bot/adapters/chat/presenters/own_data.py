"""What a keeper reads about their own data: the file, the erasing, the import, and the privacy page."""

from __future__ import annotations

from collections.abc import Sequence

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import joined, shown
from bot.care.cautions import in_order
from bot.care.handbook import Handbook
from bot.services.leaving import KEPT_FOR, Presence
from bot.services.own_data import KEPT, Erased, Restored
from bot.services.records import ColonyRecord

DATA_FILE = "winterbrood-data.zip"
NAMED = 10
"""Names that are listed before the rest is only counted."""
TAKE_ALONG = "`/my data` gives it to you as a file, `/my erase` removes it."

PRIVACY = (
    (
        "**What I keep, and why**\n"
        "Your number on this platform, to know whose colonies are whose. Nothing else of your profile.\n"
        "Time zone, latitude, country, units and rooms, to date care and the winter rest, and to show the right "
        "cautions.\n"
        "Your colonies and feeder cultures and what you write down about them, because the plan follows from it.\n"
        "Reminders: what was planned, sent and answered, and when, so that nothing is said twice. The number of the "
        "channel between us. Which cautions you saw, so that they do not repeat every day.\n"
        "If you let a server count you or remind you in a thread, or lead its season, or sit for somebody: that you "
        "do, and since when; of a thread also its number, and when I last wrote there."
    ),
    (
        "**What I do not keep**\n"
        "Messages in channels: I do not read them, but for one that somebody points me to with “Answer this”, and "
        "that one I forget again. Questions are answered and forgotten; I count, for a server and a month, "
        "which answers were given and how often members said that they helped or did not: no words, no names.\n"
        "Files that you attach: they are read and forgotten. Of a logger's file that you choose to keep, the lowest "
        "and highest reading of each hour stay; `/care logger` shows and forgets them.\n"
        "Your address: I have no place for it; leave it out of notes."
    ),
    (
        "**For how long**\n"
        "Until you erase it, because a colony lives for many years and its history is yours; a colony that you close "
        "keeps its history too. Erasing takes effect at once. Only if you leave every server I am in, or your account "
        f"is deleted, does it run out: I erase everything {KEPT_FOR[Presence.LEFT].days} days after I find that you "
        f"left, {KEPT_FOR[Presence.DELETED].days} days after I find the account gone. Any command of yours ends that."
    ),
    (
        "**Who sees it**\n"
        "You, whoever runs this bot, and of a colony whoever you ask to sit for it. Moderators of a server see "
        "nothing unless you allow it there with `/season share`: to be counted without your name, or to be helped, "
        "which shows them when water or a rest step of yours is overdue."
    ),
)


def data_page(left_out: Sequence[str]) -> Page:
    """What stands in the file, and what there was no room for."""
    lacking = [f"There was no room for pictures of {_names(left_out)}; all else of them is in."] if left_out else []
    return Page(
        title="Your data",
        blocks=(
            (
                "The file below holds everything that I keep of you: a JSON document for programs, tables that open "
                "in any spreadsheet, and pictures of your colonies. Only you see this message; save the file."
            ),
            *lacking,
            "`/my import` brings it back, here or on another server of this bot.",
        ),
    )


def erase_page(colonies: Sequence[ColonyRecord]) -> Page:
    """What would be lost, before the button."""
    names = [shown(record.colony.name) for record in colonies[:NAMED]]
    more = [f"{len(colonies) - NAMED} more"] if len(colonies) > NAMED else []
    kept = f" Your colonies: {joined([*names, *more])}." if names else ""
    return Page(
        title="Erase everything?",
        blocks=(
            (
                "This removes your place, your settings, all colonies with their history and logger readings, closed "
                f"ones too, your feeder cultures and all reminders. It cannot be undone.{kept}"
            ),
            "`/my data` first gives you a copy that `/my import` can bring back.",
            KEPT,
        ),
    )


def erased_page(erased: Erased) -> Page:
    """What was removed, and what stays."""
    counts = (
        _count(erased.colonies, "colony", "colonies"),
        _count(erased.log_entries, "line of history", "lines of history"),
        _count(erased.reminders, "planned or answered reminder", "planned or answered reminders"),
        _count(erased.messages, "record of a message", "records of messages"),
    )
    return Page(title="Erased", blocks=(f"Removed: {joined(counts)}, and your settings.", erased.kept))


def _count(number: int, one: str, many: str) -> str:
    return f"{number:,} {one if number == 1 else many}"


def imported_page(restored: Restored) -> Page:
    """What came in, and what comes next."""
    blocks = []
    if restored.added:
        blocks.append(f"**Brought in** {_names(restored.added)}")
    if restored.already_here:
        blocks.append(f"**Here already, left as they were** {_names(restored.already_here)}")
    if not (restored.added or restored.already_here):
        blocks.append("There were no colonies in the file.")
    if restored.settings:
        blocks.append(
            "Your place and your hours came along. Reminders are off until you say so here: `/my reminders on:True`."
        )
    blocks.append("`/care due` shows what waits.")
    return Page(title="Your data are here", blocks=tuple(blocks))


def _names(names: Sequence[str]) -> str:
    more = [f"{len(names) - NAMED} more"] if len(names) > NAMED else []
    return joined([*(shown(name) for name in names[:NAMED]), *more])


def privacy_page(handbook: Handbook) -> Page:
    """What is kept, why, and for how long."""
    notes = in_order(("PRIV-DM", "PRIV-PUBLIC"), handbook.cautions)
    return Page(title="What I know of you", blocks=(*PRIVACY, f"{KEPT}\n{TAKE_ALONG}"), cautions=notes)
