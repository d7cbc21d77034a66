"""A picture as use cases and chat see it: PNG bytes with words for those who cannot see it, and the two looks."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Look(StrEnum):
    """Which of the two looks a picture has."""

    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True, slots=True)
class Picture:
    """A PNG, the one to three sentences that tell what it shows, and its size in pixels."""

    png: bytes
    alt: str
    width: int
    height: int
