"""Identifiers of buttons between members, as in `marks`: they prove nothing, the services check who asks.

`wb:back:<scope>` and `wb:wait:<scope>` stand under reminders, `wb:sit:<act>:<sitting>` under a sitting,
`wb:give:<act>:<offer>` under an offer, `wb:hand:<colony>:<member>` asks the giver to confirm.
"""

from __future__ import annotations

import re
from enum import StrEnum

from bot.adapters.chat.marks import SCOPE

ID = r"\d{1,19}"
BACK = re.compile(rf"wb:back:{SCOPE}")
WAITING = re.compile(rf"wb:wait:{SCOPE}")
SITTING = re.compile(rf"wb:sit:(?P<act>yes|no|stop):(?P<sitting>{ID})")
OFFER = re.compile(rf"wb:give:(?P<act>yes|no):(?P<offer>{ID})")
CONFIRM = re.compile(rf"wb:hand:(?P<colony>{ID}):(?P<member>{ID})")


class Answer(StrEnum):
    """What somebody says to a question."""

    YES = "yes"
    NO = "no"
    STOP = "stop"
