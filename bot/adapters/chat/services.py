"""Everything the chat adapter calls, as one plain value that the composition root builds."""

from __future__ import annotations

from dataclasses import dataclass

from bot.care.handbook import Handbook
from bot.services.acknowledgement import Acknowledgement
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies
from bot.services.keepers import Keepers
from bot.services.ports import Clock, UnitOfWorkMaker, Zones
from bot.services.rest import Rest
from bot.services.sent_digests import SentDigests


@dataclass(frozen=True, slots=True, kw_only=True)
class ChatServices:
    """Use cases and what they stand on."""

    keepers: Keepers
    colonies: Colonies
    acknowledgement: Acknowledgement
    care_views: CareViews
    rest: Rest
    handbook: Handbook
    zones: Zones
    clock: Clock
    units: UnitOfWorkMaker

    @property
    def sent_digests(self) -> SentDigests:
        """What became of the lines of a message."""
        return SentDigests(units=self.units, handbook=self.handbook)
