"""Keeps what a start loads out of the garbage collector's walks: it stays to the end of the process.

Otherwise every full collection stops all commands while it walks through the whole handbook (95 ms, 12 ms without).
"""

from __future__ import annotations

import gc
from typing import TypeVar

T = TypeVar("T")


def frozen(loaded: T) -> T:
    """What was just loaded, and everything else that is in memory now, stays."""
    gc.freeze()
    return loaded


def settled(loaded: T) -> T:
    """As `frozen`, for what leaves litter behind while it is loaded, such as the guide: that is collected before."""
    gc.collect()
    return frozen(loaded)
