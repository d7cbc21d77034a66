"""The answers measured: against the development questions of the shared shelf, and against our own emergencies.

Source of the development questions: `reference/questions-dev.jsonl` of the shelf beside this folder (needs of keepers,
topics and cautions set by one writer). One half was put aside by the hash of the id before the first rule was written
and only ever scored; the other half was read while tuning. The floors are what is reached, rounded down, so that it
cannot get worse unnoticed. The bounds of 4 kinds and 10 ms are the project's targets.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from bot.adapters.handbook.guide import load_guide
from bot.adapters.handbook.loader import load_handbook
from bot.care.answers.guide import Guide
from bot.care.answers.kinds import DANGER_KINDS
from bot.care.answers.values import Answer
from bot.services.answers import answer_question, batch_line

ROOT = Path(__file__).parents[2]
QUESTIONS = ROOT.parent / "shared" / "reference" / "questions-dev.jsonl"
EMERGENCIES = Path(__file__).parent / "fixtures" / "emergencies.toml"
DANGER = {kind.value for kind in DANGER_KINDS}
SHARES = ("first", "three", "danger", "all", "declined", "kept")


@pytest.fixture(scope="module")
def guide() -> Guide:
    return load_guide(ROOT / "config", load_handbook(ROOT / "config"))


@dataclass(frozen=True, slots=True)
class Asked:
    raw: Mapping[str, Any]
    answer: Answer
    ms: float

    @property
    def first(self) -> bool:
        return self.raw["topic"] in self.answer.topics

    @property
    def three(self) -> bool:
        return self.first or any(self.raw["topic"] in near.topics for near in self.answer.near[:2])

    @property
    def tuned(self) -> bool:
        return int(hashlib.sha256(self.raw["id"].encode()).hexdigest(), 16) % 2 == 0


def ask(guide: Guide, raw: Mapping[str, Any]) -> Asked:
    line = batch_line(raw)
    start = time.perf_counter()
    answer = answer_question(line.text, line.facts, guide)
    return Asked(raw, answer, (time.perf_counter() - start) * 1000)


def percent(hits: Iterable[bool]) -> float:
    seen = list(hits)
    return 100.0 * sum(seen) / len(seen) if seen else 100.0


def shares(rows: Sequence[Asked]) -> dict[str, float]:
    """Shares in percent; `kept` is the part of answerable questions that was not declined."""
    wanted = [(set(row.raw["must_caution"]), set(row.answer.caution_kinds)) for row in rows]
    return {
        "first": percent(row.first for row in rows),
        "three": percent(row.three for row in rows),
        "danger": percent(must & DANGER <= shown for must, shown in wanted if must & DANGER),
        "all": percent(must <= shown for must, shown in wanted if must),
        "declined": percent(not row.answer.answered for row in rows if not row.raw["answerable"]),
        "kept": percent(row.answer.answered for row in rows if row.raw["answerable"]),
        "kinds": sum(len(shown) for _, shown in wanted) / max(len(wanted), 1),
        "ms": sum(row.ms for row in rows) / max(len(rows), 1),
    }


def line(name: str, rows: Sequence[Asked]) -> str:
    found = shares(rows)
    return f"{name:<10} {len(rows):>4} " + " ".join(f"{found[key]:>8.1f}" for key in (*SHARES, "kinds", "ms"))


@pytest.fixture(scope="module")
def asked(guide: Guide) -> Sequence[Asked]:
    if not QUESTIONS.exists():
        pytest.skip("the shelf with the development questions is not beside this folder; our own questions still run")
    text = QUESTIONS.read_text(encoding="utf-8")
    return [ask(guide, json.loads(row)) for row in text.splitlines() if row.strip()]


def test_prints_the_table(asked: Sequence[Asked], capsys: pytest.CaptureFixture[str]) -> None:
    head = f"{'':<10} {'n':>4} " + " ".join(f"{key:>8}" for key in (*SHARES, "kinds", "ms"))
    rows = [line("tuned", [row for row in asked if row.tuned])]
    rows += [line("put aside", [row for row in asked if not row.tuned])]
    for language in ("en", "de", "es", "fr"):
        rows.append(line(f"aside {language}", [r for r in asked if r.raw["lang"] == language and not r.tuned]))
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join((head, *rows)) + "\n")
    assert len(asked) == sum(len([row for row in asked if row.tuned is side]) for side in (True, False))


@pytest.mark.parametrize(
    ("tuned", "floors"),
    [
        (True, {"first": 92, "three": 97, "danger": 98, "all": 86, "declined": 95, "kept": 92}),
        (False, {"first": 80, "three": 90, "danger": 83, "all": 79, "declined": 80, "kept": 92}),
    ],
    ids=["tuned", "put aside"],
)
def test_no_share_falls_below_what_was_reached(asked: Sequence[Asked], *, tuned: bool, floors: dict[str, int]) -> None:
    found = shares([row for row in asked if row.tuned is tuned])
    assert {key: found[key] for key, floor in floors.items() if found[key] < floor} == {}


def test_cautions_stay_few_and_answers_fast(asked: Sequence[Asked]) -> None:
    found = shares(asked)
    assert found["kinds"] <= 4
    assert found["ms"] < 10


@pytest.mark.parametrize("emergency", sorted(tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))))
def test_no_emergency_misses_its_caution(guide: Guide, emergency: str) -> None:
    page = tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))[emergency]
    questions = [row for row in page["asked"].splitlines() if row]
    assert len(questions) == 30
    assert [text for text in questions if page["kind"] not in guide.answer(text).caution_kinds] == []


def test_medical_wording_comes_first_and_asks_nothing_back(guide: Guide) -> None:
    page = tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))["sting-reaction"]
    for text in filter(None, page["asked"].splitlines()):
        answer = guide.answer(text)
        assert answer.caution_kinds[0] == "medical", text
        assert answer.asks == (), text
