"""Identifiers around the season, as in `marks`: a press is read from them, and the services check who asks.

`wb:sn:<act>:<notice>` stands under a notice, `wb:sd:<act>:<notice>` on the moderators' desk, `wb:sl` picks a notice;
`wb:sp:<number>` walks through colonies, `wb:sf:<colony>:<number>` opens the form of a rest, `wb:sa` picks one that is
awake, `wb:sa:pupae` one with eggs or pupae.
"""

from __future__ import annotations

import re
from enum import StrEnum

from bot.services.season_members import Sight
from bot.services.season_records import NoticeId

ID = r"\d{1,19}"
MEMBER = re.compile(rf"wb:sn:(?P<act>plan|remind|awake|pupae|no):(?P<notice>{ID})")
DESK = re.compile(rf"wb:sd:(?P<act>[a-z]{{2,10}}):(?P<notice>{ID})")
PICK = re.compile(r"wb:sl")
WALK = re.compile(r"wb:sp:(?P<number>\d{1,3})")
FORM = re.compile(rf"wb:sf:(?P<colony>{ID}):(?P<number>\d{{1,3}})")
SEEN = re.compile(r"wb:sa(:(?P<sight>pupae))?")


class MemberAct(StrEnum):
    """What a member may press under a notice."""

    PLAN = "plan"
    REMIND = "remind"
    AWAKE = "awake"
    PUPAE = "pupae"
    NOT_FOR_ME = "no"


class DeskAct(StrEnum):
    """What a moderator may press."""

    APPROVE = "approve"
    EDIT = "edit"
    WHEN = "when"
    NOW = "now"
    DAY = "day"
    WEEK = "week"
    CANCEL = "cancel"
    RETRACT = "retract"
    DROP = "drop"
    LOOK = "look"


def member(act: MemberAct, notice: NoticeId) -> str:
    """The identifier of a member's button."""
    return f"wb:sn:{act.value}:{notice}"


def seen(sight: Sight) -> str:
    """The identifier of the picker that asks in which colony something was seen."""
    return "wb:sa" if sight is Sight.AWAKE else f"wb:sa:{sight.value}"


def is_notice(identifier: str, notice: NoticeId) -> bool:
    """Whether a button stands under this notice."""
    found = MEMBER.fullmatch(identifier)
    return found is not None and int(found["notice"]) == notice
