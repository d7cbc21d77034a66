"""`/ask`, `/care topic` and “Answer this”: questions in plain words, answered in private first."""

from __future__ import annotations

import discord
from discord import app_commands

from bot.adapters.chat.ask_handing import helpers_rows, preview_rows
from bot.adapters.chat.ask_items import answer_rows, count, show_shelf
from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.options import ColonyName, TopicName
from bot.adapters.chat.presenters.answer import answer_page
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import shown
from bot.services.asking import LONGEST_QUESTION
from bot.services.errors import RecordsError
from bot.services.feedback_ports import Reception
from bot.services.records import ColonyId

NO_TEXT = "There are no words in this message that I can read. I do not look at pictures."


@app_commands.describe(
    question="In your own words: what you see, and since when",
    colony="Which colony it is about, if you have several",
)
async def ask(
    interaction: discord.Interaction,
    *,
    question: app_commands.Range[str, 1, LONGEST_QUESTION],
    colony: ColonyName | None = None,
) -> None:
    """Answer a question."""
    contact = await meet(interaction)
    colony_id = await _meant(contact, colony)
    asking = contact.services.asking
    advice = await asking.answer(contact.keeper_id, question, colony_id, contact.now, shown)
    if advice.card is not None:
        await contact.reply(answer_page(advice), *answer_rows(advice))
        await count(contact, advice.card.id, Reception.ASKED)
        return
    helpers = await asking.helpers(interaction.guild_id) is not None
    more = helpers_rows(question) if helpers else []
    await contact.reply(answer_page(advice, helpers=helpers), *answer_rows(advice), *more)
    if advice.topics:
        await count(contact, advice.topics[0].id, Reception.UNANSWERED)


async def _meant(contact: Contact, colony: str | None) -> ColonyId | None:
    """The colony that was named; without records the answer is general, and says so."""
    if colony is None:
        return None
    try:
        return await contact.colony_id(colony)
    except RecordsError:
        return None


async def answer_this(interaction: discord.Interaction, message: discord.Message) -> None:
    """Preview the answer to somebody's message; what may be posted knows nothing of anybody's colonies."""
    contact = await meet(interaction)
    if not message.content.strip():
        await contact.reply(Page(title="Answer this", blocks=(NO_TEXT,)))
        return
    advice = await contact.services.asking.preview(message.content)
    await contact.reply(answer_page(advice), *preview_rows(advice, message.id))


@app_commands.describe(topic="Start typing what it is about")
async def topic(interaction: discord.Interaction, *, topic: TopicName) -> None:
    """The cards of a topic."""
    contact = await meet(interaction)
    await show_shelf(contact, await contact.services.asking.topic(topic))
