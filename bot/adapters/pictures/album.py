"""All pictures of a colony, and of all colonies of a household, by file name."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from unicodedata import normalize

from bot.adapters.pictures.foods import draw_foods
from bot.adapters.pictures.growth import draw_growth
from bot.adapters.pictures.water import draw_water
from bot.adapters.pictures.year import draw_year
from bot.care.agenda import ColonyPlan
from bot.care.handbook import Handbook
from bot.care.place import Household, Keeper, Place
from bot.services.pictures import Look, Picture


def household_pictures(
    household: Household, plans: tuple[ColonyPlan, ...], handbook: Handbook, start: date, days: int, look: Look
) -> Mapping[str, Picture]:
    """Pictures of all colonies by file name, such as `1-dusk-year.png`; `plans` in the order of the household."""
    return {
        f"{number}-{_file_name(plan.colony.name)}-{name}.png": picture
        for number, plan in enumerate(plans, start=1)
        for name, picture in colony_pictures(
            plan, household.keeper, household.place_of(plan.colony), handbook, start, days=days, look=look
        ).items()
    }


def colony_pictures(
    plan: ColonyPlan,
    keeper: Keeper,
    place: Place,
    handbook: Handbook,
    start: date,
    *,
    days: int,
    look: Look = Look.LIGHT,
) -> Mapping[str, Picture]:
    """Pictures of one colony by a short name; those without anything to show are left out."""
    drawn = {
        "year": draw_year(plan, keeper, start, days, look),
        "water": draw_water(plan, keeper, place, handbook, start, look=look),
        "growth": draw_growth(plan.colony, start, look=look),
        "foods": draw_foods(plan.colony, handbook.foods, look),
    }
    return {name: picture for name, picture in drawn.items() if picture is not None}


def _file_name(name: str) -> str:
    """A name in small plain letters, for any file system."""
    plain = normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "colony"
