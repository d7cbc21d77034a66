"""What a keeper says of a colony, applied to it: only that changes. Temperatures come in the keeper's scale."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from bot.adapters.chat.presenters.text import short
from bot.adapters.chat.reading import read_day
from bot.care.colony import Amount, Brood, Colony, Heater, Nest, NestKind, Outworld, Stage
from bot.care.errors import BadValueError
from bot.care.units import Units, celsius

NO_HEATER = "none"
TUBE = "tube"
"""Id of the material that is no nest but a tube."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Options of `/colony add` and `/colony edit`; `None` was not said."""

    name: str | None = None
    species: str | None = None
    workers: int | None = None
    queens: int | None = None
    brood: str | None = None
    stage: str | None = None
    founded: str | None = None
    material: str | None = None
    water_ml: float | None = None
    barrier: str | None = None
    barrier_renewed: str | None = None
    heater: str | None = None
    heater_temperature: float | None = None


def applied(colony: Colony, said: Said, units: Units, today: date) -> Colony:
    """The colony with what was said.

    Raises:
        BadValueError: a day that cannot be read, a number that cannot be.
    """
    return replace(
        colony,
        name=colony.name if said.name is None else said.name,
        species=said.species or colony.species,
        workers=colony.workers if said.workers is None else said.workers,
        queens=colony.queens if said.queens is None else said.queens,
        brood=colony.brood if said.brood is None else Brood(level=Amount(said.brood)),
        stage=colony.stage if said.stage is None else Stage(said.stage),
        founded=colony.founded if said.founded is None else read_day(said.founded, today),
        nest=with_nest(colony.nest, material=said.material, water_ml=said.water_ml),
        outworld=_outworld(colony.outworld, said, today),
        heater=_heater(colony.heater, said, units),
    )


def with_nest(
    nest: Nest,
    *,
    material: str | None = None,
    water_ml: float | None = None,
    wetted_cm2: float | None = None,
    openness: float | None = None,
    volume_cm3: float | None = None,
) -> Nest:
    """The nest with what was said; naming a material makes a tube a nest."""
    kind = nest.kind
    if material is not None and kind is not NestKind.NATURALISTIC:
        kind = NestKind.TUBE if material == TUBE else NestKind.NEST
    return replace(
        nest,
        kind=kind,
        material=material or nest.material,
        water_ml=nest.water_ml if water_ml is None else water_ml,
        wetted_cm2=nest.wetted_cm2 if wetted_cm2 is None else wetted_cm2,
        openness=nest.openness if openness is None else openness,
        volume_cm3=nest.volume_cm3 if volume_cm3 is None else volume_cm3,
    )


def _outworld(old: Outworld | None, said: Said, today: date) -> Outworld | None:
    if said.barrier is None and said.barrier_renewed is None:
        return old
    base = old or Outworld()
    renewed = base.renewed if said.barrier_renewed is None else read_day(said.barrier_renewed, today)
    return replace(base, barrier=said.barrier or base.barrier, renewed=renewed)


def _heater(old: Heater | None, said: Said, units: Units) -> Heater | None:
    if said.heater == NO_HEATER:
        return None
    if said.heater is None and said.heater_temperature is None:
        return old
    base = old or Heater()
    hot = base.hot_c if said.heater_temperature is None else celsius(said.heater_temperature, units)
    return replace(base, kind=said.heater or base.kind, hot_c=hot)


def read_number(field: str, text: str) -> float | None:
    """A number typed into a form; nothing typed is nothing said.

    Raises:
        BadValueError: anything that is no number.
    """
    tidy = text.strip().replace(",", ".")
    if not tidy:
        return None
    try:
        value = float(tidy)
    except ValueError:
        value = float("nan")
    if not abs(value) < 1e9:
        raise BadValueError(field, f"“{short(text, 30)}” is no number I can read; write it like 12 or 2.5.")
    return value
