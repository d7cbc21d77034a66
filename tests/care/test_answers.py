"""The search behind /ask: words, misspellings, concepts, topics, cards, cautions, declining.

The surfaces and cards are invented for these tests. The edit distances are worked by hand from the textbook recurrence
(optimal string alignment); the Bayes check compares with the closed form for one feature.
"""

from __future__ import annotations

import pytest

from bot.care.answers.declining import judge
from bot.care.answers.filling import SLOTS, fill
from bot.care.answers.lexicon import Lexicon
from bot.care.answers.ranking import rank
from bot.care.answers.reading import Reader, Reading
from bot.care.answers.text import spellings, temperature_marks, words
from bot.care.answers.topics import FactWeights, TopicModel
from bot.care.answers.typos import Speller, slips
from bot.care.answers.values import NO_FACTS, Applies, Card, Decline, Facts, Season, Topic
from bot.care.answers.warning import MOST_KINDS, Rule, Warner
from bot.care.cautions import Caution, Kind, Severity
from bot.care.evidence import PRACTICE, Confidence

COMMON = {
    "en": frozenset({"the", "in", "is", "my", "a"}),
    "de": frozenset({"die", "ist", "im", "mein"}),
    "es": frozenset({"el", "la", "en"}),
    "fr": frozenset({"le", "la", "du"}),
}
CONCEPTS: dict[str, dict[str, tuple[str, ...]]] = {
    "mould": {"en": ("mold*", "mould*", "white fluff"), "de": ("schimmel*",), "es": ("moho",)},
    "dead": {"en": ("die", "dead"), "de": ("tot*",)},
    "stuck": {"en": ("wont .. move",)},
    "fridge": {"de": ("kühlschrank*",)},
    "feeding": {"de": ("*futter",)},
}
NO_WEIGHTS = FactWeights(season={}, nest={}, workers={}, genus={}, known={}, unknown={})


@pytest.fixture(name="lexicon")
def _lexicon() -> Lexicon:
    return Lexicon(CONCEPTS, COMMON)


def reading(*concepts: str) -> Reading:
    return Reading((), frozenset(concepts), frozenset(("concept", name) for name in concepts))


def card(name: str, *topics: str, about: tuple[str, ...] = (), applies: Applies | None = None) -> Card:
    return Card(
        id=name,
        title=name,
        topics=topics,
        about=about,
        cautions=(),
        sources=("common-practice",),
        confidence=Confidence.COMMON_PRACTICE,
        asks=(),
        body="",
        applies=applies or Applies(),
    )


def caution(name: str, kind: Kind, severity: Severity = Severity.NOTE, *, medical: bool = False) -> Caution:
    return Caution(id=name, kind=kind, severity=severity, text=name, advice=name, medical=medical, evidence=PRACTICE)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Don't PANIC!", ("dont", "panic")),
        ("l'eau du tube", ("l", "eau", "du", "tube")),
        ("Königin, weiß", ("konigin", "weiss")),
        ("test-tube 4C", ("test", "tube", "4", "c")),
        ("", ()),
        ("🐜🐜", ()),
    ],
)
def test_words_are_evened_out(text: str, expected: tuple[str, ...]) -> None:
    assert words(text) == expected


def test_only_the_first_two_thousand_characters_are_read() -> None:
    assert len(words("a " * 50_000)) == 1000


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("fridge is 4C", "temperature-cold"),
        ("50 f in the garage", "temperature-cool"),
        ("room at 22 degrees", "temperature-room"),
        ("38 °C in here", "temperature-hot"),
        ("95 degrees", "temperature-hot"),
    ],
)
def test_temperatures_become_marks(text: str, mark: str) -> None:
    assert temperature_marks(text) == {mark}


def test_numbers_without_a_unit_are_no_temperature() -> None:
    assert temperature_marks("38 workers and 4 crickets") == frozenset()


def test_umlauts_are_found_in_both_spellings() -> None:
    assert spellings("kühlschrank*") == ("kuhlschrank*", "kuehlschrank*")


@pytest.mark.parametrize(
    ("left", "right", "expected"),
    [("mould", "mould", 0), ("mould", "muold", 1), ("mould", "mold", 1), ("barrier", "barier", 1), ("abc", "xyz", 3)],
)
def test_slips_count_swaps_as_one(left: str, right: str, expected: int) -> None:
    assert slips(left, right) == expected


def test_misspelt_words_are_put_right_but_short_ones_left_alone() -> None:
    speller = Speller(["barrier", "hibernation", "wet"], ["anaphyla"])
    assert speller.nearest("barreir") == "barrier"
    assert speller.nearest("hybernation") == "hibernation"
    assert speller.nearest("anaphlaxis") == "anaphyla"
    assert speller.nearest("wett") is None
    assert speller.nearest("zzzzzzz") is None


@pytest.mark.parametrize(
    ("text", "concept"),
    [
        ("the mouldy cotton", "mould"),
        ("is it white fluff", "mould"),
        ("mein schimmel", "mould"),
        ("reagenzglasschimmel im nest", "mould"),
        ("they wont just move", "stuck"),
        ("im kuehlschrank", "fridge"),
        ("lebendfutter", "feeding"),
    ],
)
def test_concepts_are_found_however_they_are_said(lexicon: Lexicon, text: str, concept: str) -> None:
    assert concept in lexicon.find(words(text))


def test_a_short_word_of_another_language_does_not_count(lexicon: Lexicon) -> None:
    assert "dead" not in lexicon.find(words("die ameise ist im nest"))
    assert "dead" in lexicon.find(words("they die in the nest"))


def test_a_gap_is_at_most_four_words(lexicon: Lexicon) -> None:
    assert "stuck" in lexicon.find(words("wont a b c d move"))
    assert "stuck" not in lexicon.find(words("wont a b c d e move"))


def test_topics_follow_the_evidence_and_sum_to_one(lexicon: Lexicon) -> None:
    reader = Reader(lexicon, ["mould in tube", "dead ants"])
    examples = [("mould", reader.read("mould in tube")), ("deaths", reader.read("dead ants"))]
    found = TopicModel(examples, NO_WEIGHTS).probabilities(reader.read("white fluff"), NO_FACTS)
    assert sum(found.values()) == pytest.approx(1)
    assert found["mould"] > found["deaths"]


def test_facts_shift_the_topics(lexicon: Lexicon) -> None:
    reader = Reader(lexicon, ["mould", "dead"])
    weights = FactWeights(season={"winter": {"deaths": 3.0}}, nest={}, workers={}, genus={}, known={}, unknown={})
    model = TopicModel([("mould", reader.read("mould")), ("deaths", reader.read("dead"))], weights)
    nothing = reader.read("hm")
    assert model.probabilities(nothing, NO_FACTS)["deaths"] == pytest.approx(0.5)
    assert model.probabilities(nothing, Facts(season=Season.WINTER))["deaths"] > 0.6


def test_the_card_that_covers_most_comes_first_and_the_next_covers_the_rest() -> None:
    shares = {"a": 0.4, "b": 0.3, "c": 0.3}
    cards = [card("one", "a"), card("two", "a", "b"), card("three", "c"), card("four", "b")]
    assert [found.id for found in rank(cards, shares, reading(), NO_FACTS)][:2] == ["two", "three"]


def test_ties_go_to_the_card_about_the_words_then_to_the_fitting_colony_then_by_name() -> None:
    shares = {"a": 1.0}
    tube = card("z-tube", "a", applies=Applies(nests=("test tube",)))
    about = card("y-mould", "a", about=("mould",))
    plain = card("a-plain", "a")
    assert rank([tube, about, plain], shares, reading("mould"), NO_FACTS)[0] is about
    assert rank([tube, plain], shares, reading(), Facts(nest="test tube"))[0] is tube
    assert rank([plain, tube], shares, reading(), NO_FACTS)[0] is plain


def test_dangers_are_never_dropped_and_the_rest_stays_few() -> None:
    soft = [Kind.MOULD, Kind.WATER, Kind.STRESS, Kind.HYGIENE, Kind.WELFARE, Kind.PRIVACY, Kind.UNCERTAINTY]
    hard = [Kind.PESTICIDE, Kind.HEAT, Kind.LAW, Kind.CHEMICALS, Kind.BARRIER, Kind.STING]
    book = {kind.value: caution(kind.value, kind) for kind in (*soft, *hard)}
    rules = (Rule(show=tuple(book)),)
    warner = Warner(rules=rules, topics={}, book=book)
    shown = {found.kind for found in warner.choose(reading(), NO_FACTS, None, ())}
    assert shown == set(hard)
    few = Warner(rules=(Rule(show=tuple(kind.value for kind in soft)),), topics={}, book=book)
    assert len(few.choose(reading(), NO_FACTS, None, ())) == MOST_KINDS


def test_medical_cautions_are_shown_first() -> None:
    book = {
        "a": caution("a", Kind.HEAT, Severity.DANGER),
        "b": caution("b", Kind.MEDICAL, Severity.DANGER, medical=True),
    }
    warner = Warner(rules=(Rule(show=("a", "b")),), topics={}, book=book)
    assert [found.id for found in warner.choose(reading(), NO_FACTS, None, ())] == ["b", "a"]


def test_a_rule_asks_for_all_its_conditions() -> None:
    rule = Rule(
        show=("x",), any=frozenset({"a", "b"}), all=frozenset({"c"}), unless=frozenset({"d"}),
        topics=frozenset({"t"}), seasons=frozenset({Season.SUMMER}),
    )  # fmt: skip
    summer = Facts(season=Season.SUMMER)
    assert rule.holds(reading("a", "c"), ["t"], summer)
    assert not rule.holds(reading("a"), ["t"], summer)
    assert not rule.holds(reading("a", "c", "d"), ["t"], summer)
    assert not rule.holds(reading("a", "c"), ["other"], summer)
    assert not rule.holds(reading("a", "c"), ["t"], NO_FACTS)


TOPICS = {
    name: Topic(id=name, label=name, declined=name.startswith(("oos", "unsafe", "photo")))
    for name in ("oos-medical", "oos-chat", "oos-pest-control", "unsafe-request", "photo-id", "mould-tube")
}


def test_pain_after_a_sting_outranks_a_likelier_topic() -> None:
    shares = {"oos-medical": 0.2, "mould-tube": 0.8}
    assert judge(reading("medical", "sting", "mould"), shares, TOPICS, NO_FACTS).decline is Decline.MEDICAL


def test_words_without_ants_are_chatter_unless_a_colony_is_known() -> None:
    shares = {"mould-tube": 1.0, "oos-medical": 0.0}
    assert judge(reading("chat"), shares, TOPICS, NO_FACTS).decline is Decline.CHAT
    assert judge(reading("idle"), shares, TOPICS, Facts(genus="Lasius")).decline is None


def test_a_question_of_the_trade_is_not_declined() -> None:
    shares = {"mould-tube": 0.95, "oos-chat": 0.05, "oos-medical": 0.0}
    assert judge(reading("mould"), shares, TOPICS, NO_FACTS).decline is None


def test_a_missing_slot_becomes_its_general_sentence() -> None:
    assert fill("{phase} Go.", {}) == f"{SLOTS['phase']} Go."
    assert fill("{phase} Go.", {"phase": "In rest."}) == "In rest. Go."
    assert fill("{phase}", {"phase": ""}) == SLOTS["phase"]
    with pytest.raises(KeyError):
        fill("{nothing}", {})


@pytest.mark.parametrize(
    ("workers", "crowd", "stage"),
    [(None, None, None), (0, "none", "founding"), (24, "few", "small"), (25, "some", "grown"), (150, "many", "grown")],
)
def test_size_classes(workers: int | None, crowd: str | None, stage: str | None) -> None:
    facts = Facts(workers=workers)
    assert (facts.crowd, facts.stage) == (crowd, stage)
