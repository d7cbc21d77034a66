"""Identifiers around answers, as in `marks`: cards, topics, cautions, and whose is checked.

`wb:qc:<card>` shows a card; with `:<colony>` behind it, for the colony that was named, if it is the presser's own.
With `~<ants>` at the end, a card or a post is about ants that a question named.
`wb:qt:<topic>` shows a topic, `wb:qk` picks a card, `wb:qf:<y|n>:<card>` counts, `wb:qh` hands a question over,
`wb:qp:<card>:<message>:<cautions>` posts a previewed answer; a caution or an ant is four letters of its digest.
"""

from __future__ import annotations

import hashlib
import re
from base64 import b32encode
from collections.abc import Iterable

NAME = r"[a-z0-9-]{1,50}"
ANTS = r"(?:~(?P<ants>(?:[a-z2-7]{4})+))?"
CARD = re.compile(rf"wb:qc:(?P<card>{NAME})(?::(?P<colony>\d{{1,19}}))?{ANTS}")
TOPIC = re.compile(rf"wb:qt:(?P<topic>{NAME})")
PICK = re.compile(r"wb:qk")
FEEDBACK = re.compile(rf"wb:qf:(?P<said>[yn]):(?P<card>{NAME})")
HELPERS = re.compile(r"wb:qh")
POST = re.compile(rf"wb:qp:(?P<card>{NAME}):(?P<message>\d{{1,20}}):(?P<cautions>(?:[a-z2-7]{{4}})*){ANTS}")
LONGEST = 100
"""Characters of an identifier that the platform takes."""


def code(name: str) -> str:
    """Four letters for a caution or an ant, the same in every version."""
    return b32encode(hashlib.sha256(name.encode()).digest()).decode()[:4].lower()


def card(card_id: str, colony_id: int | None, ants: Iterable[str] = ()) -> str:
    """The identifier of a card's button."""
    whose = "" if colony_id is None else f":{colony_id}"
    return f"wb:qc:{card_id}{whose}{_tail(ants)}"


def _tail(ants: Iterable[str]) -> str:
    codes = "".join(map(code, ants))
    return f"~{codes}" if codes else ""


def post(card_id: str, message_id: int, caution_ids: Iterable[str], ants: Iterable[str] = ()) -> str | None:
    """The identifier of a post, or `None` where it would be too long for all cautions."""
    made = f"wb:qp:{card_id}:{message_id}:{''.join(map(code, caution_ids))}{_tail(ants)}"
    return made if len(made) <= LONGEST else None


def read(codes: str | None, known: Iterable[str]) -> tuple[str, ...]:
    """The cautions or the ants of an identifier, in its order; those that are gone are passed over."""
    if not codes:
        return ()
    by_code = {code(name): name for name in known}
    found = (codes[at : at + 4] for at in range(0, len(codes), 4))
    return tuple(by_code[one] for one in found if one in by_code)
