"""The button under a word in a private thread: it shows what waits, to whoever presses, of their own colonies only.

Its identifier ends with the nonce of the word, by which a try in doubt is found again.
"""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import people_acts
from bot.adapters.chat.contact import pressed

THREAD = re.compile(r"wb:care:(?P<nonce>[A-Z2-7]{8,25})")


class ThreadButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=THREAD):
    """What is due now."""

    def __init__(self, nonce: str) -> None:
        super().__init__(ui.Button(label="What waits now", custom_id=f"wb:care:{nonce}"))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match["nonce"])

    async def callback(self, interaction: discord.Interaction) -> None:
        """Say how much waits, beside the message, for the presser alone."""
        await pressed(interaction, people_acts.waiting)


def thread_row(nonce: str) -> ui.ActionRow[Any]:
    """What stands under a word in a thread."""
    return ui.ActionRow[Any](ThreadButton(nonce))
