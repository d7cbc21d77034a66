"""`python -m tests.bench.growth [--largest COLONIES] [--json FILE] [--picture FILE]`: what grows with the store.

The same figures among 1,000, 10,000, 100,000 and 1,000,000 colonies, on both databases, as JSON and as a picture.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.adapters.logs import configure
from tests.bench.__main__ import KINDS, Yard, note, open_yard
from tests.bench.claiming import claim_ms
from tests.bench.commanding import commands
from tests.bench.footprint import measure
from tests.bench.planning import looks
from tests.bench.stock import NOW

SIZES = (1_000, 10_000, 100_000, 1_000_000)
ROUNDS, LOOKED_AT = 20, 400
FIGURES = {
    "claim": "claiming 100 due keepers, ms",
    "command": "a slash command, p99, ms",
    "look": "look at a colony whose plan stands, ms",
    "ready": "start until ready, s",
    "memory": "peak memory, MB",
}

Point = dict[str, float | str]


def at_size(yard: Yard, kind: str, colonies: int) -> Point:
    """All figures of one store; the stores of earlier sizes stay as they are."""
    url = yard.filled(kind, colonies)
    each, _, _ = asyncio.run(looks(url, yard.book, min(LOOKED_AT, colonies // 4), NOW))
    ready, memory = measure(url)
    command = asyncio.run(commands(url, yard.book, colonies, ROUNDS))[-1].ours
    claim = asyncio.run(claim_ms(url, colonies))
    return {
        "database": kind,
        "colonies": colonies,
        "claim": claim,
        "command": command,
        "look": each * 1000,
        "ready": ready,
        "memory": memory,
    }


def draw(points: Sequence[Point], file: Path) -> None:
    """One small chart a figure: colonies to the right, both axes by powers of ten."""
    from matplotlib.figure import Figure  # noqa: PLC0415 - only who wants a picture waits for it

    picture = Figure(figsize=(9, 5.4), layout="constrained")
    for place, (name, title) in enumerate(FIGURES.items(), start=1):
        axes = picture.add_subplot(2, 3, place)
        for kind, mark in zip(KINDS, ("o-", "s--"), strict=True):
            mine = [point for point in points if point["database"] == kind]
            axes.plot([point["colonies"] for point in mine], [point[name] for point in mine], mark, label=kind)
        axes.set_xscale("log")
        axes.set_ylim(0, 1.2 * max(float(point[name]) for point in points))
        axes.set_title(title, fontsize=9)
        axes.set_xlabel("colonies stored", fontsize=8)
        axes.tick_params(labelsize=8)
        axes.legend(fontsize=7, loc="lower left")
    picture.savefig(file)


def main() -> int:
    """Measure, print, write."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.growth", description="What grows with the store.")
    parser.add_argument("--largest", type=int, default=SIZES[-1], metavar="COLONIES")
    parser.add_argument("--json", type=Path, metavar="FILE")
    parser.add_argument("--picture", type=Path, metavar="FILE", help="such as growth.svg")
    options = parser.parse_args()
    logging.disable(logging.WARNING)
    configure("ERROR")
    points = list[Point]()
    with open_yard() as yard:
        for colonies in (size for size in SIZES if size <= options.largest):
            for kind in KINDS:
                points.append(at_size(yard, kind, colonies))
                note(json.dumps(points[-1]))
    if options.json:
        options.json.write_text(json.dumps(points, indent=2) + "\n", "utf-8")
    if options.picture:
        draw(points, options.picture)
    sys.stdout.write("\n".join(json.dumps(point) for point in points) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
