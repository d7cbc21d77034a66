"""Everyday names of ants: found in four languages, one or many, and every one means an entry of the handbook.

The names are from memory; no list was opened for them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.adapters.handbook.ant_names import FILE, load_ant_names
from bot.adapters.handbook.errors import HandbookError
from bot.care.answers.guide import Guide


@pytest.mark.parametrize(
    ("text", "entry"),
    [
        ("honeypot ants care", "Myrmecocystus"),
        ("Honigtopfameisen halten", "Myrmecocystus"),
        ("hormigas carpinteras en casa", "Camponotus"),
        ("des fourmis de feu", "Solenopsis"),
        ("can i keep Argentine ants", "Linepithema humile"),
        ("a black garden ant queen", "Lasius niger"),
        ("Rossameisen im Balken", "Camponotus"),
        ("little fire ants", "Wasmannia auropunctata"),
        ("stung by a jack jumper", "Myrmecia pilosula"),
    ],
)
def test_an_everyday_name_means_its_ant(guide: Guide, text: str, entry: str) -> None:
    assert [one.said for one in guide.names.find(text)] == [entry]


@pytest.mark.parametrize("text", ["my ants are black", "a pot of honey", "fire near the ants", "carpenter came today"])
def test_words_of_a_name_alone_name_nobody(guide: Guide, text: str) -> None:
    assert guide.names.find(text) == ()


def test_an_unknown_entry_and_a_doubled_name_are_named(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('["Lasius nigra"]\nen = ["black ant"]\n["Messor"]\nen = ["black ant"]\n')
    with pytest.raises(HandbookError) as caught:
        load_ant_names(tmp_path, ["Lasius niger", "Messor"])
    assert "[Lasius nigra]: there is no such entry in species/" in str(caught.value)
    assert "“black ant” already means Lasius nigra" in str(caught.value)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(HandbookError, match=r"ant-names.toml: cannot be read"):
        load_ant_names(tmp_path, [])
