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
_SURE = 0.08
"""Share of the probability on declined topics from which the likeliest of them decides (judgement, tuned)."""
_OTHER, _CERTAIN = 0.75, 0.2
"""Unless another topic is likelier than the first and they are less likely than the second (judgement)."""
_LEAST = 0.05
"""In any case one of them must be as likely as this: a vague question is no wrong one (judgement, tuned)."""
_BEHIND: Mapping[Decline, int] = {Decline.UNSAFE: 8, Decline.MEDICAL: 8}
_BEHIND_ELSE = 4
"""And no other topic may be that many times likelier; where advice could hurt, doubt counts for more (tuned)."""
_CHATTER = 0.05
"""Without a word of the trade, this much is enough for chatter."""
_MERE = 0.15
"""With words of the trade, chatter must be this likely: a cat on the nest is no small talk."""
_FLAT = 0.09
"""Where no topic is likelier than this, nothing was understood (judgement, tuned)."""
_DOUBT = 0.1
"""With words of pain and of stings, this much is enough to show emergency wording."""
_EMPTY = frozenset(
    {
        "chat", "steer", "other_pet", "growth_word", "normal", "light", "picture", "vibration", "sick", "males", "idle",
    }
)  # fmt: skip
"""Concepts that occur in any chat and say nothing about ants."""
_ASKING = ("ask_", "time_", "long_wait", "just_now", "temperature-")


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether to decline, and whether the question was understood at all."""

    decline: Decline | None = None
    understood: bool = True


def judge(reading: Reading, probabilities: Mapping[str, float], topics: Mapping[str, Topic], facts: Facts) -> Verdict:
    """The verdict on a question; medical signs outrank everything."""
    said = reading.concepts
    if "eye_hurt" in said:
        return Verdict(Decline.MEDICAL)
    if "medical" in said and ("sting" in said or "swallowed" in said) and probabilities["oos-medical"] > _DOUBT:
        return Verdict(Decline.MEDICAL)
    chatter = "steer" in said or (not facts.anything and probabilities["oos-chat"] > _CHATTER)
    if chatter and not _trade(said):
        return Verdict(Decline.CHAT)
    if max(probabilities.values()) < _FLAT:
        return Verdict(understood=False)
    declined = {name: share for name, share in probabilities.items() if topics[name].declined}
    if _trade(said) and declined["oos-chat"] < _MERE:
        del declined["oos-chat"]
    share, top = sum(declined.values()), max(sorted(declined), key=lambda name: declined[name])
    other = max(share for name, share in probabilities.items() if not topics[name].declined)
    enough = share >= _CERTAIN or (share >= _SURE and other < _OTHER)
    if enough and declined[top] >= max(_LEAST, other / _BEHIND.get(_REASONS[top], _BEHIND_ELSE)):
        return Verdict(_REASONS[top])
    return Verdict(understood=bool(reading.concepts))


def _trade(said: frozenset[str]) -> frozenset[str]:
    return frozenset(concept for concept in said - _EMPTY if not concept.startswith(_ASKING))
