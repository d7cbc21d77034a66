"""A household's plan as the JSON object that `python -m bot year --json` prints; the contract of the design."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bot.care.agenda import ColonyPlan
from bot.care.culture_agenda import CulturePlan
from bot.care.duty import Occurrence
from bot.care.evidence import Confidence
from bot.care.phase import RestPlan
from bot.care.place import Keeper
from bot.care.species import SpeciesProfile

Json = dict[str, object]


def plan_object(keeper: Keeper, plans: Sequence[ColonyPlan], cultures: Sequence[CulturePlan] = ()) -> Json:
    """Plain values only: dates as ISO days, moments as ISO UTC with `Z`, temperatures in C.

    An occurrence of a feeder culture has no colony, and names its `culture`; `cultures` is there only if there are any.
    """
    occurrences = [_occurrence(found) for plan in plans for found in plan.occurrences]
    occurrences += [_occurrence(found) for plan in cultures for found in plan.occurrences]
    return {
        "keeper": _keeper(keeper),
        "colonies": [_colony(plan) for plan in plans],
        **({"cultures": [_culture(plan) for plan in cultures]} if cultures else {}),
        "occurrences": sorted(occurrences, key=lambda found: (str(found["day"]), str(found["colony"]))),
        "winter_rest": [_rest(plan, rest) for plan in plans for rest in plan.rests],
        "warnings": [f"{plan.colony.name}: {warning}" for plan in plans for warning in plan.warnings],
    }


def weakest(profile: SpeciesProfile) -> Confidence:
    """The weakest confidence among the figures of a profile."""
    return max((entry.confidence for entry in profile.evidence.values()), key=lambda found: found.rank)


def _keeper(keeper: Keeper) -> Json:
    return {
        "timezone": keeper.zone_name,
        "latitude": keeper.latitude,
        "hemisphere": keeper.hemisphere,
        "country": keeper.country,
        "units": keeper.units.value,
        "digest_at": keeper.digest_at.isoformat("minutes"),
        "quiet_hours": [keeper.quiet.start.isoformat("minutes"), keeper.quiet.end.isoformat("minutes")],
    }


def _colony(plan: ColonyPlan) -> Json:
    return {
        "name": plan.colony.name,
        "species": plan.profile.name,
        "class": plan.profile.dormancy.value,
        "profile_confidence": weakest(plan.profile).value if plan.profile.evidence else "unknown",
    }


def _culture(plan: CulturePlan) -> Json:
    return {
        "name": plan.culture.name,
        "kind": plan.kind.id,
        "growth": plan.growth,
        "failing": plan.failing,
    }


def _occurrence(found: Occurrence) -> Json:
    return {
        "colony": found.colony or None,
        **({} if found.culture is None else {"culture": found.culture}),
        "duty": found.duty.value,
        "day": found.day.isoformat(),
        "due_at": _utc(found.due_at),
        "earliest": found.earliest.isoformat(),
        "latest": found.latest.isoformat(),
        "reason": found.reason,
        "facts": dict(found.facts),
        "cautions": list(found.cautions),
    }


def _rest(plan: ColonyPlan, rest: RestPlan) -> Json:
    return {
        "colony": plan.colony.name,
        "needed": rest.needed,
        "why": rest.why,
        "phases": [
            {
                "name": span.phase.value,
                "start": span.start.isoformat(),
                "end": span.end.isoformat(),
                "temperature_c": [span.temperature_c.low, span.temperature_c.high],
            }
            for span in rest.phases
        ],
    }


def _utc(at: datetime) -> str:
    return at.isoformat().replace("+00:00", "Z")
