"""Small values for tests: one colony, profile, place and hand-made handbook, each with `**changes` on top.

The figures are invented but plausible. They are not `config/`, and no test may take them for knowledge.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, timedelta
from typing import Any

from bot.care.colony import Amount, Brood, Colony, Nest, NestKind, Outworld
from bot.care.duty import Why
from bot.care.evidence import JUDGEMENT
from bot.care.goods import Barrier, Country, FeederCulture, Food, FoodKind, HeaterKind, Material
from bot.care.handbook import Handbook
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.place import Keeper, Place
from bot.care.situation import Situation
from bot.care.species import DormancyClass, Founding, Growth, Guild, Moisture, SpeciesProfile, WinterBrood
from bot.care.units import Band

DAY = date(2027, 6, 1)
"""The usual day of a test: a Tuesday in the active season of the north."""

TARGET_C = {
    Phase.WIND_DOWN: Band(18, 20),
    Phase.COOL_DOWN: Band(12, 15),
    Phase.REST: Band(5, 8),
    Phase.WARM_UP: Band(12, 15),
    Phase.RESUME: Band(18, 22),
}


def _material(material_id: str, capacity: float, share: float, **changes: Any) -> Material:
    base = Material(
        id=material_id,
        name=material_id.replace("-", " "),
        capacity=capacity,
        capacity_band=Band(capacity * 0.7, capacity * 1.3),
        stage_two_share=share,
        interval_days=Band(1, 14),
        rest_interval_days=Band(3, 35),
        mould_sensitivity=0.58,
    )
    return replace(base, **changes)


MATERIALS = (
    _material("aac", 0.30, 0.6, interval_days=Band(2, 30), rest_interval_days=Band(5, 60), lime_based=True),
    _material("plaster", 0.40, 0.3),
    _material("grout", 0.20, 0.4, lime_based=True),
    _material("sand", 0.10, 0.3),
    _material(
        "acrylic",
        0.80,
        0.1,
        interval_days=Band(2, 30),
        rest_interval_days=Band(2, 60),
        mould_sensitivity=0.03,
        reservoir=True,
    ),
    _material("cork", 0.02, 0.3, mould_sensitivity=1.0),
)

BARRIERS = (
    Barrier(id="ptfe", name="PTFE dispersion", check_days=7, renew_days=56, humidity_sensitive=True),
    Barrier(id="talc", name="talc paste", check_days=7, renew_days=21, humidity_sensitive=True),
    Barrier(id="oil", name="oil", check_days=3, renew_days=10, humidity_sensitive=False),
    Barrier(id="moat", name="water moat", check_days=2, renew_days=None, humidity_sensitive=False),
    Barrier(id="lid", name="lid and mesh", check_days=7, renew_days=None, humidity_sensitive=False),
)

HEATERS = (
    HeaterKind(id="heat-cable", name="heat cable", assumed_rise_c=5, check_days=7),
    HeaterKind(id="heat-mat", name="heat mat", assumed_rise_c=12, check_days=7),
    HeaterKind(id="heat-lamp", name="heat lamp", assumed_rise_c=None, check_days=7),
)

FOODS = (
    Food(id="sugar-water", name="sugar water", kind=FoodKind.SUGAR, sugar_percent=25, open_hours=24),
    Food(id="honey-water", name="honey water", kind=FoodKind.SUGAR, sugar_percent=30, open_hours=24),
    Food(
        id="fruit-fly",
        name="fruit fly",
        kind=FoodKind.PREY,
        item_g=0.001,
        item_band_g=Band(0.0008, 0.0013),
        water_percent=70,
        protein_percent=20,
        fat_percent=6,
        energy_dry=5.0,
    ),
    Food(
        id="mealworm",
        name="mealworm",
        kind=FoodKind.PREY,
        item_g=0.10,
        item_band_g=Band(0.07, 0.13),
        water_percent=62,
        protein_percent=19,
        fat_percent=13,
        energy_dry=5.5,
    ),
    Food(
        id="cricket",
        name="cricket",
        kind=FoodKind.PREY,
        item_g=0.3,
        item_band_g=Band(0.1, 0.5),
        water_percent=70,
        protein_percent=20,
        fat_percent=6,
        energy_dry=5.0,
    ),
    Food(id="small-seeds", name="small seeds", kind=FoodKind.SEEDS, item_g=0.001),
    Food(id="bramble-leaves", name="bramble leaves", kind=FoodKind.LEAVES, item_g=0.2),
)

FEEDERS = (
    FeederCulture(
        id="mealworm",
        name="mealworm",
        threshold_c=12,
        degree_days=1000,
        stop_c=10,
        best_c=Band(25, 28),
        care_days=7,
        tasks="Add oats and a slice of carrot, take out what is wet or dead.",
    ),
)

COUNTRIES = (
    Country(code="DE", name="Germany", emergency="112", law_caution=None),
    Country(code="AU", name="Australia", emergency="000", law_caution=None),
)


def profile(**changes: Any) -> SpeciesProfile:
    """A temperate black garden ant with round figures."""
    base = SpeciesProfile(
        name="Lasius niger",
        genus="Lasius",
        rank="species",
        dormancy=DormancyClass.EXO,
        hemispheres=("north",),
        rest_target_c=6,
        rest_band_c=Band(5, 8),
        rest_weeks=Band(14, 20),
        rest_floor_weeks=8,
        winter_brood=WinterBrood.LARVAE,
        founding=(Founding.CLAUSTRAL,),
        guilds=(Guild.HONEYDEW, Guild.GENERALIST),
        moisture=Moisture.MEDIUM,
        active_c=Band(21, 27),
        worker_mm=Band(3, 5),
        worker_mg=2.0,
        colony_size=Band(3000, 15000),
        hazard=0,
        climbs_smooth=True,
        growth=Growth.MODERATE,
    )
    return replace(base, **changes)


def handbook(**changes: Any) -> Handbook:
    """A handbook with one profile and a handful of goods; it holds no cautions and no sources."""
    lasius = profile()
    base = Handbook(
        species={lasius.name: lasius},
        materials={material.id: material for material in MATERIALS},
        barriers={barrier.id: barrier for barrier in BARRIERS},
        heaters={heater.id: heater for heater in HEATERS},
        foods={food.id: food for food in FOODS},
        feeders={culture.id: culture for culture in FEEDERS},
        cautions={},
        sources={},
        countries={country.code: country for country in COUNTRIES},
        names={lasius.name.casefold(): lasius.name},
    )
    return replace(base, **changes)


def nest(**changes: Any) -> Nest:
    """A nest of aerated concrete: 60 ml a side, 150 cm2, glass on top."""
    base = Nest(kind=NestKind.NEST, material="aac", water_ml=60, wetted_cm2=150, openness=0.4, volume_cm3=200)
    return replace(base, **changes)


def colony(**changes: Any) -> Colony:
    """Eighty workers with some brood in an aerated concrete nest with an outworld."""
    base = Colony(
        key="colony-1",
        name="Dusk",
        species="Lasius niger",
        workers=80,
        brood=Brood(level=Amount.SOME),
        nest=nest(),
        outworld=Outworld(barrier="ptfe"),
        founded=DAY - timedelta(days=700),
        arrived=DAY - timedelta(days=600),
    )
    return replace(base, **changes)


def keeper(**changes: Any) -> Keeper:
    """A keeper in the north whose clock runs on UTC."""
    return replace(Keeper(zone_name="UTC", zone=UTC, latitude=50.0), **changes)


def place(**changes: Any) -> Place:
    """A heated room, measured."""
    return replace(Place(temperature_c=24, humidity_percent=50), **changes)


def rest_plan(phase: Phase = Phase.ACTIVE, day: date = DAY, temperature_c: Band | None = None) -> RestPlan:
    """A plan that stands in `phase` on `day`, since ten days and for fifty more; without phases while active."""
    explained = Why(rule="a plan made up for a test", evidence=JUDGEMENT)
    if phase is Phase.ACTIVE:
        return RestPlan(needed=False, why="made up for a test", explained=explained)
    target = TARGET_C[phase] if temperature_c is None else temperature_c
    span = PhaseSpan(phase, day - timedelta(days=10), day + timedelta(days=50), target)
    return RestPlan(needed=True, why="made up for a test", explained=explained, phases=(span,))


def situation(*, phase: Phase = Phase.ACTIVE, **changes: Any) -> Situation:
    """The usual colony on the usual day; `phase` brings a matching rest plan unless `rest` is given."""
    day = changes.get("day", DAY)
    base = Situation(
        colony=colony(),
        profile=profile(),
        place=place(),
        keeper=keeper(),
        handbook=handbook(),
        day=day,
        rest=rest_plan(phase, day),
    )
    return replace(base, **changes)
