"""What a button means, written into its identifier and read back: the state of a message lives there, nowhere else.

`wb:a:<act>:<occurrence>:<scope>` answers one line, `wb:all:<scope>` all of them, `wb:pick:<page>:<scope>` fetches a
folded line, `wb:nest:<colony>` opens the form of a nest, `wb:hist:<colony>:<lines>:<page>` turns a page of a history,
`wb:logger:<colony>` keeps what was measured and `wb:unlog:<colony>` forgets it, `wb:draw:<picture>:<colony>` draws,
`wb:due` shows what waits, `wb:erase:<keeper>` removes everything. An identifier proves nothing: the services check
who asks.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from bot.care.duty import Outcome
from bot.services.records import DeliveryId

SCOPE = r"(?P<scope>d\d{1,19}|t|s)"
ANSWER = re.compile(rf"wb:a:(?P<act>[a-z]{{2,10}}\d?):(?P<occurrence>\d{{1,19}}):{SCOPE}")
ALL = re.compile(rf"wb:all:{SCOPE}")
PICK = re.compile(rf"wb:pick:(?P<page>\d{{1,3}}):{SCOPE}")
NEST = re.compile(r"wb:nest:(?P<colony>\d{1,19})")
ERASE = re.compile(r"wb:erase:(?P<keeper>\d{1,20})")
HISTORY = re.compile(r"wb:hist:(?P<colony>\d{1,19}):(?P<wanted>[a-z_]{3,20}):(?P<page>\d{1,5})")
MEASURED = re.compile(r"wb:logger:(?P<colony>\d{1,19})(?::[-n_0-9]{1,40})?")
FORGET_MEASURED = re.compile(r"wb:unlog:(?P<colony>\d{1,19})")
DUE = re.compile(r"wb:due")
DRAW = re.compile(r"wb:draw:(?P<picture>[a-z]{3,10}):(?P<colony>\d{1,19})")

VERDICTS = (
    Outcome.DAMP,
    Outcome.ABOUT_DRY,
    Outcome.BONE_DRY,
    Outcome.TAKEN,
    Outcome.HALF_TAKEN,
    Outcome.REFUSED,
    Outcome.GONE_QUICKLY,
    Outcome.OK,
    Outcome.WORN,
)
"""Verdicts by their number in an identifier: only ever add at the end, old messages live for years."""


class Act(StrEnum):
    """What one press on a line does."""

    DONE = "done"
    LATER = "later"
    SKIP = "skip"
    UNDO = "undo"
    TOMORROW = "tomorrow"
    WEEKEND = "weekend"
    PICK_DAY = "day"
    BACK = "back"
    VERDICT = "found"


@dataclass(frozen=True, slots=True)
class Scope:
    """Which lines a message holds: those of a delivery, everything due today (`t`), or just the ones it shows (`s`)."""

    code: str

    @property
    def delivery(self) -> DeliveryId | None:
        """The delivery, where the message is one."""
        return DeliveryId(int(self.code[1:])) if self.code.startswith("d") else None


TODAY = Scope("t")
SHOWN = Scope("s")


def of_delivery(delivery_id: DeliveryId) -> Scope:
    """The scope of a reminder."""
    return Scope(f"d{delivery_id}")


def answer(act: Act, occurrence: int, scope: Scope, verdict: Outcome | None = None) -> str:
    """The identifier of a button on a line."""
    number = "" if verdict is None else str(VERDICTS.index(verdict))
    return f"wb:a:{act.value}{number}:{occurrence}:{scope.code}"


def read_act(text: str) -> tuple[Act, Outcome | None]:
    """The act of an identifier, and its verdict.

    Raises:
        ValueError: no such act.
    """
    name = text.rstrip("0123456789")
    act = Act(name)
    if (act is Act.VERDICT) != (name != text):
        raise ValueError(f"no such act: {text}")
    return act, VERDICTS[int(text[len(name) :])] if act is Act.VERDICT else None
