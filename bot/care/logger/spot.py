"""Where a logger lay, and what its readings may stand for: each spot for itself, never one for another."""

from __future__ import annotations

from enum import StrEnum


class Spot(StrEnum):
    """Where a logger lay while it measured."""

    ROOM = "room"
    """In the air of the room where the colony stands."""
    WARM_WALL = "warm wall"
    """At the nest wall that the heater warms."""
    NEST = "nest"
    """In a chamber or under the nest's cover, away from the heater."""
    OUTWORLD = "outworld"
    REST = "place of rest"
    """Where the colony rests or will rest, in winter or before it."""


WITH_THE_ANTS = frozenset({Spot.NEST, Spot.OUTWORLD, Spot.REST})
"""Spots that tell how ants fared in a rest; the room may be warm while they rest elsewhere."""
LIKE_THE_ROOM = frozenset({Spot.NEST, Spot.OUTWORLD})
"""Spots as warm as the room while nothing heats the colony (common practice, no source); their air is their own."""
