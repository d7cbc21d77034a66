"""A measured figure beside its reference, as a line of the table and as an object of the JSON file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """What was measured; `name` states the size, `target` what was promised, and `met` whether it was kept."""

    name: str
    ours: float
    reference: float | None
    """Measured in the same run, or the platform's limit; `None` where the target alone is the measure."""
    unit: str
    target: str
    met: bool


def table(figures: Sequence[Figure]) -> str:
    """All figures, one a line, under a heading."""
    rows = [("figure", "ours", "reference", "unit", "target", "met")]
    rows += [
        (each.name, said(each.ours), said(each.reference), each.unit, each.target, "yes" if each.met else "MISSED")
        for each in figures
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return "\n".join("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows)


def write(figures: Sequence[Figure], file: Path) -> None:
    """A list of objects."""
    file.write_text(json.dumps([asdict(each) for each in figures], ensure_ascii=False, indent=2) + "\n", "utf-8")


def said(value: float | None) -> str:
    """Three digits that count."""
    if value is None:
        return "-"
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def percentile(values: Sequence[float], share: float) -> float:
    """The value that a share of the values does not pass (nearest rank)."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, max(0, -(-int(share * 1000) * len(ordered) // 1000) - 1))]
