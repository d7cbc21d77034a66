"""Personal slots of a card: engines fill them; where nothing is known, the card says so instead of guessing."""

from __future__ import annotations

import re
from collections.abc import Mapping

SLOTS: Mapping[str, str] = {
    "next_water": "I don't know when your nest was last watered, so look at the water today.",
    "water_side": "I don't know which side of your nest was watered last; the drier one is next.",
    "next_sugar": "I don't know your last sugar day, so look whether any is left.",
    "next_protein": "I don't know your last prey day; let the larvae decide.",
    "feeding_interval": "I don't know your colony well enough for days; go by what is left over.",
    "protein_interval": "I don't know your brood, so begin small and watch what is left.",
    "phase": "I don't know where your colony stands in its year.",
    "rest_needed": "I don't know your species, so I cannot say for yours.",
    "rest_start": "I don't know your species and place, so I name no date.",
    "rest_end": "I don't know when your rest began, so I name no date.",
    "rest_weeks": "I don't know your species, so I name no weeks.",
    "rest_temperature": "I don't know your species, so ask me for its range first.",
    "barrier_due": "I don't know your barrier and its age.",
    "warm_side": "I don't know your heater and the warmth at your nest wall.",
    "heat_limit": "For most kinds, yours probably too, the exact limit is not known.",
    "growth_trend": "I don't know your last counts; note one each month.",
    "first_workers": "I don't know when the first eggs came, so I name no date.",
    "founding": "I don't know her species, so I cannot say which kind she is.",
    "species": "I don't know your species, so I take it for one that can sting.",
    "country_law": "I don't know your country, so I cannot name its rules; ask your authority.",
    "emergency_number": "I don't know your country: 112, 911, 999 and 000 are common, in New Zealand 111.",
}
"""Slot -> the sentence that stands there when nothing is known. A filled slot is one sentence too."""
OF_THE_KEEPER = frozenset({"country_law", "emergency_number"})
"""Slots that speak of no colony."""
_SLOT = re.compile(r"\{([a-z_]+)\}")
_LEAD = re.compile(r"For .+?, (?=[a-z])")
"""How a sentence begins that is for one colony; its name may hold commas."""


def slots_in(body: str) -> tuple[str, ...]:
    """Names of the slots of a body, in order."""
    return tuple(_SLOT.findall(body))


def tells_of_a_colony(body: str) -> bool:
    """Whether a body has slots that only a colony fills."""
    return not OF_THE_KEEPER.issuperset(slots_in(body))


def fill(body: str, slots: Mapping[str, str]) -> str:
    """The body with its slots filled; a slot that is missing or empty becomes its general sentence.

    Raises:
        KeyError: the body names a slot that does not exist; the loader makes that impossible for config/.
    """
    return "\n\n".join(_filled(paragraph, slots) for paragraph in body.split("\n\n"))


def _filled(paragraph: str, slots: Mapping[str, str]) -> str:
    """A paragraph; where its sentences are for the same colony, only the first of them begins with its name."""
    named = set[str]()

    def sentence(found: re.Match[str]) -> str:
        said = slots.get(found[1]) or SLOTS[found[1]]
        lead = _LEAD.match(said)
        if lead is None or lead[0] not in named:
            named.update(() if lead is None else (lead[0],))
            return said
        rest = said[lead.end() :]
        return rest[:1].upper() + rest[1:]

    return _SLOT.sub(sentence, paragraph)
