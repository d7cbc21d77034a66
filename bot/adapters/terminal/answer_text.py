"""An answer as text for people at a terminal: cautions first and whole, then the card, then where it comes from."""

from __future__ import annotations

from collections.abc import Iterable

from bot.care.answers.guide import Guide
from bot.care.answers.values import Answer
from bot.care.handbook import Handbook
from bot.services.answers import spoken


def answer_text(answer: Answer, guide: Guide, handbook: Handbook) -> str:
    """Everything `/ask` would show, in the same order."""
    lines = [
        f"{caution.severity.value.upper()}: {caution.text}"
        for caution in spoken(answer.cautions, answer.whom, handbook)
    ]
    lines += ["", answer.title, *(["", answer.about] if answer.about else []), "", answer.text]
    if answer.asks:
        lines += ["", "Tell me: " + " ".join(answer.asks)]
    if not answer.answered or answer.choice:
        near = [guide.cards[found.card].title for found in answer.near[:3]]
        lines += ["", "Near to it: " + "; ".join(near) + "."]
    card = guide.cards.get(answer.card or "")
    if card is not None:
        lines += ["", f"{_cited(card.sources, handbook)} ({card.confidence.value})"]
    if answer.about_sources:
        lines += [f"On the ants you name: {_cited(answer.about_sources, handbook)}"]
    return "\n".join(lines).strip()


def _cited(names: Iterable[str], handbook: Handbook) -> str:
    return "; ".join(handbook.sources[name].citation for name in names if name in handbook.sources)
