"""Cautions as text: whole, dangers first and each alone on its line, notes last and small."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bot.adapters.chat.presenters.text import fits
from bot.care.cautions import Caution, Severity


def first_texts(cautions: Sequence[Caution], *, advice: bool = False) -> tuple[str, ...]:
    """Dangers, then warnings, in the order given, one text each."""
    return tuple(_said(found, advice=advice) for found in cautions if _leads(found))


def last_texts(cautions: Sequence[Caution]) -> tuple[str, ...]:
    """Notes, one small line each."""
    return tuple(f"-# {found.text}" for found in cautions if not _leads(found))


def block(texts: Iterable[str]) -> str:
    """Texts with an empty line between them."""
    return "\n\n".join(texts)


def split(texts: Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Texts in groups that each fit one message, in order; no text is cut."""
    groups: list[tuple[str, ...]] = []
    for text in texts:
        if groups and fits(block((*groups[-1], text))):
            groups[-1] = (*groups[-1], text)
        else:
            groups.append((text,))
    return tuple(groups)


def _leads(caution: Caution) -> bool:
    return caution.medical or caution.severity is not Severity.NOTE


def _said(caution: Caution, *, advice: bool) -> str:
    mark = "⚠️ **Danger.**" if caution.severity is Severity.DANGER else "**Take care.**"
    return f"{mark} {caution.text}" + (f"\n{caution.advice}" if advice and caution.advice else "")
