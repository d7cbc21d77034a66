"""Every caution of `config/cautions`: whole, short, sourced, in our own words; and the safety list is complete."""

from __future__ import annotations

import ast
import re
import tomllib
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import pytest

from bot.care import caution_rules
from bot.care.cautions import Kind, Severity
from bot.care.evidence import Confidence

ROOT = Path(__file__).parents[2]
SHELF = ROOT.parent / "shared" / "reference"

SAFETY_IDS = (
    *(f"BAR-{number:02}" for number in range(1, 15)),
    *(f"STG-{number:02}" for number in range(1, 10)),
    *(f"LAW-{number:02}" for number in range(1, 14)),
    *(f"FIX-{number:02}" for number in range(1, 18)),
    *(f"PST-{number:02}" for number in range(1, 12)),
)
"""The 64 items of the safety notes (`safety.md`)."""
FEEDING_IDS = [
    "PREY-POISON",
    "PREY-FUNGUS",
    "PREY-FREEZE",
    "PREY-PETS",
    "PREY-LIVE",
    "FEEDER-ALLERGY",
    "FEEDER-FOOD",
    "FEEDER-ESCAPE",
    "SUGAR-FRESH",
    "SUGAR-SWEETENER",
    "SUGAR-HONEY",
    "SUGAR-DROWN",
    "DIET-PROTEIN",
    "WATER",
    "REST",
    "ESTIMATE",
    "HUMANE",
]
"""The 17 lines of the feeding notes (`feeding.md`, section 11)."""
MEDICAL_IDS = {"STG-01", "STG-05", "STG-07", "BAR-03", "FIX-11", "FIX-12"}
"""Safety notes, section 0."""
OWN_MEDICAL = {"FIRE-NOW", "MED-SHOCK", "MED-SWALLOWED", "MED-CRISIS", "MED-BURN", "MED-PET"}
"""Medical lines that the notes do not have: from memory, and marked so."""
DANGERS = [
    "BAR-03",
    "BAR-04",
    "BAR-13",
    "STG-01",
    "STG-02",
    "STG-03",
    "STG-07",
    "LAW-01",
    "LAW-03",
    "LAW-06",
    "LAW-07",
    "LAW-08",
    "LAW-10",
    "LAW-12",
    "FIX-01",
    "FIX-02",
    "FIX-06",
    "FIX-07",
    "FIX-10",
    "FIX-11",
    "FIX-12",
    "PST-01",
    "PST-02",
    "PST-03",
    "PST-10",
]
"""What the safety notes call danger."""
NOTES = [
    "BAR-01",
    "BAR-06",
    "BAR-07",
    "BAR-10",
    "BAR-11",
    "BAR-12",
    "BAR-14",
    "STG-04",
    "STG-08",
    "LAW-13",
    "FIX-17",
    "PST-11",
]
"""What the safety notes call a note."""


def read(folder: str) -> dict[str, dict[str, Any]]:
    entries: dict[str, dict[str, Any]] = {}
    for path in sorted((ROOT / "config" / folder).glob("*.toml")):
        for key, entry in tomllib.loads(path.read_text(encoding="utf-8")).items():
            assert key not in entries, f"{key} stands twice, the second time in {path.name}"
            entries[key] = entry | {"file": path.stem}
    return entries


CAUTIONS = read("cautions")
SOURCES = read("sources")
each = pytest.mark.parametrize("key", CAUTIONS)


@each
def test_a_caution_is_whole_short_and_sourced(key: str) -> None:
    caution = CAUTIONS[key]
    assert caution["file"] == Kind(caution["kind"]), "a file holds one kind"
    assert Severity(caution["severity"])
    assert Confidence(caution["confidence"])
    assert caution["source"]
    assert set(caution["source"]) <= set(SOURCES)
    assert 40 <= len(caution["text"]) <= 240
    assert caution["text"] == caution["text"].strip()
    assert caution["text"][-1] in ".?"
    assert 10 <= len(caution["advice"]) <= 500


def test_the_lists_of_the_notes_are_complete() -> None:
    assert len(SAFETY_IDS) == 64
    assert not {*SAFETY_IDS, *FEEDING_IDS} - set(CAUTIONS)


def test_severities_and_medical_flags_follow_the_safety_notes() -> None:
    marked = {key for key, caution in CAUTIONS.items() if caution.get("medical", False)}
    assert marked == MEDICAL_IDS | OWN_MEDICAL
    severity = {key: CAUTIONS[key]["severity"] for key in SAFETY_IDS}
    assert {key for key, said in severity.items() if said == "danger"} == set(DANGERS)
    assert {key for key, said in severity.items() if said == "note"} == set(NOTES)


def test_every_kind_has_a_caution() -> None:
    assert {caution["kind"] for caution in CAUTIONS.values()} == set(Kind)


def test_every_source_is_cited_with_what_was_read() -> None:
    for key, source in SOURCES.items():
        assert len(source["citation"]) > 8, key
        assert source["read"], key


@each
def test_nothing_is_called_allowed(key: str) -> None:
    """The bot points to authorities; it never says that something is legal."""
    said = f"{CAUTIONS[key]['text']} {CAUTIONS[key]['advice']}".casefold()
    assert not re.search(r"\b(is|are|it's) (legal|allowed|permitted|fine to keep)\b", said)
    if CAUTIONS[key]["kind"] == "law":
        assert re.search(r"authorit|ask|check|report|call", said), "a law line sends people to whoever decides"


@pytest.mark.parametrize("key", ["PREY-POISON"])
def test_poisoned_prey_is_never_made_safe(key: str) -> None:
    """Feeding notes 5.4: freezing, boiling, rinsing and fasting all leave poison in place."""
    text = CAUTIONS[key]["text"].casefold()
    assert all(word in text for word in ("neither freezing", "boiling", "rinsing", "fasting", "throw it away"))


def test_no_line_names_a_critical_day_length() -> None:
    said = " ".join(f"{caution['text']} {caution['advice']}" for caution in CAUTIONS.values()).casefold()
    assert not re.search(r"critical|hours of (day)?light|\d+ h(ours)? day", said)


def test_every_id_that_code_names_exists() -> None:
    """Strings such as `BAR-09` anywhere in the trade's code are ids of cautions."""
    named = {key for rule in caution_rules.RULES for key in rule.ids}
    for path in (ROOT / "bot" / "care").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                named |= set(re.findall(r"^[A-Z]{3,}(?:-[A-Z0-9]+)+$", node.value))
    assert len(named) > 40
    assert named <= set(CAUTIONS)


def test_what_speaks_of_this_ant_says_whose_it_is() -> None:
    """An answer may bring the line because of a word alone, and must not say it of whatever ant the asker keeps."""
    own = {name for name, page in CAUTIONS.items() if re.search(r"\b[Tt]his (ant|kind|species)\b", page["text"])}
    assert len(own) >= 8
    assert {name for name in own if "whom" not in CAUTIONS[name]} == {"UNSURE-PROFILE"}, "said of known profiles only"


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _shelf_lines() -> list[list[str]]:
    """Caution lines of the notes: whatever stands in double quotes there."""
    lines = []
    for name in ("safety.md", "feeding.md", "hydration.md", "dormancy.md"):
        lines += re.findall(r'"([^"\n]{25,})"', (SHELF / name).read_text(encoding="utf-8"))
    return [_words(line) for line in lines]


@pytest.fixture(scope="module")
def shelf_lines() -> list[list[str]]:
    if not SHELF.is_dir():
        pytest.skip("the reference notes are not beside this project, so wording cannot be compared")
    return _shelf_lines()


@each
def test_the_wording_is_our_own(key: str, shelf_lines: list[list[str]]) -> None:
    """No line of the notes is copied: not in one run of ten words, nor nearly word by word."""
    ours = _words(CAUTIONS[key]["text"])
    for theirs in shelf_lines:
        if len(set(ours) & set(theirs)) < 6:
            continue
        match = SequenceMatcher(None, ours, theirs, autojunk=False)
        assert match.find_longest_match().size < 10, " ".join(theirs)
        assert match.ratio() < 0.7, " ".join(theirs)
