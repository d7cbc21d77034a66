"""The sentences that go with a feeding: why it is due, and how it is served."""

from __future__ import annotations

from bot.care.duty import Duty
from bot.care.feeding.meals import conditions, is_hungry, sugar_first_until
from bot.care.feeding.portions import Portion
from bot.care.feeding.rhythm import OPTIONAL_SUGAR, Conditions, Rhythm, protein_rhythm
from bot.care.feeding.tastes import too_long_the_same
from bot.care.goods import Food
from bot.care.growth.founding import FoundingCare, founding_question
from bot.care.phase import Phase
from bot.care.situation import Situation
from bot.care.species import Guild
from bot.care.units import say_temperature

LEAST_CUT, MOST_CUT = 0.125, 5
"""Pieces: a crumb is cut already, and nobody opens dozens of flies (common practice)."""
SMALL_COLONY = 200
"""Up to here prey is opened or cut (common practice)."""
_SUGAR_BY_PHASE = {
    Phase.RESUME: "They are waking: sugar first, protein some days later.",
    Phase.WIND_DOWN: "Before its rest the colony fills up on sugar.",
}


def _due(situation: Situation, rhythm: Rhythm) -> str:
    """Whose rhythm it is, so that it reads well for any number of workers."""
    at = say_temperature(conditions(situation).temperature_c, situation.keeper.units)
    workers = situation.colony.workers
    days = "day" if rhythm.days == 1 else f"{rhythm.days} days"
    return f"with {workers} worker{'' if workers == 1 else 's'} at {at} it is due about every {days}."


def _founding_reason(situation: Situation, care: FoundingCare, food: str) -> str:
    question = founding_question(situation.colony, situation.profile)
    if care is FoundingCare.FED:
        return (
            f"A queen that goes out for food while founding starves without it: offer {food}, and leave her in peace."
        )
    if care is FoundingCare.NEEDS_WORKERS:
        return f"A queen of this kind needs workers beside her to raise a colony. Until they are there, offer {food}."
    return f"{question or 'It is not known how she founds.'} Until that is clear, offer {food} and disturb her no more."


def sugar_reason(situation: Situation, at: Conditions, rhythm: Rhythm) -> str:
    """Why sugar is due; the first of these that applies."""
    if at.founding is not None:
        return _founding_reason(situation, at.founding, "a smear of sugar water")
    if rhythm.tiny:
        return "In the cool they live on their reserves: offer only a taste of sugar, for those that are awake."
    if at.phase in _SUGAR_BY_PHASE and at.guild not in OPTIONAL_SUGAR:
        return _SUGAR_BY_PHASE[at.phase]
    if is_hungry(situation):
        return _hungry(situation, at)
    if at.guild in OPTIONAL_SUGAR:
        return f"{situation.profile.genus} needs little sugar: offer a day's worth, and do not mind if it is left."
    return f"Sugar is what the workers run on; {_due(situation, rhythm)}"


def _hungry(situation: Situation, at: Conditions) -> str:
    if Duty.SUGAR in situation.done:
        return "It is long since they had sugar: offer it first, and protein only once they have drunk."
    if protein_rhythm(at) is None:
        return "A new or hungry colony gets sugar first."
    later = "and protein the day after" if sugar_first_until(situation) > situation.day else "then protein"
    return f"A new or hungry colony gets sugar first, {later}."


def protein_reason(situation: Situation, at: Conditions, rhythm: Rhythm) -> str:
    """Why protein is due; the first of these that applies."""
    if at.founding is not None:
        return _founding_reason(situation, at.founding, "a pinhead of freshly killed prey")
    if at.guild is Guild.ARMY:
        return "Army ants need prey all the time, more than a home can give: plan to pass them on to people who can."
    if at.larvae is False:
        return "Without larvae only the queen needs protein: little of it, and sugar always beside it."
    if at.phase is Phase.WIND_DOWN:
        return "Protein tapers off before the rest, with the last larvae."
    if at.phase is Phase.RESUME:
        return "Awake again: a little protein, now that sugar was offered. Skip it if nobody comes out."
    return f"Protein feeds the larvae and the queen; {_due(situation, rhythm)}"


def _is_a_change(situation: Situation, food: Food) -> bool:
    """Whether the next prey ends weeks of the same one."""
    named = [entry.food for entry in situation.colony.log if entry.duty is Duty.PROTEIN and entry.food is not None]
    same = too_long_the_same(situation.colony.log, Duty.PROTEIN, situation.day)
    return same and named[-1] != food.id and not situation.offered


def serving(situation: Situation, food: Food | None, portion: Portion | None) -> str:
    """How prey is laid out, and a word where it is always the same."""
    small = situation.colony.workers < SMALL_COLONY
    whole = food is not None and (portion is None or not LEAST_CUT <= portion.count <= MOST_CUT)
    cut = ", cut up or opened" if small and not whole else ""
    if food is None:
        return f" Offer small pieces of a soft insect{cut}, on a scrap of foil that lifts out."
    how_much = "a little" if portion is None else portion.words
    variety = " It has had one prey for three weeks, so this is another." if _is_a_change(situation, food) else ""
    return f" Next: {food.name}, {how_much}{cut}, on a scrap of foil that lifts out.{variety}"
