"""Buttons between members, all of which outlive restarts: the return, sittings, offers of a colony."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import people_acts, people_marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.marks import Scope, of_delivery
from bot.adapters.chat.people_marks import Answer
from bot.services.ports import Digest
from bot.services.records import ColonyId, KeeperId
from bot.services.sitting_records import OfferId, Sitting, SittingId, SittingState

Item = ui.DynamicItem[ui.Button[ui.LayoutView]]
Row = ui.ActionRow[Any]
GREEN, GREY, RED = discord.ButtonStyle.success, discord.ButtonStyle.secondary, discord.ButtonStyle.danger


class BackButton(Item, template=people_marks.BACK):
    """Brings every reminder back."""

    def __init__(self, scope: Scope) -> None:
        super().__init__(ui.Button(label="I am back", style=GREEN, custom_id=f"wb:back:{scope.code}"))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(Scope(match["scope"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Say what came back, beside the message."""
        await pressed(interaction, people_acts.back)


class WaitingButton(Item, template=people_marks.WAITING):
    """Under a message that holds notes and no lines: what is due now."""

    def __init__(self, scope: Scope) -> None:
        super().__init__(ui.Button(label="What waits now", style=GREY, custom_id=f"wb:wait:{scope.code}"))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(Scope(match["scope"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Say how much waits, beside the message."""
        await pressed(interaction, people_acts.waiting)


class SittingButton(Item, template=people_marks.SITTING):
    """An answer to a question, or the end of a sitting."""

    def __init__(self, act: Answer, sitting: int, label: str = "?") -> None:
        style = {Answer.YES: GREEN, Answer.NO: GREY, Answer.STOP: RED}[act]
        super().__init__(ui.Button(label=label, style=style, custom_id=f"wb:sit:{act.value}:{sitting}"))
        self.act, self.sitting = act, SittingId(sitting)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(Answer(match["act"]), int(match["sitting"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Answer, and show what is agreed."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        if self.act is Answer.YES:
            await people_acts.accept_sitting(contact, self.sitting)
        elif self.act is Answer.NO:
            await people_acts.decline_sitting(contact, self.sitting)
        else:
            await people_acts.stop_sitting(contact, self.sitting)


class OfferButton(Item, template=people_marks.OFFER):
    """An answer to an offer, from either side."""

    def __init__(self, act: Answer, offer: int, label: str = "?") -> None:
        style = GREEN if act is Answer.YES else GREY
        super().__init__(ui.Button(label=label, style=style, custom_id=f"wb:give:{act.value}:{offer}"))
        self.act, self.offer = act, OfferId(offer)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(Answer(match["act"]), int(match["offer"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Answer, and show what became of it."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        if self.act is Answer.YES:
            await people_acts.accept_offer(contact, self.offer)
        else:
            await people_acts.refuse_offer(contact, self.offer)


class ConfirmButton(Item, template=people_marks.CONFIRM):
    """The giver confirms."""

    def __init__(self, colony: int, member: int) -> None:
        super().__init__(ui.Button(label="Offer it", style=RED, custom_id=f"wb:hand:{colony}:{member}"))
        self.colony, self.member = ColonyId(colony), KeeperId(member)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]), int(match["member"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Offer it to the member."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        view = await contact.services.handover.offer(contact.keeper_id, self.colony, self.member, contact.now)
        await people_acts.offered(contact, view, offer_row(view.offer.id))


PEOPLE_ITEMS: tuple[type[ui.DynamicItem[Any]], ...] = (
    BackButton,
    WaitingButton,
    SittingButton,
    OfferButton,
    ConfirmButton,
)


def digest_rows(digest: Digest) -> tuple[Row, ...]:
    """What stands under a reminder beside its lines; a message without lines is found again by its button."""
    scope = of_delivery(digest.delivery_id)
    if digest.resting:
        return (Row(BackButton(scope)),)
    return () if digest.lines else (Row(WaitingButton(scope)),)


def question_row(sitting: SittingId) -> Row:
    """Yes or no."""
    return Row(SittingButton(Answer.YES, sitting, "I will sit"), SittingButton(Answer.NO, sitting, "I cannot"))


def stop_row(sitting: Sitting, who: KeeperId) -> Row:
    """Ends it, or takes the question back."""
    label = "Stop" if sitting.state is SittingState.ACCEPTED or who != sitting.keeper_id else "Take back"
    return Row(SittingButton(Answer.STOP, sitting.id, label))


def offer_row(offer: OfferId) -> Row:
    """Take it, or not."""
    return Row(OfferButton(Answer.YES, offer, "I take it"), OfferButton(Answer.NO, offer, "No, thank you"))


def withdraw_row(offer: OfferId) -> Row:
    """The giver takes an offer back."""
    return Row(OfferButton(Answer.NO, offer, "Take back"))
