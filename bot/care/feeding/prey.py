"""Whether prey may be fed: where it comes from, what freezing and boiling do, and what neither can do.

Doubt about poison overrides every treatment: frozen, treated ants still killed colonies (Rust, Soeprono & Reierson).
Freezing lines: Olson et al. 2013 (bed bugs), museum practice after Strang 1992. Boiling: Klunder et al. 2012.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from bot.care.errors import BadValueError

ALWAYS = ("PREY-POISON", "PREY-FUNGUS")
"""Every answer about prey carries these."""
_FEEDERS = ("FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE")
BOILED_SHARE = 0.34
"""Mean share of residues left in plant food after blanching (Kim et al. 2016); far too much to lean on."""


class Source(StrEnum):
    """Where prey comes from."""

    OWN_CULTURE = "own culture on known feed"
    BOUGHT_CULTURE = "bought feeder culture"
    SMALL_CULTURE = "springtail or fruit fly culture"
    WILD_UNSPRAYED = "wild, from land known unsprayed for over a year"
    WILD_UNKNOWN = "wild, from anywhere else"
    FOUND_DEAD = "found dead or dying indoors"
    DEAD_BEES = "dead bees or wasps"
    BAIT = "fishing bait"
    OTHER_ANTS = "other ants or their brood"
    KITCHEN = "plain cooked meat or egg"
    SHOP_PLANT_APHIDS = "aphids or leaves of shop plants"
    SOWING_SEED = "coloured or dusted sowing seed"


class Doubt(StrEnum):
    """Ways poison may have reached prey; a `yes` or a `don't know` to any of them is a doubt."""

    NEAR_SPRAYING = "caught near sprayed crops, lawns, ornamentals or treated seed"
    DYING = "found dying, twitching or dead"
    TRAP = "from a sticky or light trap"
    TREATED_HOUSE = "from a house treated against insects"
    PET_PRODUCT = "pet or livestock products against parasites"
    HANDS = "hands with repellent, lotion or nicotine"
    VAPORISER = "insecticidal vaporiser in the room"
    SHOP_PRODUCE = "raised on bought produce of unknown treatment"


class Verdict(StrEnum):
    """What to do with the prey."""

    FEED = "feed"
    WATCH_FIRST = "watch for some days, then feed"
    FREEZE_FIRST = "freeze first, then feed"
    SMALL_AMOUNTS = "small amounts only"
    DO_NOT_FEED = "do not feed"


class Need(StrEnum):
    """How a treatment stands with a source."""

    REQUIRED = "required"
    RECOMMENDED = "recommended"
    OPTIONAL = "optional"
    NOT_NEEDED = "not needed"
    USELESS = "makes no difference"


class ColdVerdict(StrEnum):
    """What a stay in the freezer is worth against insects and mites, never against poison or spores."""

    NO_ASSURANCE = "no assurance"
    NOT_VALIDATED = "not validated"
    TOO_SHORT = "too short"
    BED_BUGS_ONLY = "enough for bed bugs only"
    ENOUGH = "enough against insects"


class HeatVerdict(StrEnum):
    """What boiling is worth against microbes and parasites, never against poison."""

    TOO_SHORT = "too short"
    STALE = "kept too long"
    ENOUGH = "enough, though spores may survive"


@dataclass(frozen=True, slots=True)
class PreyAdvice:
    """A verdict with its reason, how freezing and boiling stand with it, and the cautions that go with it."""

    verdict: Verdict
    reason: str
    freeze: Need
    boil: Need
    cautions: tuple[str, ...] = ALWAYS


_COLD_LINES = ((-18.0, 84, 336), (-20.0, 96, 168), (-30.0, 48, 144), (-math.inf, 72, 72))
"""For a core warmer than the first figure (C): hours that kill bed bugs, hours that are enough against insects."""


def _never(reason: str, *cautions: str) -> PreyAdvice:
    return PreyAdvice(Verdict.DO_NOT_FEED, reason, Need.USELESS, Need.USELESS, (*ALWAYS, *cautions))


_BY_SOURCE = {
    Source.OWN_CULTURE: PreyAdvice(
        Verdict.FEED,
        "You know what it ate. Freezing kills it and stops escapes.",
        Need.OPTIONAL,
        Need.NOT_NEEDED,
        (*ALWAYS, *_FEEDERS),
    ),
    Source.BOUGHT_CULTURE: PreyAdvice(
        Verdict.WATCH_FIRST,
        "Watch a bought culture for 3 to 7 days; feed it if it stays healthy, best after a week in the freezer.",
        Need.RECOMMENDED,
        Need.OPTIONAL,
        (*ALWAYS, "PREY-FREEZE", *_FEEDERS),
    ),
    Source.SMALL_CULTURE: PreyAdvice(
        Verdict.FEED,
        "Offer springtails and fruit flies fresh.",
        Need.NOT_NEEDED,
        Need.NOT_NEEDED,
        (*ALWAYS, "FEEDER-ESCAPE"),
    ),
    Source.WILD_UNSPRAYED: PreyAdvice(
        Verdict.FREEZE_FIRST,
        "Only if nobody sprayed there for over a year and no treated animal is near; then a week in the freezer.",
        Need.REQUIRED,
        Need.OPTIONAL,
        (*ALWAYS, "PREY-FREEZE"),
    ),
    Source.WILD_UNKNOWN: _never("Nobody can say what was sprayed there."),
    Source.FOUND_DEAD: _never("Insects that die indoors have often met poison."),
    Source.DEAD_BEES: _never("They may carry viruses, or come from a treated nest.", "SUGAR-HONEY"),
    Source.BAIT: PreyAdvice(
        Verdict.FREEZE_FIRST,
        "Only undyed, unmedicated bait of known origin, after a week in the freezer.",
        Need.REQUIRED,
        Need.OPTIONAL,
        (*ALWAYS, "PREY-FREEZE", "FEEDER-ALLERGY"),
    ),
    Source.OTHER_ANTS: _never(
        "Other ants bring disease and mites. Raiders of brood get frozen brood of known origin only."
    ),
    Source.KITCHEN: PreyAdvice(
        Verdict.SMALL_AMOUNTS,
        "Plain, cooked and unsalted it does no harm, but it raises less brood than insects.",
        Need.NOT_NEEDED,
        Need.NOT_NEEDED,
        (*ALWAYS, "FEEDER-FOOD"),
    ),
    Source.SHOP_PLANT_APHIDS: _never("Shop plants are often treated from the root up, and aphids drink it."),
    Source.SOWING_SEED: _never("The colour or dust is a seed dressing."),
}


def judge_prey(source: Source | None, doubts: frozenset[Doubt] | None = frozenset()) -> PreyAdvice:
    """Whether prey of a source may be fed. `source` or `doubts` `None`: not known, which counts as a doubt."""
    if doubts is None or source is None:
        return _never("If nobody knows its history, poison cannot be ruled out.", "PREY-PETS")
    if doubts:
        named = "; ".join(sorted(doubts))
        return _never(f"Poison cannot be ruled out ({named}), and no treatment takes it away.", "PREY-PETS")
    return _BY_SOURCE[source]


def judge_freezing(core_c: float, hours: float) -> ColdVerdict:
    """What a freezer did: `core_c` of the packet, `hours` counted from when its core was frozen.

    Raises:
        BadValueError: not a number, or a negative time.
    """
    if math.isnan(core_c) or not hours >= 0:
        raise BadValueError(
            "hours", "Give the core temperature in °C and the hours since it was frozen, such as -18 and 168."
        )
    if core_c > -12:
        return ColdVerdict.NO_ASSURANCE
    if core_c > -15:
        return ColdVerdict.NOT_VALIDATED
    bed_bugs, enough = next(line for above, *line in _COLD_LINES if core_c > above)
    if hours >= enough:
        return ColdVerdict.ENOUGH
    return ColdVerdict.BED_BUGS_ONLY if hours >= bed_bugs else ColdVerdict.TOO_SHORT


def judge_boiling(minutes: float, hours_since: float, *, small: bool = False) -> HeatVerdict:
    """What a rolling boil of `minutes` did for prey used `hours_since` it cooled; `small` prey needs 3 minutes, not 5.

    Raises:
        BadValueError: negative or no numbers.
    """
    if not (minutes >= 0 and hours_since >= 0):
        raise BadValueError("minutes", "Give minutes at a rolling boil and hours since, such as 5 and 2.")
    if minutes < (3 if small else 5):
        return HeatVerdict.TOO_SHORT
    return HeatVerdict.ENOUGH if hours_since <= 24 else HeatVerdict.STALE


def share_left(days: float, half_life_days: float) -> float:
    """Share of a residue left after `days`, for a half-life; a low share is no promise of safety."""
    return float(0.5 ** (days / half_life_days))


def half_lives_to(share: float) -> float:
    """Half-lives until only `share` (0..1) is left.

    Raises:
        BadValueError: no share.
    """
    if not 0 < share <= 1:
        raise BadValueError("share", "A share lies above 0 and up to 1, such as 0.01.")
    return math.log2(1 / share)
