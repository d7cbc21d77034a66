"""What practice mode refuses, in sentences that the page and the terminal show as they are."""

from __future__ import annotations


class PracticeError(Exception):
    """Something that cannot be done; `str(error)` says what would be right."""
