"""Which facts raise which cautions; what is shown of them is decided in `caution_limits.py`.

Triggers: the safety notes behind `config/cautions` (a judgement of this project where no source is
named there). Unknown hazard counts as 2, an unknown climber as a climber, an unknown country as one with rules.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from bot.care.cautions import Caution, in_order
from bot.care.colony import NestKind
from bot.care.duty import FEEDING, Duty
from bot.care.handbook import Handbook
from bot.care.phase import Phase
from bot.care.place import Keeper
from bot.care.rest.start import calendar_start
from bot.care.situation import Situation
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import Band

ACID_SPRAYERS = frozenset(
    {"Anoplolepis", "Camponotus", "Cataglyphis", "Dinomyrmex", "Formica", "Lasius", "Oecophylla", "Polyrhachis"}
)
STRONG_JAWS = frozenset({"Acromyrmex", "Atta", "Dinomyrmex", "Messor", "Odontomachus"})
PROTECTED = frozenset({"CH_PROTECTED", "DE_CH_PROTECTED_SOME", "DE_PROTECTED", "EU_OTHER_NATIONAL"})
"""Regulation flags of species that must be left alone in the wild."""
EXPORT = frozenset({"KE_EXPORT", "KE_EXPORT_SOME"})
UNION_LIST = "LAW-01"
"""The one line of a country that speaks of listed species; the others hold for every ant."""
EU_FLAG = "EU_UNION_LIST"
SEASON = {
    DormancyClass.HOMO: "REST-TROPICAL",
    DormancyClass.QUASI: "REST-NONE",
    DormancyClass.REVERSED: "REST-SUMMER",
}
BIG_WORKER_MM = 10
"""From this length a Camponotus counts as one with strong jaws (judgement)."""
QUARANTINE_DAYS = 28
SETTLING_DAYS = 7
LONG_REST_DAYS = 150
ROOM_CEILING_C = 30.0
"""Where the profile names no upper end for the warm side."""
WALL_OFF_C = 35.0
"""Wall temperature at which any heater is switched off, unless the species bears more."""


def for_profile(profile: SpeciesProfile, keeper: Keeper, handbook: Handbook) -> tuple[str, ...]:
    """Ids that belong to a species in the hands of a keeper, strongest first: dangers, containment, law, season."""
    ids = (
        *_hazards(profile),
        *_containment(profile),
        *_law(profile, keeper, handbook),
        *([SEASON[profile.dormancy]] if profile.dormancy in SEASON else []),
        *(["UNSURE-PROFILE"] if profile.rank == "genus" else []),
    )
    return strongest_first(ids, handbook.cautions)


def _hazards(profile: SpeciesProfile) -> tuple[str, ...]:
    ids = ["STG-03", "STG-02"] if profile.assumed_hazard >= 2 else []
    if profile.genus == "Wasmannia":
        ids.append("STG-07")
    if _sprays_acid(profile):
        ids.append("STG-05")
    large = profile.worker_mm is not None and profile.worker_mm.high >= BIG_WORKER_MM
    if profile.genus in STRONG_JAWS or (profile.genus == "Camponotus" and large):
        ids.append("STG-08")
    return tuple(ids)


def _sprays_acid(profile: SpeciesProfile) -> bool:
    return profile.genus in ACID_SPRAYERS or "formic_spray" in profile.hazard_kinds


def _containment(profile: SpeciesProfile) -> tuple[str, ...]:
    smallest = None if profile.worker_mm is None else profile.worker_mm.low
    twice = (
        profile.assumed_hazard >= 2
        or bool(profile.regulation)
        or (profile.assumed_climber and profile.assumed_hazard >= 1)
        or (smallest is not None and smallest < 2.5)
    )
    tiny = smallest is not None and smallest < 3
    return (*(["BAR-09"] if twice else []), *(["BAR-08"] if tiny else []))


def _law(profile: SpeciesProfile, keeper: Keeper, handbook: Handbook) -> tuple[str, ...]:
    flags = frozenset(profile.regulation)
    ids = ["LAW-12"] if flags else []
    if flags & PROTECTED:
        ids.append("LAW-08")
    if flags & EXPORT:
        ids.append("LAW-09")
    return (*ids, *_country_lines(flags, keeper.country, handbook))


def _country_lines(flags: frozenset[str], code: str | None, handbook: Handbook) -> tuple[str, ...]:
    """The line of the keeper's country; without a country, never release and ask, as the Union list may apply."""
    if code is None:
        listed = any(flag.startswith(EU_FLAG) for flag in flags)
        return (*([UNION_LIST] if listed else []), "LAW-10", "LAW-ASK")
    country = handbook.countries.get(code)
    line = None if country is None else country.law_caution
    if line is None:
        return ("LAW-ASK",)
    near_the_list = bool(flags - PROTECTED - EXPORT)
    return () if line == UNION_LIST and not near_the_list else (line,)


@dataclass(frozen=True, slots=True)
class Rule:
    """`ids` go with each of `duties` whenever `when` holds."""

    duties: frozenset[Duty]
    ids: tuple[str, ...]
    when: Callable[[Situation], bool] = lambda _: True


def _of_profile(test: Callable[[SpeciesProfile], bool]) -> Callable[[Situation], bool]:
    return lambda situation: test(situation.profile)


def _days_here(situation: Situation) -> int | None:
    arrived = situation.colony.arrived
    return None if arrived is None else (situation.day - arrived).days


def _newer_than(days: int) -> Callable[[Situation], bool]:
    def check(situation: Situation) -> bool:
        here = _days_here(situation)
        return here is not None and 0 <= here < days

    return check


def _heated(situation: Situation) -> bool:
    return situation.colony.heater is not None and situation.phase is Phase.ACTIVE


def _wall_limit(situation: Situation) -> float:
    alarm = situation.profile.heat_alarm_c
    return ROOM_CEILING_C if alarm is None else alarm


def _hot_wall(situation: Situation) -> bool:
    return _heated(situation) and situation.warm_c > _wall_limit(situation)


def _far_too_hot(situation: Situation) -> bool:
    return _heated(situation) and situation.warm_c >= max(WALL_OFF_C, _wall_limit(situation))


def _hot_room(situation: Situation) -> bool:
    room, band = situation.place.temperature_c, situation.profile.active_c
    return room is not None and room > (ROOM_CEILING_C if band is None else band.high)


def _in_tube(situation: Situation) -> bool:
    return situation.colony.nest.kind is NestKind.TUBE


def _stone_box(situation: Situation) -> bool:
    return situation.colony.outworld is not None and situation.colony.outworld.limestone


def _lime(situation: Situation) -> bool:
    colony = situation.colony
    material = situation.handbook.materials.get(colony.nest.material or "")
    stone = colony.outworld is not None and colony.outworld.limestone
    return stone or (material is not None and material.lime_based)


def _rests_in(*places: str) -> Callable[[Situation], bool]:
    return lambda situation: situation.colony.rest.place in places


def _rest_band(situation: Situation) -> Band | None:
    """Coldest and warmest that the resting place gets, as far as either is known."""
    low, high = situation.colony.rest.place_low_c, situation.colony.rest.place_high_c
    known = [value for value in (low, high) if value is not None]
    return Band(min(known), max(known)) if known else None


def _too_cold(situation: Situation) -> bool:
    band = _rest_band(situation)
    return band is not None and band.low < 2


def _too_warm(situation: Situation) -> bool:
    band = _rest_band(situation)
    return band is not None and band.high > 10 and situation.profile.dormancy is DormancyClass.ENDO


def _rests_long(situation: Situation) -> bool:
    cold = [span.start for span in situation.rest.phases if span.phase in {Phase.COOL_DOWN, Phase.REST}]
    return bool(cold) and (situation.day - min(cold)).days >= LONG_REST_DAYS


def _duties(*duties: Duty) -> frozenset[Duty]:
    return frozenset(duties)


HANDLING = _duties(Duty.WASTE, Duty.NEST_CHANGE, Duty.SPACE, Duty.BARRIER_RENEW)
"""Duties for which a box is opened wide."""
LOOKING = _duties(Duty.CENSUS, Duty.WASTE, Duty.BARRIER_CHECK)
RULES = (
    Rule(HANDLING, ("STG-03",), _of_profile(lambda profile: profile.assumed_hazard >= 2)),
    Rule(_duties(Duty.NEST_CHANGE, Duty.WASTE), ("STG-05",), _of_profile(_sprays_acid)),
    Rule(_duties(Duty.NEST_CHANGE), ("STG-06",), _of_profile(_sprays_acid)),
    Rule(LOOKING, ("PST-11",), _newer_than(QUARANTINE_DAYS)),
    Rule(FEEDING, ("STRESS-NEW",), _newer_than(SETTLING_DAYS)),
    Rule(_duties(Duty.SUGAR), ("SUGAR-DROWN", "SUGAR-FRESH")),
    Rule(_duties(Duty.PROTEIN), ("PREY-POISON", "PREY-FUNGUS")),
    Rule(_duties(Duty.PROTEIN), ("DIET-PROTEIN",), lambda situation: situation.colony.brood.has_larvae is False),
    Rule(_duties(Duty.SEEDS), ("SEED-DRESSED",)),
    Rule(_duties(Duty.LEAVES), ("PST-06", "LEAF-PLANTS")),
    Rule(_duties(Duty.LEFTOVERS), ("MOULD-LEFTOVERS", "FIX-17")),
    Rule(_duties(Duty.FEEDER_CARE), ("FEEDER-ALLERGY", "FEEDER-ESCAPE", "FEEDER-FOOD")),
    Rule(_duties(Duty.WATER), ("WATER",)),
    Rule(_duties(Duty.WATER), ("WATER-LITTLE", "ESTIMATE-WATER"), lambda situation: not _in_tube(situation)),
    Rule(_duties(Duty.WATER), ("FIX-10", "HEAT-DRIES"), _heated),
    Rule(_duties(Duty.WATER), ("REST-WATER",), lambda situation: situation.phase is Phase.REST),
    Rule(_duties(Duty.BARRIER_CHECK), ("BAR-14", "BAR-11")),
    Rule(_duties(Duty.BARRIER_CHECK, Duty.SPACE), ("BAR-08",), lambda s: "BAR-08" in _containment(s.profile)),
    Rule(_duties(Duty.OUTSIDE_WIPE), ("FIX-12", "BAR-12"), lambda situation: not _stone_box(situation)),
    Rule(_duties(Duty.OUTSIDE_WIPE, Duty.NEST_CHANGE), ("VINEGAR-LIME",), _lime),
    Rule(_duties(Duty.WASTE), ("BAR-11", "FIX-17")),
    Rule(_duties(Duty.NEST_CHANGE), ("STRESS-MOVE",)),
    Rule(_duties(Duty.NEST_CHANGE), ("FIX-12",), lambda situation: not _lime(situation)),
    Rule(_duties(Duty.SPACE), ("STRESS-MOVE", "SPACE-LARGE")),
    Rule(_duties(Duty.CENSUS), ("STRESS-QUIET",)),
    Rule(_duties(Duty.HEAT_CHECK), ("FIX-01", "HEAT-EDGE", "HEAT-DRIES"), lambda s: s.colony.heater is not None),
    Rule(_duties(Duty.HEAT_CHECK), ("HEAT-WALL",), _hot_wall),
    Rule(_duties(Duty.HEAT_CHECK), ("HEAT-OFF",), _far_too_hot),
    Rule(_duties(Duty.HEAT_CHECK, Duty.WATER), ("FIX-03",), _hot_room),
    Rule(_duties(Duty.REST_WIND_DOWN), ("REST-DATES",)),
    Rule(_duties(Duty.REST_WIND_DOWN), ("REST-ENDO",), _of_profile(lambda one: one.dormancy is DormancyClass.ENDO)),
    Rule(
        _duties(Duty.REST_WIND_DOWN),
        ("REST-HEMISPHERE",),
        lambda situation: situation.colony.rest.from_other_hemisphere_since is not None,
    ),
    Rule(_duties(Duty.REST_COOL_DOWN), ("REST-PUPAE", "REST-COOL-SLOWLY")),
    Rule(_duties(Duty.REST_BEGIN), ("WATER", "REST")),
    Rule(_duties(Duty.REST_BEGIN), ("REST-LONE-QUEEN",), lambda situation: situation.colony.workers == 0),
    Rule(_duties(Duty.REST_BEGIN), ("FIX-04", "REST-FRIDGE"), _rests_in("fridge")),
    Rule(_duties(Duty.REST_BEGIN, Duty.REST_CHECK), ("REST-OUTDOORS",), _rests_in("outdoors")),
    Rule(_duties(Duty.REST_COOL_DOWN, Duty.REST_BEGIN, Duty.REST_CHECK), ("REST-TOO-COLD",), _too_cold),
    Rule(_duties(Duty.REST_COOL_DOWN, Duty.REST_BEGIN, Duty.REST_CHECK), ("REST-TOO-WARM",), _too_warm),
    Rule(_duties(Duty.REST_CHECK), ("WATER", "REST-DRY-AIR")),
    Rule(_duties(Duty.REST_CHECK), ("REST-TOO-LONG",), _rests_long),
    Rule(_duties(Duty.REST_WARM_UP), ("WATER", "REST-WARM-UP", "REST-WAKING")),
    Rule(_duties(Duty.REST_WARM_UP), ("TUBE-WARM",), _in_tube),
    Rule(_duties(Duty.REST_END), ("REST", "REST-WAKING")),
)
_RULES_OF = {duty: tuple(rule for rule in RULES if duty in rule.duties) for duty in Duty}
WEAR = {"ptfe": ("BAR-02",), "oil": ("BAR-06",), "petroleum-jelly": ("BAR-06",), "moat": ("BAR-07",)}
"""What to look for at a check, by barrier; what a renewal asks for stands with the barrier itself."""
AMOUNT_ENDINGS = ("_g", "_mg", "_ml", "pieces", "drops")


def for_occurrence(
    duty: Duty, situation: Situation, facts: Mapping[str, float | str], advised: Iterable[str] = ()
) -> tuple[str, ...]:
    """Ids that go with a duty of a colony on its day, strongest first; of equals those that its rule `advised`.

    `facts` are those of the occurrence: `food` names an entry of the handbook, keys of amounts end in their unit.
    """
    ids = [*advised]
    ids += [name for rule in _RULES_OF[duty] if rule.when(situation) for name in rule.ids]
    ids += _of_goods(duty, situation, facts)
    ids += situation.rest.cautions if duty is Duty.WATER and _told_this_season(situation) else ()
    return strongest_first(ids, situation.handbook.cautions)


def _told_this_season(situation: Situation) -> bool:
    """Whether a colony that does not rest is told so with this look at its water: the first, and the first of a winter.

    Others begin their rest then, so that is when somebody could chill it by mistake.
    """
    if situation.rest.phases or not situation.rest.cautions:
        return False
    last = situation.done.get(Duty.WATER)
    starts = (calendar_start(situation.keeper.latitude, situation.day.year - back) for back in (0, 1))
    return last is None or any(start is not None and last < start <= situation.day for start in starts)


def _of_goods(duty: Duty, situation: Situation, facts: Mapping[str, float | str]) -> list[str]:
    """Cautions that foods, barriers and heaters carry themselves, and the doubt about every amount."""
    book, colony, ids = situation.handbook, situation.colony, list[str]()
    barrier = None if colony.outworld is None else colony.outworld.barrier
    if duty in FEEDING:
        food = book.foods.get(str(facts.get("food")))
        ids += () if food is None else food.cautions
        ids += ["ESTIMATE"] if any(key.endswith(AMOUNT_ENDINGS) for key in facts) else []
    elif duty is Duty.BARRIER_CHECK and barrier is not None:
        ids += WEAR.get(barrier, ())
    elif duty is Duty.BARRIER_RENEW:
        kind = book.barriers.get(barrier or "")
        ids += () if kind is None else kind.cautions
    elif duty is Duty.HEAT_CHECK and colony.heater is not None:
        heater = book.heaters.get(colony.heater.kind)
        ids += ("FIX-02",) if heater is None else heater.cautions
    return ids


def strongest_first(ids: Iterable[str], book: Mapping[str, Caution]) -> tuple[str, ...]:
    """Ids without repeats in the order they are shown; ids that the book lacks keep their order at the end."""
    unique = tuple(dict.fromkeys(ids))
    known = [caution.id for caution in in_order((name for name in unique if name in book), book)]
    return (*known, *(name for name in unique if name not in book))
