"""When the watered side of a nest is nearly dry: the inputs of one nest with their defaults, and the forecast.

Physics: `physics/drying.py`. Defaults of area, openness and tube size, and the limits in days, are judgement; the
keeper's own waterings correct them through one learned factor (`water/log.py`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, sqrt

from bot.care.colony import Amount, Colony, LearnedDrying, Nest, NestKind
from bot.care.duty import Input
from bot.care.goods import Material
from bot.care.once import once
from bot.care.phase import COLD_PHASES, Phase
from bot.care.physics.drying import Warmth, days_until, nest_loss, tube_loss, water_curve
from bot.care.situation import Situation
from bot.care.species import Moisture
from bot.care.units import Band, say_temperature
from bot.care.water.room_air import RoomAir, room_air

UNKNOWN_MATERIAL = Material(
    id="unknown",
    name="not said",
    capacity=0.40,
    capacity_band=Band(0.1, 0.6),
    stage_two_share=0.3,
    interval_days=Band(1, 14),
    rest_interval_days=Band(3, 35),
    mould_sensitivity=0.58,
)
"""Stands in until the keeper names the material; dries like plaster, which is early rather than late."""
TUBE_MATERIAL = replace(
    UNKNOWN_MATERIAL,
    id="tube",
    name="tube with cotton",
    capacity=0.8,
    stage_two_share=0.1,
    interval_days=Band(1, 120),
    rest_interval_days=Band(1, 120),
    mould_sensitivity=1.0,
)
"""Stands in where the handbook has no material `tube`."""
DEFAULT_WATER_ML = {NestKind.TUBE: 7.5, NestKind.NEST: 20.0, NestKind.NATURALISTIC: 50.0}
DEFAULT_BORE_MM = 14.0
TUBE_PATH_CM = 10.0
TUBE_STIRRING = 2.0
"""An open tube that ants walk through loses about twice what diffusion alone would take."""
DEFAULT_WARM_SHARE = 0.3
HALF_LASTS_DAYS = 7.0
"""Half the water in the cold only where it lasts so long (judgement): else hands would come more often than before."""
WATER_ML = Band(0.5, 500)
AREA_CM2 = Band(2, 2000)
OPENNESS = Band(0.02, 1)
FACTOR = Band(0.15, 6)
"""Limits of the learned factor."""
MODEL_SPREAD = 0.25
Z_80 = 1.2816
"""A band of 80 % reaches this many standard deviations to either side."""
Z_20 = 0.8416


@dataclass(frozen=True, slots=True, kw_only=True)
class NestWater:
    """One nest as the model sees it. `dry_share` is the share of the water at which the side counts as nearly dry."""

    material: Material
    water_ml: float
    dry_share: float
    loss: float
    """g/day while wet, before anything was learned."""
    heat_ratio: float
    """Loss with the heater over loss without it."""
    limits: Band
    inputs: tuple[Input, ...]
    sized: bool
    """False when both water and area are defaults."""
    halved: bool = False
    """The cold: half the usual water, because that lasts."""

    @property
    def model_days(self) -> float:
        """Days until nearly dry by the model alone, without limits of practice."""
        return days_until(self.water_ml, self.loss, self.material.stage_two_share, self.dry_share, Band(0, 1000))


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingForecast:
    """When the watered side is nearly dry, in days after it was watered; `early` to `late` is the 80 % band."""

    days: float
    early: float
    late: float
    look_days: float
    """A first look pays from here (20 % quantile)."""
    overdue_days: float
    """Look by now at the latest (80 % quantile)."""
    grams_a_day: float
    heat_ratio: float
    water_ml: float
    dry_share: float
    inputs: tuple[Input, ...]
    stage_two_share: float
    sized: bool
    """False when both water and area are defaults."""
    halved: bool
    """Half the usual water is meant, for the cold."""
    limited: bool
    """True when the answer was moved to what practice calls possible for the material."""

    @property
    def curve(self) -> tuple[tuple[float, float], ...]:
        """(day, ml left) for a picture, from the watering until `late`."""
        shares = water_curve(self.days, self.stage_two_share, self.dry_share, self.late)
        return tuple((day, share * self.water_ml) for day, share in shares)

    @property
    def defaulted(self) -> tuple[str, ...]:
        """Labels of the inputs that nobody has told or measured."""
        return tuple(value.label for value in self.inputs if value.defaulted)


def fresh_learning(water: NestWater) -> LearnedDrying:
    """What is known of a nest before its first observed watering; wider when its size is a default."""
    return LearnedDrying(0.0, 0.36 if water.sized else 0.5625)


@once
def forecast_drying(
    situation: Situation, learned: LearnedDrying | None = None, outdoor_c: float | None = None
) -> DryingForecast:
    """Forecast for the side that was watered last, at the air and heat of this day.

    `outdoor_c` is the outdoor daily mean where it is known; it only fills in for a room that was not measured.
    """
    water = nest_water(situation, outdoor_c)
    known = fresh_learning(water) if learned is None else learned
    factor = FACTOR.clamp(exp(known.mean))
    raw = water.model_days / factor
    spread = sqrt(known.variance + MODEL_SPREAD**2)
    clamp = water.limits.clamp
    days = clamp(raw)
    return DryingForecast(
        days=days,
        early=clamp(raw * exp(-Z_80 * spread)),
        late=clamp(raw * exp(Z_80 * spread)),
        look_days=clamp(raw * exp(-Z_20 * spread)),
        overdue_days=clamp(raw * exp(Z_20 * spread)),
        grams_a_day=water.loss * factor,
        heat_ratio=water.heat_ratio,
        water_ml=water.water_ml,
        dry_share=water.dry_share,
        inputs=water.inputs,
        stage_two_share=water.material.stage_two_share,
        sized=water.sized,
        halved=water.halved,
        limited=days != raw,
    )


@once
def nest_water(situation: Situation, outdoor_c: float | None = None) -> NestWater:
    """The inputs of the model for a situation, with defaults, limits and how each is explained.

    In the cold half the water is given, unless half of it would not even last a week.
    """
    air = room_air(situation, outdoor_c)
    if situation.phase not in COLD_PHASES or situation.colony.nest.kind is NestKind.TUBE:
        return _nest_water(situation, air, share=1.0)
    half = _nest_water(situation, air, share=0.5)
    return half if half.model_days >= HALF_LASTS_DAYS else _nest_water(situation, air, share=1.0)


def _nest_water(situation: Situation, air: RoomAir, share: float) -> NestWater:
    nest = situation.colony.nest
    material = material_of(situation)
    water_ml, water_input = _water(situation, material, share)
    shown = (Input("nest", material.name, material is UNKNOWN_MATERIAL), water_input)
    cold = situation.phase in COLD_PHASES
    if nest.kind is NestKind.TUBE:
        bore = DEFAULT_BORE_MM if nest.bore_mm is None else nest.bore_mm
        loss, ratio, sized = tube_loss(air.air, bore, TUBE_PATH_CM, TUBE_STIRRING), 1.0, nest.water_ml is not None
        parts: tuple[Input, ...] = (Input("inner width of the tube", f"{bore:g} mm", nest.bore_mm is None),)
    else:
        loss, ratio, sized, parts = _faces(situation, material, water_ml, air)
    return NestWater(
        material=material,
        water_ml=water_ml,
        dry_share=dry_share(situation),
        loss=loss,
        heat_ratio=ratio,
        limits=material.rest_interval_days if cold else material.interval_days,
        inputs=(*air.inputs, *shown, *parts),
        sized=sized,
        halved=share < 1,
    )


def material_of(situation: Situation) -> Material:
    """The nest's material; a stand-in for tubes and for materials that were never said."""
    nest = situation.colony.nest
    if nest.kind is NestKind.TUBE:
        return situation.handbook.materials.get(TUBE_MATERIAL.id, TUBE_MATERIAL)
    return situation.handbook.materials.get(nest.material or "", UNKNOWN_MATERIAL)


def may_have_brood(colony: Colony) -> bool:
    """Whether to plan as if brood lies on the damp side; brood nobody has looked for counts as there."""
    return colony.brood.level is not Amount.NONE or True in {colony.brood.larvae, colony.brood.pupae, colony.brood.eggs}


def dry_share(situation: Situation) -> float:
    """Share of the water left when a side counts as nearly dry: more for moisture-loving ants and growing brood."""
    brood = may_have_brood(situation.colony) and situation.phase not in COLD_PHASES
    return 0.25 if brood or situation.profile.moisture is Moisture.HUMID else 0.15


def _water(situation: Situation, material: Material, share: float) -> tuple[float, Input]:
    """Water of one watering in ml: `share` of what the keeper said, else to fit the area, else a default."""
    nest = situation.colony.nest
    if nest.water_ml is not None:
        amount = nest.water_ml
    elif nest.wetted_cm2 is not None and nest.kind is not NestKind.TUBE:
        amount = material.capacity * (nest.wetted_cm2 / 3) ** 1.5
    else:
        amount = DEFAULT_WATER_ML[nest.kind]
    amount = WATER_ML.clamp(amount * share)
    label = "water at one watering (half, for the cold)" if share < 1 else "water at one watering"
    if nest.kind is NestKind.TUBE:
        label = "water in the tube"
    return amount, Input(label, f"{amount:.3g} ml", nest.water_ml is None)


def default_area(water_ml: float, capacity: float) -> float:
    """Wetted area in cm2 that faces the room, for a block that holds the water: three faces of a cube (judgement)."""
    return float(3 * (water_ml / max(capacity, 0.02)) ** (2 / 3))


def _default_area(nest: Nest, material: Material, water_ml: float) -> float:
    """The wetted area of a block that holds the water, but no more than one side of the chambers can have.

    A side of chambers about a centimetre high has at most as many cm2 of floor and walls as the nest has cm3.
    """
    area = default_area(water_ml, material.capacity)
    return area if nest.volume_cm3 is None else min(area, nest.volume_cm3)


def _faces(
    situation: Situation, material: Material, water_ml: float, air: RoomAir
) -> tuple[float, float, bool, tuple[Input, ...]]:
    """Loss in g/day, heat ratio, whether anything of the size was said, and the inputs behind them."""
    nest = situation.colony.nest
    area = AREA_CM2.clamp(_default_area(nest, material, water_ml) if nest.wetted_cm2 is None else nest.wetted_cm2)
    openness = OPENNESS.clamp(_default_openness(nest.kind, material) if nest.openness is None else nest.openness)
    warmth = warmth_of(situation)
    cool = nest_loss(air.air, area, openness)
    loss = nest_loss(air.air, area, openness, warmth)
    inputs = [
        Input("wetted area", f"{area:.0f} cm²", nest.wetted_cm2 is None),
        Input("share of it open to the room", f"{openness * 100:.0f} %", nest.openness is None),
    ]
    heater = situation.colony.heater
    if warmth is not None and heater is not None:
        wall = f"{say_temperature(warmth.wall_c, situation.keeper.units)} on {warmth.share * 100:.0f} % of the area"
        inputs.append(Input("warm wall", wall, heater.hot_c is None or heater.share is None))
    said = nest.water_ml is not None or nest.wetted_cm2 is not None
    return loss, loss / cool if cool > 0 else 1.0, said, tuple(inputs)


def _default_openness(kind: NestKind, material: Material) -> float:
    if material.reservoir:
        return 0.15
    return 0.5 if kind is NestKind.NATURALISTIC else 0.4


def warmth_of(situation: Situation) -> Warmth | None:
    """The heater as the drying model takes it; `None` outside the active season or where it warms nothing."""
    heater = situation.colony.heater
    if heater is None or situation.phase is not Phase.ACTIVE:
        return None
    wall = min(situation.warm_c, situation.room_c + 20, 40.0)
    if wall <= situation.room_c:
        return None
    share = DEFAULT_WARM_SHARE if heater.share is None else Band(0, 1).clamp(heater.share)
    return Warmth(wall, share, heater.watts)
