"""Answers, topics and hand-overs as pages: cautions first and whole, the card, what to ask back, the sources."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import shown
from bot.services.asking import LONGEST_QUESTION, Advice, Shelf
from bot.services.feedback import Month

NOT_SURE = "I am not sure what you mean, and I won't guess. Tell me which ant it is, what you see and since when."
NEAREST = "These topics come nearest:"
TO_HELPERS = "Or hand it to people: the button below gives your question to this server's helpers, once you agree."
TO_PEOPLE = "Or ask people: write it in a channel where keepers talk, with the ant, what you see and since when."
NO_RECORDS = "I cannot reach my records right now, so this knows nothing of your colonies."
WHICH_COLONY = "You keep several colonies: name one in your question, or choose it with the option colony."
ASKED_BEFORE = "You asked: "
MOST_LINES = 10


def answer_page(advice: Advice, *, helpers: bool = False) -> Page:
    """An answer; `helpers` says whether a question that was not understood can be handed over here."""
    blocks = [*([advice.about] if advice.about else []), advice.text if advice.card is not None else NOT_SURE]
    if advice.impersonal:
        blocks.append(f"-# {NO_RECORDS}")
    if advice.unsaid:
        blocks.append(f"-# {WHICH_COLONY}")
    if advice.asks:
        blocks.append(f"**Tell me:** {' '.join(advice.asks)}")
    if advice.near:
        blocks.append("If that is not it, choose:")
    if advice.card is None:
        blocks += [TO_HELPERS if helpers else TO_PEOPLE, *([NEAREST] if advice.topics else [])]
    if advice.confidence is not None:
        blocks.append(f"-# Source: {'; '.join(advice.citations)} ({advice.confidence.value})")
    if advice.about_citations:
        blocks.append(f"-# On the ants you name: {'; '.join(advice.about_citations)}")
    return Page(title=advice.title, blocks=tuple(blocks), cautions=advice.cautions)


def shelf_page(shelf: Shelf) -> Page:
    """A topic; its cards stand in the picker below."""
    return Page(title=shelf.topic.label, blocks=("Choose what fits; I show it to you alone.",))


def question_line(text: str) -> str:
    """What was asked, powerless, so that it can be handed over later."""
    return f"-# {ASKED_BEFORE}{shown(text, LONGEST_QUESTION)}"


def unshown(text: str) -> str:
    """What `shown` made powerless, as it was typed."""
    return re.sub(r"\\(.)", r"\1", text.replace("@\u200b", "@"))


def posted_page(advice: Advice, link: str) -> Page:
    """An answer for a channel: the same, with the message it belongs to."""
    page = answer_page(replace(advice, near=()))
    return replace(page, blocks=(f"-# On {link}", *page.blocks))


def handed_page(text: str, asker_id: int) -> Page:
    """A question as helpers see it; nobody is notified."""
    return Page(
        title="A question for the helpers",
        blocks=(
            f"<@{asker_id}> asks: {shown(text, LONGEST_QUESTION)}",
            "-# I did not know. Please answer in a channel.",
        ),
    )


def month_block(month: Month, cards: Mapping[str, str], topics: Mapping[str, str]) -> str:
    """A month of answers for moderators, with the names of cards and topics."""
    lines = [f"**Answers in {month.month:%B %Y}**"]
    lines += [
        f"{cards.get(found.card, found.card)}: asked {found.asked}, helped {found.helped}, not {found.not_helped}"
        for found in month.cards[:MOST_LINES]
    ]
    lines += [
        f"Not answered, near to “{topics.get(topic, topic)}”: {count}" for topic, count in month.unanswered[:MOST_LINES]
    ]
    return "\n".join(lines) if len(lines) > 1 else f"{lines[0]}\nNobody asked anything."
