"""What is offered while a keeper types; at most 25 lines of at most 100 characters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from bot.adapters.chat.presenters.text import OPTION, short
from bot.care.handbook import Handbook
from bot.services.ports import Zones

MOST = 25
Offer = tuple[str, str]
"""What is shown, and the value behind it."""


def species_offers(handbook: Handbook, typed: str) -> list[Offer]:
    """Profiles whose name, alias or epithet begins with what was typed; else those that resemble it."""
    wanted = " ".join(typed.split()).casefold()
    ranked: dict[str, tuple[int, str]] = {}
    for alias, name in handbook.names.items():
        rank = _rank(alias, wanted)
        if rank is not None and (name not in ranked or rank < ranked[name][0]):
            ranked[name] = (rank, alias)
    names = sorted(ranked, key=lambda name: (ranked[name][0], name))
    if not names:
        names = list(handbook.nearest(wanted, MOST))
    return _capped((_species_label(handbook, name, ranked.get(name, (0, ""))[1]), name) for name in names)


def _rank(name: str, wanted: str) -> int | None:
    if name.startswith(wanted):
        return 0
    if any(word.startswith(wanted) for word in name.split()):
        return 1
    return 2 if len(wanted) > 2 and wanted in name else None


def _species_label(handbook: Handbook, name: str, alias: str) -> str:
    profile = handbook.species[name]
    if profile.rank == "genus":
        return f"{name} (genus only: wider bands)"
    return name if not alias or alias in name.casefold() else f"{name} ({alias})"


def zone_offers(zones: Zones, typed: str) -> list[Offer]:
    """Zones whose town or name begins with what was typed, then those that contain it."""
    wanted = "_".join(typed.split()).casefold()
    ranked = [(rank, name) for name in zones.names() if (rank := _zone_rank(name.casefold(), wanted)) is not None]
    return _capped((name, name) for _, name in sorted(ranked))


def canonical_zone(zones: Zones, typed: str) -> str:
    """The zone's own spelling, whatever the case that was typed; an unknown name stays as it is."""
    wanted = "_".join(typed.split()).casefold()
    return next((name for name in zones.names() if name.casefold() == wanted), typed)


def _zone_rank(name: str, wanted: str) -> int | None:
    if name.rsplit("/", 1)[-1].startswith(wanted):
        return 0
    if name.startswith(wanted):
        return 1
    return 2 if wanted in name else None


def named_offers(entries: Mapping[str, str], typed: str) -> list[Offer]:
    """Entries (id -> name) whose name or id contains what was typed, those that begin with it first."""
    wanted = typed.strip().casefold()
    found = [
        (not name.casefold().startswith(wanted), name, key)
        for key, name in entries.items()
        if wanted in name.casefold() or wanted in key.casefold()
    ]
    return _capped((name, key) for _, name, key in sorted(found))


def _capped(offers: Iterable[Offer]) -> list[Offer]:
    chosen: Sequence[Offer] = [(short(label, OPTION), value) for label, value in offers if len(value) <= OPTION]
    return list(chosen[:MOST])
