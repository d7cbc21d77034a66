"""Whether answers help: counts without text or names, for the moderators' monthly look at what is asked."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from bot.services.feedback_ports import AnswerCount, Reception
from bot.services.ports import UnitOfWorkMaker
from bot.services.season_records import GuildId


@dataclass(frozen=True, slots=True, kw_only=True)
class CardCounts:
    """One card in one month."""

    card: str
    asked: int
    helped: int
    not_helped: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """What moderators see of a month in their server."""

    month: date
    """Its first day."""
    cards: tuple[CardCounts, ...]
    """Those that helped least come first, then those asked for most."""
    unanswered: tuple[tuple[str, int], ...]
    """(nearest topic, how often I did not know), most frequent first."""


@dataclass(frozen=True, slots=True)
class Feedback:
    """The use cases behind “Helped” and “Did not help”."""

    units: UnitOfWorkMaker

    async def count(self, guild_id: GuildId, subject: str, reception: Reception, now: datetime) -> None:
        """One more of a kind in the month (UTC) of `now`; `NOWHERE` counts what happens outside of servers."""
        async with self.units() as work:
            await work.answer_counts.add(guild_id, now.date().replace(day=1), subject, reception)
            await work.commit()

    async def monthly(self, guild_id: GuildId, month: date) -> Month:
        """The month that holds a day, as one server sees it."""
        first = month.replace(day=1)
        async with self.units() as work:
            counts = await work.answer_counts.of(guild_id, first)
        cards: dict[str, list[AnswerCount]] = defaultdict(list)
        for found in counts:
            if found.reception is not Reception.UNANSWERED:
                cards[found.subject].append(found)
        unknown = [(found.subject, found.count) for found in counts if found.reception is Reception.UNANSWERED]
        return Month(
            month=first,
            cards=tuple(sorted((_of_card(card, found) for card, found in cards.items()), key=_worst_first)),
            unanswered=tuple(sorted(unknown, key=lambda pair: (-pair[1], pair[0]))),
        )


def _of_card(card: str, counts: list[AnswerCount]) -> CardCounts:
    of = {found.reception: found.count for found in counts}
    return CardCounts(
        card=card,
        asked=of.get(Reception.ASKED, 0),
        helped=of.get(Reception.HELPED, 0),
        not_helped=of.get(Reception.NOT_HELPED, 0),
    )


def _worst_first(found: CardCounts) -> tuple[int, int, str]:
    return (found.helped - found.not_helped, -found.asked, found.card)
