"""The doors to the pictures, for services that are built at the start.

The drawing library takes longer to import than the rest of the bot and holds a third of its memory, so that the first
picture imports it, not the start.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.colony import Colony
from bot.care.growth.first_workers import FirstWorkers
from bot.care.handbook import Handbook
from bot.care.logger.readings import Quantity
from bot.care.place import Household, Keeper, Place
from bot.care.season.figures import GroupFigures
from bot.care.season.language import SeasonWords
from bot.services.loggers import LoggerView, no_band
from bot.services.pictures import Look, Picture
from bot.services.planner import place_of
from bot.services.records import ColonyRecord, KeeperRecord

YEAR_DAYS = 365


@dataclass(frozen=True, slots=True)
class LightDrawings:
    """Pictures beside answers: in the light look, readable on a dark page too. Fulfils `colony_pictures.Drawings`."""

    handbook: Handbook

    def year(self, plan: ColonyPlan, keeper: Keeper, start: date, days: int) -> Picture:
        """Phases, food, water and daylight."""
        from bot.adapters.pictures.year import draw_year

        return draw_year(plan, keeper, start, days)

    def water(self, plan: ColonyPlan, keeper: Keeper, place: Place, today: date) -> Picture:
        """How the nest dries, and the next watering."""
        from bot.adapters.pictures.water import draw_water

        return draw_water(plan, keeper, place, self.handbook, today)

    def growth(self, colony: Colony, today: date, expected: FirstWorkers | None) -> Picture | None:
        """Counts with their trend."""
        from bot.adapters.pictures.growth import draw_growth

        return draw_growth(colony, today, expected)

    def foods(self, colony: Colony) -> Picture | None:
        """Foods liked and refused."""
        from bot.adapters.pictures.foods import draw_foods

        return draw_foods(colony, self.handbook.foods)

    def logger(self, view: LoggerView) -> Sequence[Picture]:
        """Temperatures against the wanted band, and humidity without one."""
        from bot.adapters.pictures.logger import draw_logger

        return [
            draw_logger(
                f"{view.colony.colony.name}, {view.spot.value}",
                series,
                view.found[quantity],
                view.wanted if quantity is Quantity.TEMPERATURE else no_band,
                view.keeper.settings,
            )
            for quantity, series in view.series.items()
        ]


@dataclass(frozen=True, slots=True)
class ColonyAlbum:
    """All pictures of a colony, for a keeper who takes their data along. Fulfils `own_data.Album`."""

    handbook: Handbook

    def __call__(self, keeper: KeeperRecord, colony: ColonyRecord, today: date) -> Mapping[str, Picture]:
        """The year ahead, the water, and growth and foods where something was recorded."""
        from bot.adapters.pictures.album import colony_pictures

        settings, place = keeper.settings, place_of(keeper, colony)
        plan = plan_colony(colony.colony, settings, place, self.handbook, today, YEAR_DAYS)
        return colony_pictures(plan, settings, place, self.handbook, today, days=YEAR_DAYS)


def household_album(
    household: Household, plans: Sequence[ColonyPlan], handbook: Handbook, start: date, days: int
) -> Mapping[str, Picture]:
    """All pictures of a household by file name; `plans` in the order of its colonies."""
    from bot.adapters.pictures.album import household_pictures

    return household_pictures(household, tuple(plans), handbook, start, days, Look.LIGHT)


def season_picture(figures: Sequence[GroupFigures], today: date, words: SeasonWords) -> Picture | None:
    """The weeks of a community's winter rests; `None` when no week may be shown."""
    from bot.adapters.pictures.season import draw_season

    return draw_season(figures, today, words)
