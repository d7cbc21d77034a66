"""What the cautions of an answer become for the asker's own colony, where the question names no ant.

Lines that fit other ants only give way to those of its species, as for named ants; its dangers come where the answer
speaks of such. A line on cooling down is of no use once the rest runs, and wrong where no rest is to be advised.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from bot.care.answers.named_cautions import Lines, speak_of
from bot.care.answers.values import Facts
from bot.care.cautions import in_order
from bot.care.handbook import Handbook
from bot.care.phase import COLD_PHASES, Phase
from bot.care.place import Keeper
from bot.care.species import Founding, SpeciesProfile

_COOLING, _WALLED_IN = "REST-COOL-SLOWLY", "FOUNDING-QUIET"
_CALLS_FOR_COLD = frozenset({_COOLING, "REST-ENDO"})
_KEEP_WARM = "REST-TROPICAL"
"""What stands for them where nobody knows whether the species rests: a chill is the error that kills."""
_INSTEAD: Mapping[Phase, str] = {
    Phase.REST: "REST",
    Phase.WARM_UP: "REST-WARM-UP",
    Phase.RESUME: "REST-WAKING",
}
"""Phase of a rest -> the line that stands in the place of the one on cooling down."""
_BEGINNING = frozenset({"hibernation-start", "hibernation-temp"})
"""Topics with which the line on cooling down stays: the calendar may be ahead of the colony."""
_FOOD, _NO_FOOD = "feeding-", "REST"
"""How topics of food begin, and the line that says that there is none in the cold."""


def own_ant(facts: Facts, species: Mapping[str, SpeciesProfile]) -> SpeciesProfile | None:
    """The entry of the asker's species, with the way of founding that its keeper told; `None` where none is known."""
    profile = species.get(facts.species or "")
    if profile is None or facts.founding is None:
        return profile
    return replace(profile, founding=(facts.founding,))


def speak_of_own(
    lines: Lines,
    topics: Collection[str],
    facts: Facts,
    handbook: Handbook,
    keeper: Keeper,
    stands_for: Mapping[str, str],
) -> Lines:
    """The cautions of an answer about the asker's colony; arguments as for `speak_of`."""
    own = own_ant(facts, handbook.species)
    if own is None:
        return lines
    found = speak_of(lines, topics, [own], handbook, keeper, stands_for, own=True)
    walled_in = facts.founding in {None, Founding.CLAUSTRAL}
    begins = not _BEGINNING.isdisjoint(topics)
    ids = [_now(name, facts, begins=begins) for name in found.ids if walled_in or name != _WALLED_IN]
    if facts.phase in COLD_PHASES and any(topic.startswith(_FOOD) for topic in topics):
        ids.append(_NO_FOOD)
    return replace(found, ids=tuple(caution.id for caution in in_order(ids, handbook.cautions)))


def _now(name: str, facts: Facts, *, begins: bool) -> str:
    """A line, or what is said instead in the phase of the colony."""
    if facts.restless:
        return _KEEP_WARM if name in _CALLS_FOR_COLD else name
    if begins or name != _COOLING or facts.phase is None:
        return name
    return _INSTEAD.get(facts.phase, name)
