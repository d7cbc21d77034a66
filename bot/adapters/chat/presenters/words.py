"""The trade's words for duties, outcomes, phases and brood, as keepers read them."""

from __future__ import annotations

from collections.abc import Mapping

from bot.care.duty import Duty, Outcome

DUTY: Mapping[Duty, str] = {
    Duty.SUGAR: "sugar",
    Duty.PROTEIN: "protein",
    Duty.SEEDS: "seeds",
    Duty.LEAVES: "leaves",
    Duty.LEFTOVERS: "leftovers out",
    Duty.WATER: "water",
    Duty.BARRIER_CHECK: "barrier check",
    Duty.BARRIER_RENEW: "new barrier",
    Duty.OUTSIDE_WIPE: "wipe outside",
    Duty.WASTE: "waste out",
    Duty.NEST_CHANGE: "fresh nest",
    Duty.SPACE: "space",
    Duty.REST_WIND_DOWN: "winter rest: wind down",
    Duty.REST_COOL_DOWN: "winter rest: cool down",
    Duty.REST_BEGIN: "winter rest begins",
    Duty.REST_CHECK: "winter rest: look in",
    Duty.REST_WARM_UP: "winter rest: warm up",
    Duty.REST_END: "winter rest ends",
    Duty.HEAT_CHECK: "heater check",
    Duty.FEEDER_CARE: "feeder insects",
    Duty.CENSUS: "head count",
}

OUTCOME: Mapping[Outcome, str] = {
    Outcome.DONE: "done",
    Outcome.DAMP: "still damp",
    Outcome.ABOUT_DRY: "about dry",
    Outcome.BONE_DRY: "bone dry",
    Outcome.TAKEN: "all taken",
    Outcome.HALF_TAKEN: "half taken",
    Outcome.REFUSED: "refused",
    Outcome.GONE_QUICKLY: "gone quickly",
    Outcome.OK: "sound",
    Outcome.WORN: "worn",
    Outcome.SKIPPED: "not needed",
    Outcome.AWAKE: "awake",
    Outcome.MOULD: "mould seen",
    Outcome.PUPAE: "pupae seen",
    Outcome.EGGS: "eggs seen",
    Outcome.ALATES: "winged ants seen",
    Outcome.DEATHS: "dead ants",
    Outcome.MITES: "mites seen",
    Outcome.CLUSTERED: "clustered together",
    Outcome.NOTED: "note",
    Outcome.MORE: "more than before",
    Outcome.FEWER: "fewer than before",
    Outcome.SAME: "about as many as before",
}

QUESTION: Mapping[Duty, str] = {
    Duty.WATER: "How was the side that was drying?",
    Duty.LEFTOVERS: "What had they taken?",
    Duty.BARRIER_CHECK: "How is the barrier?",
}
"""What is asked after a Done."""


def capital(text: str) -> str:
    """The first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]
