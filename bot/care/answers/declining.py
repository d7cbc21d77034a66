"""When not to advise: emergencies of people first, then pests, harm, pictures, chatter; and what is not understood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bot.care.answers.reading import Reading
from bot.care.answers.values import Decline, Facts, Topic

_REASONS: Mapping[str, Decline] = {
    "oos-medical": Decline.MEDICAL,
    "oos-pest-control": Decline.PEST_CONTROL,
    "unsafe-request": Decline.UNSAFE,
    "oos-chat": Decline.CHAT,
    "photo-id": Decline.PICTURE,
}
_ENOUGH: Mapping[Decline, float] = {Decline.MEDICAL: 0.06, Decline.UNSAFE: 0.15}
_ENOUGH_ELSE = 0.08
"""Probability from which a declined topic decides, whatever else is likelier (tuned): to miss a sting reaction costs
most; at a faint guess much could be a harmful wish, and a plain question that is refused costs trust."""
_CLEAR, _AGAINST = 0.7, 0.2
"""Against another topic as likely as the first, pests, harm, chatter and pictures must be as likely as the second."""
HURT = frozenset({"burn_hurt", "crisis", "eye_hurt", "shocked"})
"""Somebody told that it has happened to them."""
_HARMFUL = frozenset({"bait", "barrier", "chem", "poison", "talc"})
"""What a pet that swallowed or licked it is taken to a vet for."""
_EVENTS = frozenset({"sting", "swallowed"})
_SIGNS = frozenset({"medical", "med_danger"})
_OF_ANTS = frozenset({"ant", "brood", "eggs", "larvae", "pupae", "queen", "soldiers", "workers"})
_OF_PEOPLE = frozenset(
    {"bleach_word", "burn_hurt", "fumes", "kids_pets", "person", "pet", "shocked", "sting", "swallowed"}
)
_ASKER = frozenset({"i", "im", "ive", "me", "myself", "he", "him", "his", "ich", "mir", "mich", "yo", "je", "moi"})
"""Who may have signs of a reaction. A pale ant, or a colony that collapsed, has none."""
_UNSAID = 0.3
"""Where no sign of a reaction is told, first aid must be this likely: a plain sting has its own card (judgement)."""
_PLANNED = 0.6
"""Who tells of an allergy before anything has happened asks which ant to keep (judgement)."""
_CHATTER = 0.05
"""Without a word of the trade, this much is enough for chatter."""
_MERE = 0.15
"""With words of the trade, chatter must be this likely: a cat on the nest is no small talk."""
_FLAT = 0.1
"""Where no topic is likelier than this, nothing was understood (judgement, tuned)."""
_BARE = 0.25
"""The same where no more than ants is named: any topic could be meant (judgement, tuned)."""
_DOUBT = 0.1
"""With words of pain and of stings, this much is enough to show emergency wording."""
_EMPTY = frozenset(
    {
        "chat", "steer", "other_pet", "growth_word", "normal", "light", "picture", "vibration", "sick", "males", "idle",
    }
)  # fmt: skip
"""Concepts that occur in any chat and say nothing about ants."""
_NO_MORE = frozenset({"ant", "upset"})
_ASKING = ("ask_", "time_", "long_wait", "just_now", "temperature-")


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether to decline, and whether the question was understood at all."""

    decline: Decline | None = None
    understood: bool = True


def judge(reading: Reading, probabilities: Mapping[str, float], topics: Mapping[str, Topic], facts: Facts) -> Verdict:
    """The verdict on a question; medical signs outrank everything."""
    said = reading.concepts
    if _need_help(said, probabilities["oos-medical"]):
        return Verdict(Decline.MEDICAL)
    chatter = "steer" in said or (not facts.anything and probabilities["oos-chat"] > _CHATTER)
    if chatter and not _trade(said):
        return Verdict(Decline.CHAT)
    if max(probabilities.values()) < (_FLAT if _trade(said) - _NO_MORE else _BARE):
        return Verdict(understood=False)
    declined = {name: share for name, share in probabilities.items() if topics[name].declined}
    if _trade(said) and declined["oos-chat"] < _MERE:
        del declined["oos-chat"]
    clear = max(share for name, share in probabilities.items() if not topics[name].declined) >= _CLEAR
    if said & _OF_ANTS and not (said & _OF_PEOPLE or _ASKER & set(reading.words)):
        said -= _SIGNS
    reasons = {
        name: reason
        for name, share in declined.items()
        if share >= _enough(reason := _REASONS[name], said, clear=clear)
    }
    if reasons:
        return Verdict(reasons[max(sorted(reasons), key=lambda name: declined[name])])
    return Verdict(understood=bool(reading.concepts))


def _need_help(said: frozenset[str], share: float) -> bool:
    """Whether words alone call for first aid; `share` is the probability of its topic."""
    if HURT & said or {"ablaze", "fire_thing"} <= said:
        return True
    if {"pet", "swallowed"} <= said and _HARMFUL & said:
        return True
    ahead = "allergy_ahead" in said and "med_danger" not in said
    return not ahead and "medical" in said and bool(_EVENTS & said) and share > _DOUBT


def _enough(reason: Decline, said: frozenset[str], *, clear: bool) -> float:
    if reason is Decline.MEDICAL and "allergy_ahead" in said and "med_danger" not in said:
        return _PLANNED
    if reason is Decline.MEDICAL:
        return _ENOUGH[reason] if _SIGNS & said else _UNSAID
    return _AGAINST if clear else _ENOUGH.get(reason, _ENOUGH_ELSE)


def _trade(said: frozenset[str]) -> frozenset[str]:
    return frozenset(concept for concept in said - _EMPTY if not concept.startswith(_ASKING))
