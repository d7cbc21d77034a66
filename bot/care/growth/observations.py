"""What a keeper sees beside the plan: under which duty it is kept, which cautions it brings, and when deaths are many.

That a tenth of the workers is alarming is common practice for a winter rest, without a published source; taking it for
any week of the year, and from two dead ants on, is our judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty, Outcome

CARRIER: Mapping[Outcome, Duty] = {
    Outcome.EGGS: Duty.SPACE,
    Outcome.PUPAE: Duty.SPACE,
    Outcome.ALATES: Duty.SPACE,
    Outcome.AWAKE: Duty.SPACE,
    Outcome.CLUSTERED: Duty.SPACE,
    Outcome.NOTED: Duty.SPACE,
    Outcome.DEATHS: Duty.WASTE,
    Outcome.MITES: Duty.WASTE,
    Outcome.MOULD: Duty.NEST_CHANGE,
}
"""Every entry of a log stands under a duty; these are rare ones, so that observations crowd nothing else out. Mould
stands where a fresh nest is decided."""

CAUTIONS: Mapping[Outcome, tuple[str, ...]] = {
    Outcome.EGGS: ("STRESS-QUIET",),
    Outcome.MOULD: ("MOULD-SPECK", "PST-09"),
    Outcome.MITES: ("PST-07", "PST-11"),
    Outcome.ALATES: ("BAR-10", "LAW-10"),
}
DEATH_CAUTIONS = ("PST-01", "PST-02", "PST-03", "HEAT-SUN", "WATER", "PST-07", "UNSURE-CAUSE")
CHECKS = (
    "Is there water in the nest, on the side that should have it? Look before anything else.",
    "How warm is the nest wall, and can the sun reach the nest at any hour?",
    "Was anything sprayed, plugged in or put on a pet, in this room or on the hands that went in?",
    "What did they eat last, and where did it come from? Take it out, and keep the rest of that batch from them.",
    "Do small dots move on ants or waste? Take a sharp photo.",
    "Is something mouldy, or does the nest smell?",
    "Are the dead old workers on the waste heap, or lying where they fell, and is the queen well?",
)
"""In the order in which they are looked at: what kills fastest first."""

WEEK = timedelta(days=7)
MANY_SHARE = 0.1
FEWEST = 2


@dataclass(frozen=True, slots=True)
class Losses:
    """Dead ants of one week against the workers of the colony; `dead` is `None` where nobody counted."""

    dead: int | None
    workers: int

    @property
    def alarming(self) -> bool:
        """Whether it is more than usual; where nobody counted, it may be."""
        if self.dead is None:
            return True
        return self.dead >= FEWEST and self.dead > MANY_SHARE * max(self.workers, self.dead)

    @property
    def sentence(self) -> str:
        """What the count means."""
        if self.dead is None:
            return "Nobody counted the dead, so go through the list to be sure; a number helps me next time."
        many = f"{self.dead} dead within a week, with about {self.workers} workers known"
        if self.alarming:
            return f"That is more than usual: {many}. More than a tenth in a week is a reason to look closely."
        return f"That is within the usual: {many}. Workers grow old and die; more than a tenth in a week would be many."


def losses(colony: Colony, log: Iterable[LogEntry], day: date) -> Losses:
    """Deaths of the week that ends on a day."""
    found = [entry for entry in log if entry.outcome is Outcome.DEATHS and day - WEEK < entry.day <= day]
    counts = [entry.count for entry in found if entry.count is not None]
    return Losses(sum(counts) if counts else None, colony.workers)
