"""Reads a batch of questions: one JSON object a line."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path


def read_batch(file: Path) -> Iterator[Mapping[str, object]]:
    """The objects of a JSON Lines file; empty lines are passed over.

    Raises:
        ValueError: a file that cannot be read or a line that is no JSON object, with its number.
    """
    try:
        text = file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise ValueError(f"{file.name} cannot be read ({problem}); give a JSON Lines file in UTF-8.") from problem
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            read = json.loads(line)
        except json.JSONDecodeError as problem:
            raise ValueError(f"{file.name}, line {number}: no JSON ({problem.msg}).") from problem
        if not isinstance(read, dict):
            raise ValueError(  # noqa: TRY004 - a fault of the file, told like its others
                f"{file.name}, line {number}: a line is one JSON object with “id” and “text”."
            )
        yield read
