"""When not to advise: emergencies of people first, then pests, harm, pictures, chatter; and what is not understood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bot.care.answers.first_aid import SIGNS, is_needed, is_planned, signs_of_people
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
    if is_needed(said, probabilities["oos-medical"]):
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
    said = said - SIGNS | signs_of_people(reading)
    reasons = {
        name: reason
        for name, share in declined.items()
        if share >= _enough(reason := _REASONS[name], said, clear=clear)
    }
    if reasons:
        return Verdict(reasons[max(sorted(reasons), key=lambda name: declined[name])])
    return Verdict(understood=bool(reading.concepts))


def _enough(reason: Decline, said: frozenset[str], *, clear: bool) -> float:
    if reason is Decline.MEDICAL and is_planned(said):
        return _PLANNED
    if reason is Decline.MEDICAL:
        return _ENOUGH[reason] if SIGNS & said else _UNSAID
    return _AGAINST if clear else _ENOUGH.get(reason, _ENOUGH_ELSE)


def _trade(said: frozenset[str]) -> frozenset[str]:
    return frozenset(concept for concept in said - _EMPTY if not concept.startswith(_ASKING))
