"""Every guide card: complete, plain, safe in wording, and without a figure that no source of ours holds.

Bounds on length and reading level are choices of this project. The words that must not stand in a card come from the
safety rules of the shelf (`reference/safety.md` 0, `reference/dormancy.md` C, `reference/feeding.md` 9.6).
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.guide import LONGEST_BODY, load_cards, load_guide
from bot.adapters.handbook.lexicon import load_asked, load_lexicon
from bot.care.answers.filling import SLOTS, fill, slots_in
from bot.care.answers.guide import Guide
from bot.care.answers.values import Card, Decline
from bot.care.cautions import Kind
from bot.care.handbook import Handbook

CONFIG = Path(__file__).parents[2] / "config"
CARDS = load_cards(CONFIG)
EVERY_CARD = pytest.mark.parametrize("card", CARDS.values(), ids=lambda card: card.id)
PREY_TOPICS = {"feeding-protein", "prey-preparation", "prey-pesticide"}
EMERGENCIES = {
    "escape-now", "flooded-tube", "overheat-now", "tube-running-dry", "mould-in-tube", "prey-poison", "home-treated",
    "medical-severe-reaction",
}  # fmt: skip
ALLOWED = re.compile(r"\b(is|are|it's) (legal|allowed|permitted|lawful)\b", re.IGNORECASE)
DAY_LENGTH = re.compile(r"(day ?length|hours of (day)?light|critical day|photoperiod)", re.IGNORECASE)
SAFE_AGAIN = re.compile(
    r"(freez|boil|heat|rins|wash|cook|cold|fasting)[^.]{0,60}(makes?|is|are) (it |them |prey )?safe", re.IGNORECASE
)
NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
FIGURES = {
    # emergency numbers, eye rinse 15-20 min: safety.md STG-01, STG-05
    "15", "20",
    # freezing -18 C, 72 h for disposal; mesh 0.15 x length; plaster, glue: safety.md LAW-11, BAR-08
    "18", "72", "0.15",
    # active season 20-30 C, mats past 40 C, 35 C at the wall: design P22, hydration.md 7.1, safety.md FIX-03
    "30", "40", "35",
    # sugar water 20 g to 80 g, 25 C dish times; holidays 20-24 C: feeding.md G5, G7, S3
    "80", "25", "24",
    # founding rhythm 3-4 d, leftovers 24 h, boil 5 min: feeding.md Q5, 5.6
    "3", "4", "5",
    # moist heat 60 C for 30 min: hydration.md 9
    "60",
    # rest bands 2, 3-8, 5-8, 10-16, stop at 12-15 C, 14 warm days: dormancy.md 3.2, 8, A.3
    "2", "8", "10", "16", "12", "14", "0",
}  # fmt: skip
LONG_SENTENCE = 34
"""Words; a sentence longer than this is hard to read on a phone."""


def test_covers_every_topic_and_emergency(guide: Guide) -> None:
    assert len(guide.cards) >= 90
    assert len(guide.topics) == 65
    assert {topic for card in guide.cards.values() for topic in card.topics} == set(guide.topics)
    assert set(guide.cards) >= EMERGENCIES
    assert {card.decline for card in guide.cards.values()} - {None} == set(Decline)


@EVERY_CARD
def test_slots_fill_for_three_households(card: Card) -> None:
    knows_all = {name: f"Known: {name}." for name in SLOTS}
    knows_some = {name: knows_all[name] for name in list(SLOTS)[::2]}
    for slots in ({}, knows_some, knows_all):
        text = fill(card.body, slots)
        assert slots_in(text) == ()
        assert len(text) <= LONGEST_BODY
        for name in slots_in(card.body):
            assert (slots.get(name) or SLOTS[name]) in text


@EVERY_CARD
def test_says_nothing_it_must_not(card: Card) -> None:
    text = f"{card.title} {fill(card.body, {})}"
    for banned in (ALLOWED, DAY_LENGTH, SAFE_AGAIN):
        assert banned.search(text) is None


@EVERY_CARD
def test_states_only_figures_of_the_shelf(card: Card) -> None:
    assert set(NUMBER.findall(card.body)) <= FIGURES


@EVERY_CARD
def test_reads_easily(card: Card) -> None:
    sentences = re.split(r"(?<=[.!?:])\s+", re.sub(r"\{\w+\}|\*\*", " ", card.body))
    assert max(len(sentence.split()) for sentence in sentences) <= LONG_SENTENCE
    words = re.findall(r"[A-Za-z]+", card.body)
    assert sum(len(word) for word in words) / len(words) < 5.2


@EVERY_CARD
def test_prey_never_goes_without_the_poison_caution(card: Card, handbook: Handbook) -> None:
    if PREY_TOPICS & set(card.topics):
        assert Kind.PESTICIDE in {handbook.cautions[caution].kind for caution in card.cautions}


def test_no_way_of_asking_about_prey_goes_without_it(guide: Guide) -> None:
    assert [
        text
        for topic, text in load_asked(CONFIG)
        if topic in {"prey-preparation", "prey-pesticide"} and "pesticide" not in guide.answer(text).caution_kinds
    ] == []


@pytest.mark.parametrize(
    "question",
    [
        "can i feed this cricket i caught",
        "is boiling enough for a fly from the window",
        "how long do i freeze mealworms",
        "which insects can i give as protein",
        "heimchen oder mehlwürmer füttern",
        "puedo dar una mosca muerta",
        "quels insectes donner à mes fourmis",
    ],
)
def test_a_prey_question_gets_the_poison_caution(guide: Guide, question: str) -> None:
    answer = guide.answer(question)
    assert "pesticide" in answer.caution_kinds
    assert SAFE_AGAIN.search(answer.text) is None


def test_a_card_with_an_unknown_slot_or_source_is_refused(tmp_path: Path, handbook: Handbook) -> None:
    for name in ("lexicon", "guide"):
        (tmp_path / name).symlink_to(CONFIG / name)
    (tmp_path / "guide").unlink()
    (tmp_path / "guide").mkdir()
    card = (CONFIG / "guide" / "escape-now.md").read_text(encoding="utf-8")
    card = card.replace("{barrier_due}", "{no_such_slot}").replace("TAMU-B6183", "Nobody1900")
    (tmp_path / "guide" / "escape-now.md").write_text(card, encoding="utf-8")
    with pytest.raises(HandbookError) as caught:
        load_guide(tmp_path, handbook)
    assert "no_such_slot" in str(caught.value)
    assert "Nobody1900" in str(caught.value)


def test_a_card_without_front_matter_is_refused(tmp_path: Path) -> None:
    (tmp_path / "guide").mkdir()
    (tmp_path / "guide" / "bare.md").write_text("Just text.", encoding="utf-8")
    with pytest.raises(HandbookError, match="front matter"):
        load_cards(tmp_path)


def test_a_rule_with_an_unknown_concept_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lexicon").mkdir()
    for path in (CONFIG / "lexicon").iterdir():
        (tmp_path / "lexicon" / path.name).symlink_to(path)
    rules = tmp_path / "lexicon" / "cautions.toml"
    rules.unlink()
    rules.write_text('[[rule]]\nany = ["unicorns"]\nshow = ["WATER"]\n', encoding="utf-8")
    with pytest.raises(HandbookError, match="unicorns"):
        load_lexicon(tmp_path)


def test_no_way_of_asking_is_copied_from_the_development_questions() -> None:
    shelf = CONFIG.parents[1] / "shared" / "reference" / "questions-dev.jsonl"
    if not shelf.exists():
        pytest.skip("the shelf with the development questions is not beside this folder")
    said = shelf.read_text(encoding="utf-8").casefold()
    own = [
        line.strip().casefold()
        for path in sorted((CONFIG / "lexicon" / "asked").glob("*.toml"))
        for text in tomllib.loads(path.read_text(encoding="utf-8")).values()
        for line in text.splitlines()
        if len(line.split()) >= 4
    ]
    assert [line for line in own if f'"{line}' in said] == []
