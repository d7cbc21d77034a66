"""The pictures that stand beside answers, in the light look, which is readable on a dark page too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from bot.adapters.pictures.logger import draw_logger
from bot.adapters.pictures.water import draw_water
from bot.adapters.pictures.year import draw_year
from bot.care.agenda import ColonyPlan
from bot.care.handbook import Handbook
from bot.care.logger.readings import Quantity
from bot.care.place import Keeper, Place
from bot.services.loggers import LoggerView, no_band
from bot.services.pictures import Picture


@dataclass(frozen=True, slots=True)
class LightDrawings:
    """Fulfils `colony_pictures.Drawings`."""

    handbook: Handbook

    def year(self, plan: ColonyPlan, keeper: Keeper, start: date, days: int) -> Picture:
        """Phases, food, water and daylight."""
        return draw_year(plan, keeper, start, days)

    def water(self, plan: ColonyPlan, keeper: Keeper, place: Place, today: date) -> Picture:
        """How the nest dries, and the next watering."""
        return draw_water(plan, keeper, place, self.handbook, today)

    def logger(self, view: LoggerView) -> Sequence[Picture]:
        """Temperatures against the wanted band, and humidity without one."""
        return [
            draw_logger(
                view.colony.colony.name,
                series,
                view.found[quantity],
                view.wanted if quantity is Quantity.TEMPERATURE else no_band,
                view.keeper.settings,
            )
            for quantity, series in view.preview.series.items()
        ]
