"""Identifiers around answers, as in `marks`: cards, topics, cautions, and whose is checked.

`wb:qc:<card>` shows a card; with `:<colony>` behind it, for the colony that was named, if it is the presser's own.
`wb:qt:<topic>` shows a topic, `wb:qk` picks a card, `wb:qf:<y|n>:<card>` counts, `wb:qh` hands a question over,
`wb:qp:<card>:<message>:<cautions>` posts a previewed answer; a caution is four letters of its digest.
"""

from __future__ import annotations

import hashlib
import re
from base64 import b32encode
from collections.abc import Iterable

NAME = r"[a-z0-9-]{1,50}"
CARD = re.compile(rf"wb:qc:(?P<card>{NAME})(?::(?P<colony>\d{{1,19}}))?")
TOPIC = re.compile(rf"wb:qt:(?P<topic>{NAME})")
PICK = re.compile(r"wb:qk")
FEEDBACK = re.compile(rf"wb:qf:(?P<said>[yn]):(?P<card>{NAME})")
HELPERS = re.compile(r"wb:qh")
POST = re.compile(rf"wb:qp:(?P<card>{NAME}):(?P<message>\d{{1,20}}):(?P<cautions>(?:[a-z2-7]{{4}})*)")
LONGEST = 100
"""Characters of an identifier that the platform takes."""


def code(caution_id: str) -> str:
    """Four letters for a caution, the same in every version."""
    return b32encode(hashlib.sha256(caution_id.encode()).digest()).decode()[:4].lower()


def card(card_id: str, colony_id: int | None) -> str:
    """The identifier of a card's button."""
    return f"wb:qc:{card_id}" if colony_id is None else f"wb:qc:{card_id}:{colony_id}"


def post(card_id: str, message_id: int, caution_ids: Iterable[str]) -> str | None:
    """The identifier of a post, or `None` where it would be too long for all cautions."""
    made = f"wb:qp:{card_id}:{message_id}:{''.join(map(code, caution_ids))}"
    return made if len(made) <= LONGEST else None


def read_cautions(codes: str, known: Iterable[str]) -> tuple[str, ...]:
    """The cautions of an identifier, in its order; those that are gone are passed over."""
    by_code = {code(caution_id): caution_id for caution_id in known}
    found = (codes[at : at + 4] for at in range(0, len(codes), 4))
    return tuple(by_code[one] for one in found if one in by_code)
