"""Everything the chat adapter calls, as one plain value that the composition root builds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bot.care.answers.guide import Guide
from bot.care.handbook import Handbook
from bot.care.season.language import Languages
from bot.services.absence import Absence
from bot.services.acknowledgement import Acknowledgement
from bot.services.asking import Asking
from bot.services.calendars import Calendars
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies
from bot.services.colony_pictures import ColonyPictures
from bot.services.cultures import Cultures
from bot.services.feedback import Feedback
from bot.services.handover import Handover
from bot.services.history import History
from bot.services.keepers import Keepers
from bot.services.line_answers import LineAnswers
from bot.services.loggers import Loggers
from bot.services.own_data import OwnDataUseCases
from bot.services.ports import Clock, UnitOfWorkMaker, Zones
from bot.services.rest import Rest
from bot.services.season_pictures import Draw
from bot.services.sent_digests import SentDigests
from bot.services.sitting import Sitters


@dataclass(frozen=True, slots=True, kw_only=True)
class ChatServices:
    """Use cases and what they stand on."""

    keepers: Keepers
    colonies: Colonies
    acknowledgement: Acknowledgement
    care_views: CareViews
    rest: Rest
    history: History
    loggers: Loggers
    pictures: ColonyPictures
    calendars: Calendars
    own_data: OwnDataUseCases
    handbook: Handbook
    guide: Callable[[], Guide]
    """The cards and their search; the first call may take a second."""
    zones: Zones
    clock: Clock
    units: UnitOfWorkMaker
    languages: Languages
    """Words of season notices."""
    season_picture: Draw | None = None
    """Draws a community's figures; without it notices and `/season schedule` have words only."""

    @property
    def cultures(self) -> Cultures:
        """Feeder cultures."""
        return Cultures(self.units, self.keepers.planner, self.handbook)

    @property
    def line_answers(self) -> LineAnswers:
        """What is answered to a line, of a colony or of a culture."""
        return LineAnswers(self.units, self.acknowledgement)

    @property
    def asking(self) -> Asking:
        """Questions and their answers."""
        return Asking(self.units, self.handbook, self.guide)

    @property
    def feedback(self) -> Feedback:
        """Whether answers help."""
        return Feedback(self.units)

    @property
    def sitters(self) -> Sitters:
        """Who cares for whom."""
        return Sitters(self.units, self.keepers.planner, self.handbook)

    @property
    def handover(self) -> Handover:
        """Colonies that change hands."""
        return Handover(self.units, self.keepers.planner, self.handbook)

    @property
    def absence(self) -> Absence:
        """Going away and coming back."""
        return Absence(self.units, self.keepers.planner)

    @property
    def sent_digests(self) -> SentDigests:
        """What became of the lines of a message."""
        return SentDigests(units=self.units, handbook=self.handbook)
