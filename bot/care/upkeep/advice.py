"""Upkeep of box and nest: barrier, outside wipe, waste, a fresh nest, and the hygrometer.

Intervals are common practice without a published source. In the cold only water and the barrier check go on; what
disturbs waits for some days after a move and for the first workers.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.colony import NestKind, Stage
from bot.care.duty import Duty, Input, Outcome, Urgency, Why
from bot.care.evidence import PRACTICE
from bot.care.feeding.rhythm import FUNGUS_FARMERS
from bot.care.growth.trend import known_since
from bot.care.phase import Phase
from bot.care.physics.air import Salt, hygrometer_offset, salt_humidity
from bot.care.situation import Advice, Situation
from bot.care.units import Band
from bot.care.upkeep.barriers import BarrierLife, barrier_of, last_renewed, renewal_days
from bot.care.water.nest import material_of

UNKNOWN_CHECK_DAYS = 7
TORPID_C, COLD_CHECK_DAYS = 10.0, 28
"""Resting ants this cold hardly walk, so their barrier is looked at monthly; a water moat dries all the same
(judgement)."""
COLD_RULE = "Ants this cold hardly walk, so a look every four weeks is enough until they warm up."
AWAKE_DAYS = 28
"""No move is offered for so long after a winter rest (judgement)."""
WIPE_DAYS = 7
WASTE_DAYS = 7
SMALL_WASTE_DAYS = 14
SMALL_COLONY = 50
"""Workers below which little waste gathers."""
CHECKS_OF_A_KIND = {
    "lid-mesh": "Look at lid and mesh: lifted edges, bitten or torn places, gaps round cables and tubes.",
    "moat": "Look at the water moat: fill it up, skim dust and dead ants off, and see that nothing bridges it.",
}
"""What is looked for where the barrier is no band on a wall."""
NEST_DAYS = Band(120, 240)
MOULDY_NEST_DAYS = 3
HALF_A_LIFE = 0.5
"""A barrier of unknown age is taken to be in the middle of its life (judgement)."""
NEST_LOOKS = frozenset({Duty.WATER, Duty.NEST_CHANGE, Duty.REST_CHECK})
SETTLE_DAYS = 7
"""Nothing disturbing for this long after an arrival or a move."""


def advise_barrier_check(situation: Situation) -> Advice | None:
    """A look at the barrier, in every phase; `None` without an outworld. Facts: `check_days`."""
    if situation.colony.outworld is None:
        return None
    barrier = barrier_of(situation)
    days = UNKNOWN_CHECK_DAYS if barrier is None else barrier.check_days
    torpid = _torpid(situation) and (barrier is None or barrier.id != "moat")
    days = max(days, COLD_CHECK_DAYS) if torpid else days
    name = "barrier" if barrier is None else f"barrier ({barrier.name})"
    band = f"Look all round the {name} for gaps, dust, streaks and ants above its lower third; corners first."
    undated = barrier is not None and barrier.renew_days is not None and last_renewed(situation) is None
    ask = " When was it last renewed? Tell me, and I plan the next time." if undated else ""
    return Advice(
        duty=Duty.BARRIER_CHECK,
        interval_days=days,
        band_days=Band(max(days - 2, 1), days + 1),
        reason=CHECKS_OF_A_KIND.get("" if barrier is None else barrier.id, band) + ask,
        why=Why(
            rule=COLD_RULE if torpid else f"A barrier of this kind is looked at every {days} days.",
            inputs=(Input("barrier", "not said" if barrier is None else barrier.name, barrier is None),),
            evidence=PRACTICE,
            would_change=("the kind of barrier", "what you find: tell me whether it was fine or worn"),
        ),
        facts={"check_days": days},
        cautions=("BAR-11", "BAR-14"),
    )


def advise_barrier_renew(situation: Situation) -> Advice | None:
    """A new barrier, by kind, damp, dust, danger and the log. `None` for kinds renewed on wear, until they are worn.

    In the cold a sound barrier waits; a worn one never does. One of unknown age is looked at and asked for first, and
    renewed half a life after the colony became known. Facts: `renew_days`.
    """
    if situation.colony.outworld is None:
        return None
    barrier = barrier_of(situation)
    life = renewal_days(situation, barrier)
    if life is None:
        return None
    own = () if barrier is None else barrier.cautions
    if life.worn_on is not None:
        return _worn_barrier(life, own)
    if not _may_work(situation):
        return None
    renewed = last_renewed(situation)
    return Advice(
        duty=Duty.BARRIER_RENEW,
        interval_days=round(_counted_from(situation, Duty.BARRIER_RENEW, life.days, renewed), 1),
        band_days=Band(round(life.days * 0.7, 1), round(life.days * 1.2, 1)),
        reason="Renew the barrier: one thin even band all round, without gaps, fully dry before ants meet it. "
        f"It lasts about {_say_span(life.days)} here.",
        why=_barrier_why(life),
        first_after_days=_left(situation, life.days, renewed, unknown=life.days * HALF_A_LIFE),
        useful_days=14,
        facts={"renew_days": round(life.days, 1)},
        cautions=(*own, "BAR-14"),
    )


def _torpid(situation: Situation) -> bool:
    """Whether the ants are so cold that they hardly walk."""
    span = situation.rest.span_on(situation.day)
    return span is not None and span.phase is Phase.REST and span.temperature_c.middle <= TORPID_C


def _say_span(days: float) -> str:
    return f"{days / 7:.0f} weeks" if days >= 21 else f"{days:.0f} days"


def _worn_barrier(life: BarrierLife, cautions: tuple[str, ...]) -> Advice:
    return Advice(
        duty=Duty.BARRIER_RENEW,
        interval_days=1,
        band_days=Band(1, 1),
        reason="The barrier was worn at the last look: shut the lid and renew all of it, even, without gaps, and dry "
        "before ants meet it.",
        why=_barrier_why(life),
        urgency=Urgency.URGENT,
        useful_days=14,
        cautions=(*cautions, "BAR-14"),
    )


def _barrier_why(life: BarrierLife) -> Why:
    return Why(
        rule="The usual life of this kind, shortened by damp, dust and danger, and corrected by your checks.",
        inputs=life.inputs,
        evidence=PRACTICE,
        would_change=("a check that found it worn", "three clean checks late in its life", "the air's humidity"),
    )


def advise_outside_wipe(situation: Situation) -> Advice | None:
    """The weekly wipe round the outside of the box. Plain water on lime or marble. Facts: `cleaner`."""
    outworld = situation.colony.outworld
    if outworld is None or not _may_work(situation):
        return None
    cleaner = "a plain damp cloth" if outworld.limestone else "diluted vinegar"
    lime = " Keep the vinegar off the nest block: it eats lime." if material_of(situation).lime_based else ""
    keep_off = "" if outworld.limestone else lime
    return _routine(
        situation,
        Duty.OUTSIDE_WIPE,
        WIPE_DAYS,
        reason=f"Wipe the outside of the box and the shelf with {cleaner}; not the barrier, not inside.{keep_off}",
        rule="About weekly: it wipes away trails, keeps wild ants out and shows strays. It holds nothing by itself.",
        facts={"cleaner": cleaner},
        cautions=("VINEGAR-LIME",) if outworld.limestone else ("FIX-12", "BAR-12") + ("VINEGAR-LIME",) * bool(lime),
    )


def advise_waste(situation: Situation) -> Advice | None:
    """Waste and dead ants out of the outworld: weekly, every two weeks in a small colony. Facts: `interval_days`."""
    if situation.colony.outworld is None or not _may_work(situation):
        return None
    small = situation.colony.workers < SMALL_COLONY
    days = SMALL_WASTE_DAYS if small else WASTE_DAYS
    return _routine(
        situation,
        Duty.WASTE,
        days,
        reason="Take waste and dead ants out of the outworld before they mould; leave the nest itself alone.",
        rule="Waste is where mould and mites start; a larger colony makes more of it.",
        facts={"interval_days": days},
        cautions=("BAR-11", "FIX-17"),
    )


def advise_nest_change(situation: Situation) -> Advice | None:
    """The offer of a fresh nest, every several months; sooner after mould was seen.

    `None` for tubes (they are replaced with the water) and tanks, while founding, outside the active season, and for
    those who live on a fungus, unless it moulds: a garden is not moved by the calendar. Facts: `cleaner` for the old
    nest.
    """
    nest = situation.colony.nest
    if nest.kind is not NestKind.NEST or situation.phase is not Phase.ACTIVE or _founding(situation):
        return None
    moves = (nest.changed, situation.done.get(Duty.NEST_CHANGE))
    moved = max((day for day in moves if day is not None), default=situation.colony.arrived)
    mouldy = _mould_since(situation, moved)
    if not mouldy and FUNGUS_FARMERS.intersection(situation.profile.guilds):
        return None
    days = MOULDY_NEST_DAYS if mouldy else NEST_DAYS.middle
    lime = material_of(situation).lime_based
    cleaner = "hot water and a brush, then full drying; no vinegar" if lime else "vinegar, then rinsing and drying"
    first = "Mould was seen in the nest: offer a fresh one." if mouldy else "Offer a fresh nest."
    ask = " You have not told me when they moved in: if that was lately, tell me, and let them be." if not moved else ""
    return Advice(
        duty=Duty.NEST_CHANGE,
        interval_days=_not_before(
            situation,
            Duty.NEST_CHANGE,
            _counted_from(situation, Duty.NEST_CHANGE, days, moved),
            0 if mouldy else _waking(situation),
        ),
        band_days=Band(1, 7) if mouldy else NEST_DAYS,
        reason=f"{first}{ask} Make it dark and moist, the old one light and dry, and let the ants move in their own "
        f"time. Clean the old one with {cleaner}.",
        why=Why(
            rule="A fresh nest every several months; ants move by themselves and may take days or weeks.",
            inputs=(Input("moved in", "not said" if moved is None else moved.isoformat(), nest.changed is None),),
            evidence=PRACTICE,
            would_change=("the day the colony moved in", "mould or a bad smell", "the material of the nest"),
        ),
        first_after_days=max(
            _left(situation, days, moved, unknown=NEST_DAYS.low),
            _settling(situation),
            0 if mouldy else _waking(situation),
        ),
        urgency=Urgency.SOON if mouldy else Urgency.ROUTINE,
        useful_days=30,
        facts={"cleaner": cleaner},
        cautions=("MOULD-SPECK",) * mouldy + ("STRESS-MOVE", "VINEGAR-LIME" if lime else "FIX-12"),
    )


@dataclass(frozen=True, slots=True)
class HygrometerCheck:
    """Result of a salt check: what the box holds, and what to add to every reading, in points of RH."""

    true_percent: float
    add_points: float
    sentence: str


def check_hygrometer(reading_percent: float, temperature_c: float, salt: Salt = Salt.TABLE_SALT) -> HygrometerCheck:
    """Judge a hygrometer that lay in a small sealed box with wet salt for a day, the salt not touching it.

    Within 5 points is as good as cheap sensors get (common practice).
    """
    points = hygrometer_offset(reading_percent, temperature_c, salt)
    true = salt_humidity(salt, temperature_c)
    verdict = "It is as good as cheap ones get." if abs(points) <= 5 else "Correct your readings by that."
    direction = "low" if points > 0 else "high"
    sentence = f"The box holds {true:.0f} %, so it reads {abs(points):.0f} points too {direction}. {verdict}"
    return HygrometerCheck(true, points, sentence)


def _routine(
    situation: Situation,
    duty: Duty,
    days: int,
    *,
    reason: str,
    rule: str,
    facts: dict[str, float | str],
    cautions: tuple[str, ...],
) -> Advice:
    return Advice(
        duty=duty,
        interval_days=_not_before(situation, duty, days, _settling(situation)),
        band_days=Band(max(days - 3, 1), days + 3),
        reason=reason,
        why=Why(
            rule=rule,
            inputs=(Input("workers", str(situation.colony.workers)),),
            evidence=PRACTICE,
            would_change=("how much you find each time",),
        ),
        first_after_days=_settling(situation),
        facts=facts,
        cautions=cautions,
    )


def _may_work(situation: Situation) -> bool:
    """Whether hands may come near the colony at all: not while founding, not in the cold, not while waking."""
    return situation.phase in {Phase.ACTIVE, Phase.WIND_DOWN} and not _founding(situation)


def _founding(situation: Situation) -> bool:
    return situation.colony.current_stage is Stage.FOUNDING


def _settling(situation: Situation) -> int:
    """Days of quiet that are left after an arrival or a move; 0 when there are none."""
    moves = (situation.colony.arrived, situation.colony.nest.changed)
    newest = max((day for day in moves if day is not None and day <= situation.day), default=None)
    return 0 if newest is None else max(SETTLE_DAYS - (situation.day - newest).days, 0)


def _waking(situation: Situation) -> int:
    """Days of quiet that are left after a winter rest; 0 when there are none."""
    awake = situation.done.get(Duty.REST_END)
    return 0 if awake is None else max(AWAKE_DAYS - (situation.day - awake).days, 0)


def _not_before(situation: Situation, duty: Duty, days: float, quiet: int) -> float:
    """The interval, longer where it would end inside the quiet days that are left."""
    done = situation.done.get(duty)
    if done is None or quiet == 0:
        return days
    return max(days, (situation.day + timedelta(days=quiet) - done).days)


def _counted_from(situation: Situation, duty: Duty, days: float, last: date | None) -> float:
    """The interval from the last time the duty was done, where something newer than that restarted it on `last`."""
    done = situation.done.get(duty)
    if done is None or last is None or last <= done:
        return days
    return days + (last - done).days


def _left(situation: Situation, days: float, last: date | None, unknown: float) -> float:
    """Days until an interval that began on `last` is over; where nobody knows, `unknown` days from the first trace."""
    if last is not None:
        return max(days - (situation.day - last).days, 0)
    since = known_since(situation.colony) or situation.day
    return max(unknown - (situation.day - since).days, 0)


def _mould_since(situation: Situation, since: date | None) -> bool:
    """Whether mould was seen in the nest itself after a day; mould on food is no reason to move."""
    return any(
        entry.outcome is Outcome.MOULD and entry.duty in NEST_LOOKS and (since is None or entry.day > since)
        for entry in situation.colony.log
    )
