"""Names and subfamilies of the handbook against NCBI Taxonomy, frozen in `fixtures/ncbi_names.toml`.

Presence there shows that a name is in use for an ant; it does not prove that the name is valid.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.shelf import handbook

HERE = Path(__file__).parent
SPECIES = handbook().species
FROZEN: dict[str, Any] = tomllib.loads((HERE / "fixtures" / "ncbi_names.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", SPECIES)
def test_a_name_is_known_as_an_ant_or_known_to_be_missing(name: str) -> None:
    profile = SPECIES[name]
    if name in FROZEN["absent"]:
        assert len(FROZEN["absent"][name]) > 10
        assert FROZEN["names"][profile.genus]["family"] == "Formicidae"
        return
    record = FROZEN["names"][name]
    assert (record["family"], record["rank"], record["subfamily"]) == ("Formicidae", profile.rank, profile.subfamily)


def test_the_fixture_says_where_it_comes_from_and_holds_nothing_else() -> None:
    assert set(FROZEN["snapshot"]) == {"source", "version", "licence"}
    assert set(FROZEN["names"]) | set(FROZEN["absent"]) == set(SPECIES)
    ids = [record["tax_id"] for record in FROZEN["names"].values()]
    assert len(set(ids)) == len(ids)
