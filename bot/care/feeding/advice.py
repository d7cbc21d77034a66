"""Advice on sugar, protein, seeds and leaves: how often, how much, what next, and what to beware of.

Rhythm and amounts: `feeding/rhythm.py`, `feeding/portions.py`; both are estimates that the keeper's own notes correct.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from bot.care.duty import Duty, Outcome, Urgency
from bot.care.feeding.choice import FAITHFUL, explain_prey, next_of, prey_at_hand
from bot.care.feeding.energy import composition_of
from bot.care.feeding.leftovers import days_lying
from bot.care.feeding.meals import (
    conditions,
    eaters,
    explain,
    feedback,
    foods_named,
    foods_of,
    has_larvae,
    in_range,
    is_hungry,
    meal_day,
    nobody_home,
    phase_day_on,
    settled_on,
    sugar_first_until,
    timing,
    too_hot_or_cold,
    too_late,
)
from bot.care.feeding.portions import Portion, most_g, offer_g, prey_portion, prey_that_fit, sugar_portion
from bot.care.feeding.rhythm import (
    FUNGUS_FARMERS,
    OPTIONAL_SUGAR,
    Rhythm,
    always_sugar,
    leaf_days,
    protein_from_day,
    protein_rhythm,
    sugar_from_day,
    sugar_rhythm,
    with_a_pause,
)
from bot.care.feeding.sugar import HOUSE_PERCENT
from bot.care.feeding.tastes import KINDS
from bot.care.feeding.words import SMALL_COLONY, protein_reason, serving, sugar_reason
from bot.care.goods import Food, FoodKind
from bot.care.growth.founding import FoundingCare
from bot.care.phase import COLD_PHASES, Phase
from bot.care.situation import Advice, Situation
from bot.care.species import Guild
from bot.care.units import Band

_SEED_DAYS = Rhythm(7, Band(4, 10), "Dry seeds are always there; once a week the dish is filled up and damp seeds go.")
_LATER_ONCE = 2
"""Days by which one protein may come late, so that it falls on the day of the sugar from then on (judgement)."""
_FULL_STORE = frozenset({Outcome.SKIPPED, Outcome.REFUSED})
_Facts = dict[str, float | str]


def _paced(situation: Situation, rhythm: Rhythm, duty: Duty) -> Rhythm:
    """A feeding leaves a day of peace after its leftovers came out, except where nobody waits for that."""
    at = conditions(situation)
    if at.founding is not None or rhythm.tiny or (duty is Duty.SUGAR and always_sugar(at)):
        return rhythm
    return with_a_pause(rhythm, at.workers, days_lying(situation, Duty.PROTEIN))


def _sugar_amount(situation: Situation, rhythm: Rhythm, percent: float) -> Portion | None:
    who = eaters(situation)
    if who is None:
        return None
    # Where sugar is an extra, a day's worth is enough: the rest would only ferment until the next time.
    days = 1 if who.guild in OPTIONAL_SUGAR else rhythm.days
    grams = offer_g(who.weekly_sugar_g(percent), days, feedback(situation, Duty.SUGAR))
    return sugar_portion(grams, who.mass.doubt) if grams > 0 else None


def _phase_cautions(situation: Situation) -> tuple[str, ...]:
    """Leave a founding queen in peace, patience with a waking colony."""
    if conditions(situation).founding is not None:
        return ("FOUNDING-QUIET",)
    if situation.phase is Phase.RESUME:
        return ("REST-WAKING",)
    return ()


def _amount_facts(facts: _Facts, situation: Situation, duty: Duty, portion: Portion | None) -> _Facts:
    if portion is not None:
        facts["amount"] = portion.words
    factor = feedback(situation, duty)
    if factor != 1:
        facts["feedback_factor"] = round(factor, 3)
    return facts


def advise_sugar(situation: Situation) -> Advice | None:
    """Sugar water: rhythm, drops and cautions; `None` in deep rest, for walled-in queens and for fungus farmers."""
    at = conditions(situation)
    rhythm = sugar_rhythm(at)
    if rhythm is None or nobody_home(situation):
        return None
    rhythm = _paced(situation, rhythm, Duty.SUGAR)
    when = timing(situation, Duty.SUGAR, rhythm, max(meal_day(situation), phase_day_on(situation, sugar_from_day(at))))
    if too_late(situation, when.due):
        return None
    food = next_of(situation, foods_named(situation, FoodKind.SUGAR))
    percent = HOUSE_PERCENT if food is None or food.sugar_percent is None else food.sugar_percent
    portion = _sugar_amount(situation, rhythm, percent)
    facts: _Facts = {"interval_days": rhythm.days, "sugar_percent": percent}
    reason = sugar_reason(situation, at, rhythm) if in_range(situation) else too_hot_or_cold(situation)
    cautions = ["SUGAR-FRESH", "SUGAR-DROWN"]
    if portion is not None:
        facts["sugar_drops"] = round(portion.count, 3)
        served = "in a closed feeder" if always_sugar(at) else "on a wick or a scrap of foil"
        reason += f" Offer {portion.words}, {served}."
        cautions.append("ESTIMATE")
    if food is not None:
        facts["food"] = food.id
        cautions.extend(food.cautions)
    cautions.extend(_phase_cautions(situation))
    urgent = at.phase is Phase.RESUME or (at.founding is None and is_hungry(situation))
    return Advice(
        duty=Duty.SUGAR,
        interval_days=when.interval_days,
        band_days=when.band,
        reason=reason,
        why=explain(situation, rhythm, portion),
        first_after_days=when.first_after_days,
        urgency=Urgency.SOON if urgent else Urgency.ROUTINE,
        useful_days=2,
        facts=_amount_facts(facts, situation, Duty.SUGAR, portion),
        cautions=tuple(dict.fromkeys(cautions)),
    )


def _protein_offer(situation: Situation, rhythm: Rhythm) -> tuple[Food | None, Portion | None]:
    """The prey that comes next, and how much of it; either may be unknown."""
    prey = foods_of(situation, FoodKind.PREY)
    who = eaters(situation)
    rotate = not FAITHFUL.intersection(situation.profile.guilds)
    if who is None:
        return next_of(situation, foods_named(situation, FoodKind.PREY), rotate=rotate), None
    factor = feedback(situation, Duty.PROTEIN)
    grams = offer_g(who.weekly_prey_g(), rhythm.days, factor)
    if grams <= 0:
        return None, None
    food = next_of(situation, prey_at_hand(situation, prey_that_fit(prey, grams, KINDS)), rotate=rotate)
    if food is None or food.item_g is None:
        return food, None
    weekly = who.weekly_prey_g(composition_of(food))
    offer, most = offer_g(weekly, rhythm.days, factor), most_g(weekly, rhythm.days)
    return food, prey_portion(offer, most, food.item_g, who.mass.doubt)


def _with_sugar(situation: Situation, rhythm: Rhythm) -> Rhythm:
    """Where both have the same pace on different days: one shift of a day or two, and one visit does for both."""
    sugar = sugar_rhythm(conditions(situation))
    fed, last = situation.done.get(Duty.SUGAR), situation.done.get(Duty.PROTEIN)
    same_pace = sugar is not None and _paced(situation, sugar, Duty.SUGAR).days == rhythm.days >= 3
    if not same_pace or fed is None or last is None:
        return rhythm
    apart = (last - fed).days
    if apart == 1:
        return replace(rhythm, days=rhythm.days - 1, band=Band(rhythm.days - 1, rhythm.band.high))
    later = rhythm.days - apart
    if 0 < apart < rhythm.days and later <= _LATER_ONCE:
        days = rhythm.days + later
        return replace(rhythm, days=days, band=Band(rhythm.band.low, max(rhythm.band.high, days)))
    return rhythm


def _protein_hold(situation: Situation) -> date:
    """Not while a colony settles in or wakes, and not before the sugar of a new or hungry one."""
    at = conditions(situation)
    days = [phase_day_on(situation, protein_from_day(at)), settled_on(situation)]
    if is_hungry(situation) and sugar_rhythm(at) is not None:
        days.append(sugar_first_until(situation))
    return max(days)


def _protein_cautions(situation: Situation, food: Food | None, portion: Portion | None) -> tuple[str, ...]:
    cautions = ["PREY-POISON", "PREY-FUNGUS"]
    if Guild.PREDATOR in situation.profile.guilds:
        cautions.append("PREY-LIVE")
    if has_larvae(situation) is False:
        cautions.append("DIET-PROTEIN")
    cautions.extend(_phase_cautions(situation))
    if portion is not None:
        cautions.append("ESTIMATE")
    return tuple(dict.fromkeys([*cautions, *(() if food is None else food.cautions)]))


def advise_protein(situation: Situation) -> Advice | None:
    """Prey: rhythm, pieces, which one next; `None` in a rest, for walled-in queens and for fungus farmers."""
    at = conditions(situation)
    rhythm = protein_rhythm(at)
    if rhythm is None or nobody_home(situation):
        return None
    rhythm = _paced(situation, rhythm, Duty.PROTEIN)
    food, portion = _protein_offer(situation, rhythm)
    facts: _Facts = {"interval_days": rhythm.days}
    reason = too_hot_or_cold(situation)
    if in_range(situation):
        served = "" if at.founding is not None else serving(situation, food, portion)
        reason = protein_reason(situation, at, rhythm) + served
    if food is not None:
        facts["food"] = food.id
    if portion is not None:
        facts |= {
            "pieces": round(portion.count, 4),
            "pieces_low": round(portion.band.low, 4),
            "pieces_high": round(portion.band.high, 4),
        }
    when = timing(situation, Duty.PROTEIN, _with_sugar(situation, rhythm), _protein_hold(situation))
    return Advice(
        duty=Duty.PROTEIN,
        interval_days=when.interval_days,
        band_days=when.band,
        reason=reason,
        why=explain_prey(situation, rhythm, food, portion),
        first_after_days=when.first_after_days,
        useful_days=2,
        facts=_amount_facts(facts, situation, Duty.PROTEIN, portion),
        cautions=_protein_cautions(situation, food, portion),
    )


def _may_graze(situation: Situation) -> bool:
    """Whether a founding or wintering colony gets seeds or leaves at all."""
    at = conditions(situation)
    resting = at.phase in COLD_PHASES or at.sleeps
    unfed = at.founding in {FoundingCare.WATER_ONLY, FoundingCare.NEEDS_WORKERS}
    return not (resting or unfed or nobody_home(situation))


def _eats_from(situation: Situation) -> date:
    return phase_day_on(situation, sugar_from_day(conditions(situation)))


def _seed_amount(situation: Situation) -> tuple[_Facts, str]:
    who = eaters(situation)
    if who is None or situation.profile.guilds[0] is not Guild.SEEDS:
        return {}, "a few small seeds"
    grams = min(who.weekly_seeds_g() * feedback(situation, Duty.SEEDS), most_g(who.weekly_seeds_g(), 7))
    if situation.colony.workers < SMALL_COLONY or grams < 0.1:
        return {}, "a pinch of small seeds, the large ones cracked"
    return {"seeds_g": round(grams, 2)}, f"about {grams:.1f} g for the week"


def _seed_rhythm(situation: Situation) -> Rhythm:
    """Weekly; rarer while the keeper finds the store full: twice running two weeks, more often three."""
    full = 0
    for entry in reversed([entry for entry in situation.colony.log if entry.duty is Duty.SEEDS]):
        if entry.outcome not in _FULL_STORE:
            break
        full += 1
    if full < 2:
        return _SEED_DAYS
    days = 14 if full == 2 else 21
    rule = "The seed store was full at the last looks, so the next one waits longer; damp seeds still go."
    return Rhythm(days, Band(7, days), rule)


def advise_seeds(situation: Situation) -> Advice | None:
    """Dry seeds for harvesters, filled up weekly; `None` for other diets, in a rest and for walled-in queens."""
    if Guild.SEEDS not in situation.profile.guilds or not _may_graze(situation):
        return None
    facts, amount = _seed_amount(situation)
    facts |= {"interval_days": _seed_rhythm(situation).days, "amount": amount}
    food = next_of(situation, foods_of(situation, FoodKind.SEEDS))
    if food is not None:
        facts["food"] = food.id
    reason = f"Seed harvesters always have clean, untreated seeds: offer {amount}, unless the store is still full, "
    reason += "and take out damp ones."
    rhythm = _seed_rhythm(situation)
    when = timing(situation, Duty.SEEDS, rhythm, max(_eats_from(situation), settled_on(situation)))
    return Advice(
        duty=Duty.SEEDS,
        interval_days=when.interval_days,
        band_days=when.band,
        reason=reason if in_range(situation) else too_hot_or_cold(situation),
        why=explain(situation, rhythm, None),
        first_after_days=when.first_after_days,
        facts=facts if in_range(situation) else {},
        cautions=tuple(dict.fromkeys(("SEED-DRESSED", "ESTIMATE", *(() if food is None else food.cautions)))),
    )


def advise_leaves(situation: Situation) -> Advice | None:
    """Fresh food for a fungus garden; `None` for other diets, in a rest and for walled-in queens."""
    farmer = FUNGUS_FARMERS.intersection(situation.profile.guilds)
    if not farmer or not _may_graze(situation):
        return None
    slow = Guild.LEAVES not in farmer or conditions(situation).founding is not None
    rhythm = leaf_days(situation.colony.workers, slow=slow)
    food = next_of(situation, foods_of(situation, FoodKind.LEAVES))
    facts: _Facts = {"interval_days": rhythm.days}
    if food is not None:
        facts["food"] = food.id
    what = "fresh unsprayed leaves" if Guild.LEAVES in farmer else "a little of flowers, oats or caterpillar frass"
    reason = f"The fungus starves after two days: offer {what}, as much as they carry in, and take out what wilts."
    if feedback(situation, Duty.LEAVES) < 1:
        reason += " They leave this plant, perhaps because it harmed the fungus: change to another for some weeks."
    when = timing(situation, Duty.LEAVES, rhythm, _eats_from(situation))
    return Advice(
        duty=Duty.LEAVES,
        interval_days=when.interval_days,
        band_days=when.band,
        reason=reason if in_range(situation) else too_hot_or_cold(situation),
        why=explain(situation, rhythm, None),
        urgency=Urgency.SOON,
        useful_days=1,
        facts=facts,
        cautions=tuple(dict.fromkeys(("LEAF-PLANTS", "PST-06", *(() if food is None else food.cautions)))),
    )
