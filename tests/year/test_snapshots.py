"""The year of every household as a text a reviewer reads on one screen; a diff shows what a change does.

Refresh all of them with `pytest tests/year --refresh-snapshots`, and read the diff before you commit it.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.year.kit import FILES, FOLDER, Year
from tests.year.summary import summary

SNAPSHOTS = FOLDER / "snapshots"


@pytest.mark.parametrize("name", [file.stem for file in FILES])
def test_the_year_of_a_household_is_as_reviewed(name: str, years: Mapping[str, Year], refresh_snapshots: bool) -> None:  # noqa: FBT001 - a fixture
    text = summary(years[name])
    file = SNAPSHOTS / f"{name}.txt"
    if refresh_snapshots:
        file.write_text(text, "utf-8")
    assert file.exists(), "no snapshot yet: run pytest tests/year --refresh-snapshots and read it"
    assert text == file.read_text("utf-8")


def test_every_snapshot_belongs_to_a_household() -> None:
    assert {file.stem for file in SNAPSHOTS.glob("*.txt")} == {file.stem for file in FILES}
