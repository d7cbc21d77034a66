"""An answer as text for people at a terminal: cautions first and whole, then the card, then where it comes from."""

from __future__ import annotations

from bot.care.answers.guide import Guide
from bot.care.answers.values import Answer
from bot.care.handbook import Handbook


def answer_text(answer: Answer, guide: Guide, handbook: Handbook) -> str:
    """Everything `/ask` would show, in the same order."""
    lines = [_caution(handbook, name) for name in answer.cautions]
    lines += ["", answer.title, "", answer.text]
    if answer.asks:
        lines += ["", "Tell me: " + " ".join(answer.asks)]
    if not answer.answered or answer.choice:
        near = [guide.cards[found.card].title for found in answer.near[:3]]
        lines += ["", "Near to it: " + "; ".join(near) + "."]
    card = guide.cards.get(answer.card or "")
    if card is not None:
        sources = "; ".join(handbook.sources[name].citation for name in card.sources if name in handbook.sources)
        lines += ["", f"{sources} ({card.confidence.value})"]
    return "\n".join(lines).strip()


def _caution(handbook: Handbook, name: str) -> str:
    caution = handbook.cautions[name].for_anybody
    return f"{caution.severity.value.upper()}: {caution.text}"
