"""The answers measured: development questions of the shared shelf, questions of our own, and our own emergencies.

Source of the development questions: `reference/questions-dev.jsonl` of the shelf beside this folder (needs of keepers,
topics and cautions set by one writer). One half was put aside by the hash of the id before the first rule was written
and only ever scored; the other half was read while tuning. Questions of our own (`own_questions/`, common practice, no
source) were written without seeing the shelf's; those that measure do so with weights that were learnt without them.
Half of them were read after first measurements; the later half is harder (rare needs, names, two things at once), and
only a few constants were tuned to it. Only the half put aside was never read. The floors are what is reached, rounded
down, so that it cannot get worse unnoticed. The bound of 4 kinds is the project's target.
"""

from __future__ import annotations

import hashlib
import json
import sys
import time
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from bot.adapters.handbook.lexicon import load_lexicon
from bot.adapters.handbook.sentences import Sentences
from bot.care.answers.guide import Guide
from bot.care.answers.kinds import DANGER_KINDS
from bot.care.answers.reading import Reader
from bot.care.answers.topics import TopicModel
from bot.care.answers.values import Answer
from bot.services.answers import answer_question, batch_line
from tests.reference.learning import is_trained, learn, own_questions

ROOT = Path(__file__).parents[2]
CONFIG = ROOT / "config"
QUESTIONS = ROOT.parent / "shared" / "reference" / "questions-dev.jsonl"
EMERGENCIES = Path(__file__).parent / "fixtures" / "emergencies.toml"
PLAIN = Path(__file__).parent / "fixtures" / "plain.toml"
DANGER = {kind.value for kind in DANGER_KINDS}
SHARES = ("first", "three", "danger", "all", "declined", "kept")


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


@pytest.fixture(scope="module")
def own(guide: Guide) -> Sequence[Asked]:
    """Every third of the questions of our own that weights were learnt without, answered with these weights."""
    lesson = learn(CONFIG, [question for question in own_questions() if is_trained(question)])
    folder, learnt = load_lexicon(CONFIG), lesson.weighing
    honest = replace(
        guide,
        reader=Reader(folder.lexicon, learnt.known, guide.names.words, Sentences(lesson.heads)),
        model=TopicModel(learnt.topics, folder.facts),
        leanings=learnt.cards,
        warner=replace(guide.warner, kinds=learnt.kinds),
    )
    measuring = [question for question in own_questions() if not is_trained(question)]
    return [ask(honest, question) for question in measuring[::3]]


def show(capsys: pytest.CaptureFixture[str], name: str, rows: Sequence[Asked]) -> None:
    """The lines of a table: all questions, then each language."""
    head = f"{'':<10} {'n':>4} " + " ".join(f"{key:>8}" for key in (*SHARES, "kinds", "ms"))
    languages = [(f"{name} {code}", [r for r in rows if r.raw["lang"] == code]) for code in ("en", "de", "es", "fr")]
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join((head, line(name, rows), *(line(*part) for part in languages))) + "\n")


def test_prints_the_table(asked: Sequence[Asked], capsys: pytest.CaptureFixture[str]) -> None:
    for name, tuned in (("tuned", True), ("put aside", False)):
        show(capsys, name, [row for row in asked if row.tuned is tuned])
    assert {row.raw["lang"] for row in asked} == {"en", "de", "es", "fr"}


@pytest.mark.long
def test_questions_of_our_own_are_answered_too(own: Sequence[Asked], capsys: pytest.CaptureFixture[str]) -> None:
    show(capsys, "own", own)
    found = shares(own)
    floors = {"first": 65, "three": 86, "danger": 98, "all": 92, "declined": 79, "kept": 92}
    assert {key: found[key] for key, floor in floors.items() if found[key] < floor} == {}
    plain_questions_get_the_card_they_were_given([row for row in own if "card" in row.raw], capsys)


def plain_questions_get_the_card_they_were_given(rows: Sequence[Asked], capsys: pytest.CaptureFixture[str]) -> None:
    """Among some 200 cards, for wordings that were not learnt from; an experienced reader chose one card for each."""
    first = percent(row.answer.card == row.raw["card"] for row in rows)
    three = percent(row.raw["card"] in (row.answer.card, *(near.card for near in row.answer.near[:2])) for row in rows)
    with capsys.disabled():
        sys.stdout.write(f"\ncards of plain questions: {len(rows)}, first {first:.1f}, in three {three:.1f}\n")
    assert first >= 59
    assert three >= 76


@pytest.mark.parametrize(
    ("tuned", "floors"),
    [
        (True, {"first": 94, "three": 99, "danger": 98, "all": 94, "declined": 95, "kept": 98}),
        (False, {"first": 83, "three": 91, "danger": 94, "all": 90, "declined": 83, "kept": 97}),
    ],
    ids=["tuned", "put aside"],
)
def test_no_share_falls_below_what_was_reached(asked: Sequence[Asked], *, tuned: bool, floors: dict[str, int]) -> None:
    found = shares([row for row in asked if row.tuned is tuned])
    assert {key: found[key] for key, floor in floors.items() if found[key] < floor} == {}


def test_cautions_stay_few(asked: Sequence[Asked]) -> None:
    assert shares(asked)["kinds"] <= 4


@pytest.mark.parametrize("emergency", sorted(tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))))
def test_no_emergency_misses_its_caution(guide: Guide, emergency: str) -> None:
    page = tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))[emergency]
    questions = [row for row in page["asked"].splitlines() if row]
    assert len(questions) == 30
    assert [text for text in questions if page["kind"] not in guide.answer(text).caution_kinds] == []


PLAIN_QUESTIONS = [
    pytest.param(page["cards"], text, id=text)
    for page in tomllib.loads(PLAIN.read_text(encoding="utf-8"))["plain"]
    for text in page["asked"].splitlines()
    if text
]


@pytest.mark.parametrize(("cards", "text"), PLAIN_QUESTIONS)
def test_what_every_beginner_asks_gets_its_card_and_few_lines(guide: Guide, cards: Sequence[str], text: str) -> None:
    answer = guide.answer(text)
    assert answer.card in cards
    assert answer.answered
    assert len(answer.cautions) <= 5


def test_medical_wording_comes_first_and_asks_nothing_back(guide: Guide) -> None:
    page = tomllib.loads(EMERGENCIES.read_text(encoding="utf-8"))["sting-reaction"]
    for text in filter(None, page["asked"].splitlines()):
        answer = guide.answer(text)
        assert answer.caution_kinds[0] == "medical", text
        assert answer.asks == (), text
