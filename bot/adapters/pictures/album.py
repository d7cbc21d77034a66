"""All pictures of one colony, for a keeper who takes their data along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from bot.adapters.pictures.foods import draw_foods
from bot.adapters.pictures.growth import draw_growth
from bot.adapters.pictures.water import draw_water
from bot.adapters.pictures.year import draw_year
from bot.care.agenda import plan_colony
from bot.care.handbook import Handbook
from bot.services.pictures import Picture
from bot.services.planner import place_of
from bot.services.records import ColonyRecord, KeeperRecord

YEAR_DAYS = 365


@dataclass(frozen=True, slots=True)
class ColonyAlbum:
    """Fulfils `own_data.Album`."""

    handbook: Handbook

    def __call__(self, keeper: KeeperRecord, colony: ColonyRecord, today: date) -> Mapping[str, Picture]:
        """The year ahead, the water, and growth and foods where something was recorded."""
        settings, place = keeper.settings, place_of(keeper, colony)
        plan = plan_colony(colony.colony, settings, place, self.handbook, today, YEAR_DAYS)
        drawn = {
            "year": draw_year(plan, settings, today, YEAR_DAYS),
            "water": draw_water(plan, settings, place, self.handbook, today),
            "growth": draw_growth(colony.colony, today),
            "foods": draw_foods(colony.colony, self.handbook.foods),
        }
        return {name: picture for name, picture in drawn.items() if picture is not None}
