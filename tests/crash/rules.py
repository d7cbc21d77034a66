"""What the loopback platform is told to do wrong, and when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Route = Literal["login", "door", "message", "history", "thread", "commands", "callback", "edit"]


@dataclass(slots=True, kw_only=True)
class Rule:
    """Trouble at the `nth` request of a route from now on; used up then, unless it `stays`."""

    route: Route
    nth: int = 1
    stays: bool = False
    done_first: bool = False
    """Do what was asked, then make the trouble: a message is stored, but its sender does not learn of it."""
    delay: float = 0.0
    status: int | None = None
    """Answer with this."""
    code: int = 0
    retry_after: float | None = None
    via: bool = True
    """Whether the answer comes from the platform itself, and not from a ban in front of it."""
    reset: bool = False
    """Cut the connection."""
    kill: int | None = None
    """Kill this process without warning."""
    kill_after: float | None = None
    """Seconds after the answer, instead of before it."""
    empty_bucket: float | None = None
    """Say that the allowance of this route is used up for so many seconds."""

    def meets(self, route: Route) -> bool:
        """Count a request; whether this is the one."""
        if route != self.route:
            return False
        self.nth -= 1
        return self.nth == 0 or (self.stays and self.nth < 0)
