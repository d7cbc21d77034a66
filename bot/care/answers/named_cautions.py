"""What the cautions of an answer become where the question names ants: their own lines, and none that fits others only.

Which line belongs to which species is decided in `caution_rules.py`, for plans and answers alike. Dangers of a species
come whatever is asked about it, the line on its season where the answer speaks of cold. Unknown stays a careful guess.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC

from bot.care.caution_rules import EU_FLAG, EXPORT, PROTECTED, SEASON, UNION_LIST, for_profile
from bot.care.cautions import Kind, in_order
from bot.care.handbook import Handbook
from bot.care.place import Keeper
from bot.care.species import DormancyClass, Founding, SpeciesProfile

SOMEBODY = Keeper(zone_name="UTC", zone=UTC)
"""Somebody of whom nothing is known."""
_ALWAYS = frozenset({"STG-03", "STG-07", "LAW-08", "LAW-12", UNION_LIST})
"""Dangers of a species that come whatever is asked about it."""
_WITH: Mapping[str, frozenset[Kind]] = {
    "STG-02": frozenset({Kind.STING}),
    "LAW-09": frozenset({Kind.LAW}),
    "LAW-12": frozenset({Kind.LAW, Kind.ECOLOGY}),
    **dict.fromkeys(SEASON.values(), frozenset({Kind.COLD})),
}
"""Lines of a species that come where the answer speaks of one of these kinds."""
_IN_THE_HAND = frozenset({"STG-05", "STG-08"})
"""What acid and jaws do: lines that come where stings and bites are the topic."""
_BOUND = frozenset({"LAW-08", "FOUNDING-QUIET"})
"""Lines that name their ants in the text itself: wood ants, claustral queens."""
_ASKS_THE_AUTHORITY = frozenset({UNION_LIST, "LAW-08"})
"""Lines of a species beside which it goes without saying that rules are unknown here and an authority knows them."""
_COLD_TOPICS = "hibernation"
"""How the topics of the winter rest begin, with which the line on a season comes too."""
_SEASONS = frozenset({*SEASON.values(), "REST-ENDO"})


@dataclass(frozen=True, slots=True)
class Lines:
    """Cautions as ids, and for those that speak of “this ant”: id -> the ants that it speaks of."""

    ids: tuple[str, ...]
    spoken_for: tuple[Kind, ...] = ()
    """Kinds that one of them speaks for beside its own."""
    whom: Mapping[str, str] = field(default_factory=dict)


def speak_of(
    lines: Lines,
    topics: Collection[str],
    profiles: Sequence[SpeciesProfile],
    handbook: Handbook,
    keeper: Keeper,
    stands_for: Mapping[str, str],
    *,
    own: bool = False,
) -> Lines:
    """The cautions of an answer about named ants.

    Args:
        lines: what was chosen before it was known which ants are meant.
        topics: those whose facts are told.
        profiles: the ants.
        handbook: its cautions, and the law of countries.
        keeper: whose country counts.
        stands_for: kind -> the caution that stands for it, where a line that fits others only was the last of its kind.
        own: whether they are the asker's, who is told of their dangers only where the answer speaks of such.
    """
    book, ids = handbook.cautions, lines.ids
    kinds = {book[name].kind for name in ids}
    bearers = _bearers(profiles, handbook, keeper)
    coming = [name for name, whose in bearers.items() if _comes(name, kinds, topics, whose)]
    added = [name for name in coming if not own or name not in _ALWAYS or book[name].kind in kinds]
    bound = {name for name in ids if book[name].whom or name in _BOUND}
    unfit = {name for name in bound if name not in bearers and not _open(name, profiles, handbook)}
    if _ASKS_THE_AUTHORITY & set(added):
        unfit.add("LAW-ASK")
    if not any(one.needs_rest for profile in profiles for one in (profile, *_species_of(profile, handbook))):
        unfit |= {name for name in ids if book[name].kind is Kind.COLD and name not in bearers}
    whole = dict.fromkeys([*added, *(name for name in ids if name not in unfit)])
    lost = kinds - {book[name].kind for name in whole}
    whole |= dict.fromkeys(stands_for[kind] for kind in sorted(lost))
    shown = tuple(caution.id for caution in in_order(whole, book))
    return Lines(shown, lines.spoken_for, addressed(shown, profiles, handbook, keeper))


def addressed(
    ids: Iterable[str], profiles: Sequence[SpeciesProfile], handbook: Handbook, keeper: Keeper
) -> dict[str, str]:
    """Of cautions that speak of “this ant”: id -> the named ants that it speaks of."""
    bearers = _bearers(profiles, handbook, keeper)
    return {name: _whom(name, bearers[name]) for name in ids if name in bearers and handbook.cautions[name].whom}


def dangers_of(profiles: Sequence[SpeciesProfile], handbook: Handbook, keeper: Keeper) -> tuple[str, ...]:
    """Dangers that come with named ants whatever is asked about them."""
    bearers = _bearers(profiles, handbook, keeper)
    return tuple(name for name, whose in bearers.items() if _comes(name, (), (), whose))


def _bearers(profiles: Iterable[SpeciesProfile], handbook: Handbook, keeper: Keeper) -> dict[str, list[SpeciesProfile]]:
    """Id of a line -> the named ants that it belongs to."""
    found: dict[str, list[SpeciesProfile]] = {}
    for profile in profiles:
        for name in _lines_of(profile, handbook, keeper):
            found.setdefault(name, []).append(profile)
    return found


def _lines_of(profile: SpeciesProfile, handbook: Handbook, keeper: Keeper) -> Iterable[str]:
    listed = set(profile.regulation) - PROTECTED - EXPORT
    yield from (name for name in for_profile(profile, keeper, handbook) if name != "LAW-12" or listed)
    if profile.dormancy is DormancyClass.ENDO:
        yield "REST-ENDO"
    if not profile.founding or Founding.CLAUSTRAL in profile.founding:
        yield "FOUNDING-QUIET"


def _comes(name: str, kinds: Collection[Kind], topics: Collection[str], whose: Sequence[SpeciesProfile]) -> bool:
    """Whether a line of the named ants comes; lists that name some species of a genus only where law is spoken of."""
    if name == "LAW-12" and not any(_surely_listed(profile) for profile in whose):
        return not _WITH[name].isdisjoint(kinds)
    if name in _ALWAYS or not _WITH.get(name, frozenset()).isdisjoint(kinds):
        return True
    cold = name in SEASON.values() and any(topic.startswith(_COLD_TOPICS) for topic in topics)
    return cold or (name in _IN_THE_HAND and "stings" in topics)


def _surely_listed(profile: SpeciesProfile) -> bool:
    return profile.rank == "species" or any(flag.startswith(EU_FLAG) for flag in profile.regulation)


def _open(name: str, profiles: Iterable[SpeciesProfile], handbook: Handbook) -> bool:
    """Whether a line that belongs to none of the ants may still be theirs: their cycle is unknown, or species vary."""
    if name in _SEASONS and any(profile.dormancy is DormancyClass.UNKNOWN for profile in profiles):
        return True
    species = (one for profile in profiles for one in _species_of(profile, handbook))
    return any(name in _lines_of(one, handbook, SOMEBODY) for one in species)


def _species_of(profile: SpeciesProfile, handbook: Handbook) -> Iterable[SpeciesProfile]:
    """The species that the handbook holds of a genus."""
    if profile.rank == "genus":
        yield from (one for one in handbook.species.values() if one.genus == profile.genus and one.rank == "species")


def _whom(name: str, whose: Iterable[SpeciesProfile]) -> str:
    by_list = name.startswith("LAW")
    said = " and ".join(
        f"some species of {profile.name}" if by_list and profile.rank == "genus" else profile.name for profile in whose
    )
    return said[:1].upper() + said[1:]
