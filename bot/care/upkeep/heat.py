"""Heat: how warm the warm wall may get, and when the heater is looked at.

Limits of 30, 32 and 35 °C are judgement from published brood losses (eggs of the Argentine ant all die at 32 °C, Abril
et al. 2010); a species with an alarm of its own moves all three.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum

from bot.care.duty import Duty, Input, Urgency, Why
from bot.care.evidence import Confidence, Evidence
from bot.care.goods import HeaterKind
from bot.care.phase import Phase
from bot.care.situation import Advice, Situation
from bot.care.species import SpeciesProfile
from bot.care.units import Band, Units, say_temperature, say_temperatures

CHECK_DAYS = 7
USUAL_ALARM_C = 32.0
WARN_BELOW = 2.0
OFF_ABOVE = 3.0
COOLEST_ACTIVE_C = 20.0
"""Below this the active season is too cool for most kept ants (common practice)."""

IN_DOUBT = "By your plan the heater is off for the rest, but you have not told me that the rest began."


class Warm(IntEnum):
    """How warm the warm wall is, against the limits of the species."""

    FINE = 0
    WARM = 1
    TOO_WARM = 2
    SWITCH_OFF = 3


@dataclass(frozen=True, slots=True)
class HeatLimits:
    """Wall temperatures in C: above `warn_c` a lot, above `alarm_c` too much, from `off_c` on the heater goes off."""

    warn_c: float
    alarm_c: float
    off_c: float

    def judge(self, wall_c: float) -> Warm:
        """Where a wall temperature stands."""
        if wall_c >= self.off_c:
            return Warm.SWITCH_OFF
        if wall_c > self.alarm_c:
            return Warm.TOO_WARM
        return Warm.WARM if wall_c > self.warn_c else Warm.FINE


def heat_limits(profile: SpeciesProfile) -> HeatLimits:
    """The limits for a species; the usual ones where its profile has no alarm."""
    alarm = USUAL_ALARM_C if profile.heat_alarm_c is None else profile.heat_alarm_c
    return HeatLimits(alarm - WARN_BELOW, alarm, alarm + OFF_ABOVE)


def wall_said(profile: SpeciesProfile, wall_c: float, units: Units) -> str:
    """What a temperature measured at the nest wall means for a species, as one sentence."""
    limits = heat_limits(profile)
    measured = f"You measured {say_temperature(wall_c, units)} at the nest wall"
    match limits.judge(wall_c):
        case Warm.SWITCH_OFF:
            off = say_temperature(limits.off_c, units)
            return f"{measured}; for {profile.name} the heater is off from {off} on: switch it off now."
        case Warm.TOO_WARM:
            return f"{measured}; {alarm_said(profile, units)}: cool it down today."
        case Warm.WARM:
            return f"{measured}; {alarm_said(profile, units)}: that is close, so watch where the brood lies."
        case _:
            return f"{measured}; {alarm_said(profile, units)}."


def alarm_said(profile: SpeciesProfile, units: Units) -> str:
    """`for Messor barbarus 33 °C is the alarm`; the usual alarm where no figure of its own is known."""
    alarm = say_temperature(heat_limits(profile).alarm_c, units)
    if profile.heat_alarm_c is None:
        return f"{alarm} is the usual alarm, as I have no figure for {profile.name}"
    return f"for {profile.name} {alarm} is the alarm"


def advise_heat_check(situation: Situation) -> Advice | None:
    """A look at the warm wall: weekly, daily while it is too warm. `None` without a heater, unless the room is hot.

    Outside the active season heaters are off and there is nothing to check, unless the rest runs by the calendar alone.
    Facts: `warm_c`, `cool_c`, `warn_c`, `alarm_c`, `off_c`.
    """
    if situation.heater_in_doubt:
        advice = advise_heat_check(situation.kept_warm)
        return None if advice is None else replace(advice, reason=f"{IN_DOUBT} {advice.reason}")
    if situation.phase is not Phase.ACTIVE:
        return None
    limits = heat_limits(situation.profile)
    level = limits.judge(situation.warm_c)
    heater = situation.colony.heater
    if heater is None and level is Warm.FINE:
        return None
    kind = None if heater is None else situation.handbook.heaters.get(heater.kind)
    usual = CHECK_DAYS if kind is None else kind.check_days
    days = usual if level <= Warm.WARM else 1
    return Advice(
        duty=Duty.HEAT_CHECK,
        interval_days=days,
        band_days=Band(max(days - 2, 1), days),
        reason=_reason(situation, limits, level),
        why=Why(
            rule="The warm wall is measured once a week, every day while it is above the alarm of the species.",
            inputs=_inputs(situation),
            evidence=Evidence(("ABRIL10", "judgement"), Confidence.JUDGEMENT, "C"),
            would_change=("a temperature measured at the warm wall", "a thermostat with its probe at that wall"),
        ),
        urgency=(Urgency.ROUTINE, Urgency.SOON, Urgency.URGENT, Urgency.URGENT)[level],
        useful_days=max(days - 1, 1),
        facts={
            "warm_c": round(situation.warm_c, 1),
            "cool_c": round(situation.room_c, 1),
            "warn_c": limits.warn_c,
            "alarm_c": limits.alarm_c,
            "off_c": limits.off_c,
        },
        cautions=_cautions(kind, level, heated=heater is not None),
    )


def _reason(situation: Situation, limits: HeatLimits, level: Warm) -> str:
    units = situation.keeper.units
    if situation.colony.heater is not None and _wall_unknown(situation):
        return "Measure the warm wall of the nest: nobody has told me how warm it gets, so I cannot judge the heater."
    wall = say_temperature(situation.warm_c, units)
    source = "The room itself" if situation.colony.heater is None else "The warm wall"
    match level:
        case Warm.SWITCH_OFF if situation.colony.heater is None:
            return (
                f"{source} is at {wall}: move the nest to the coolest place now and give water there. Is it cooler by "
                "now? Then tell me the temperature of the room."
            )
        case Warm.SWITCH_OFF:
            limit = say_temperature(limits.off_c, units)
            return f"{source} is at {wall}: switch the heater off now; from {limit} on it must be off."
        case Warm.TOO_WARM:
            return f"{source} is at {wall}, above {say_temperature(limits.alarm_c, units)}: cool it down today."
        case Warm.WARM:
            return f"{source} is at {wall}, above {say_temperature(limits.warn_c, units)}: watch where the brood lies."
        case _:
            return f"Measure the warm wall (about {wall}) and see that the cool end stays cool.{_too_cool(situation)}"


def _too_cool(situation: Situation) -> str:
    """A word where even the warm end is below what the species likes while active."""
    wanted = situation.profile.active_c
    lowest = COOLEST_ACTIVE_C if wanted is None else wanted.low
    if situation.warm_c >= lowest:
        return ""
    span = "" if wanted is None else f": {say_temperatures(wanted, situation.keeper.units)} suits the species"
    return f" It is on the cool side{span}."


def _wall_unknown(situation: Situation) -> bool:
    heater = situation.colony.heater
    if heater is None or heater.hot_c is not None:
        return False
    kind = situation.handbook.heaters.get(heater.kind)
    return kind is None or kind.assumed_rise_c is None


def _inputs(situation: Situation) -> tuple[Input, ...]:
    heater = situation.colony.heater
    if heater is None:
        return (situation.room_input,)
    wall = "not measured" if _wall_unknown(situation) else say_temperature(situation.warm_c, situation.keeper.units)
    return (situation.room_input, Input("warm wall", wall, heater.hot_c is None))


def _cautions(kind: HeaterKind | None, level: Warm, *, heated: bool) -> tuple[str, ...]:
    found = []
    if level is Warm.SWITCH_OFF and heated:
        found.append("HEAT-OFF")
    if heated:
        found += ("FIX-01", "FIX-02", "HEAT-EDGE") if kind is None else kind.cautions
        found.append("HEAT-DRIES")
    else:
        found.append("FIX-03")
    if level is not Warm.FINE:
        found.append("HEAT-WALL")
    return tuple(dict.fromkeys(found))
