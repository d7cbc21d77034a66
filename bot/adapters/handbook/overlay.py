"""Lays a second config folder over the first: it may add entries and replace single fields of entries."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.reading import Folder, read_folder


def lay_over(base: Folder, overlay: Folder) -> tuple[str, ...]:
    """Changes `base` by what `overlay` holds, and says what that replaces, a sentence for each field."""
    replaced = []
    for shelf, entries in overlay.shelves.items():
        known = base.shelves[shelf]
        for entry_id, entry in entries.items():
            if entry_id not in known:
                known[entry_id] = entry
                continue
            under = known[entry_id]
            for key, value in entry.fields.items():
                if key in under.fields and under.fields[key] != value:
                    before = f"{_said(under.fields[key])} ({under.file_of(key)})"
                    replaced.append(f"{entry.file}: [{entry_id}] {key}: {before} becomes {_said(value)}.")
                under.fields[key] = value
                under.files[key] = entry.file
    base.problems += overlay.problems
    base.broken |= overlay.broken
    return tuple(replaced)


def overrides(config: Path, *overlays: Path) -> tuple[str, ...]:
    """What overlay folders replace in a config folder, as sentences; entries they only add are not listed.

    Raises:
        HandbookError: a folder or file that cannot be read.
    """
    base = read_folder(config, whole=True)
    said = [sentence for overlay in overlays for sentence in lay_over(base, read_folder(overlay, whole=False))]
    if base.problems:
        raise HandbookError(base.problems)
    return tuple(said)


def _said(value: Any) -> str:
    """A raw value as a person reads it; a figure without its source and confidence."""
    if isinstance(value, dict) and "value" in value:
        unit = value.get("unit", "")
        return f"{value['value']} {unit}".strip()
    return repr(value) if isinstance(value, str) else str(value)
