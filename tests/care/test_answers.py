"""The search behind /ask: words, misspellings, concepts, topics, cards, cautions, declining.

The surfaces and cards are invented for these tests. The edit distances are worked by hand from the textbook recurrence
(optimal string alignment); the probabilities compare with the closed form of two classes, 1 / (1 + exp(-difference)).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bot.care.answers.declining import judge
from bot.care.answers.filling import SLOTS, fill
from bot.care.answers.kinds import KindModel
from bot.care.answers.lexicon import Lexicon
from bot.care.answers.ranking import rank
from bot.care.answers.reading import Reader, Reading
from bot.care.answers.text import spellings, temperature_marks, words
from bot.care.answers.topics import FactWeights, Learnt, TopicModel
from bot.care.answers.typos import Speller, slips
from bot.care.answers.values import NO_FACTS, Applies, Card, Decline, Facts, Season, Topic
from bot.care.answers.warning import MOST_SOFT, ROOM, SHARED, SPEAKS_FOR, Rule, Warner
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
TRIVIAL = {"a": Topic(id="a", label="a")}
NO_WEIGHTS = FactWeights(season={}, nest={}, workers={}, genus={}, known={}, unknown={})


@pytest.fixture(name="lexicon")
def _lexicon() -> Lexicon:
    return Lexicon(CONCEPTS, COMMON)


def reading(*concepts: str) -> Reading:
    return Reading((), frozenset(concepts), frozenset(f"concept {name}" for name in concepts))


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


ROWS = {"concept mould": (-1, 3), "word fluff": (0, 1), "piece _dead": (9, 0)}
LEARNT = Learnt(("deaths", "mould"), 0.5, (0, 0), ROWS)


def test_topics_follow_the_evidence_and_sum_to_one(lexicon: Lexicon) -> None:
    found = TopicModel(LEARNT, NO_WEIGHTS).probabilities(Reader(lexicon, ()).read("white fluff"), NO_FACTS)
    assert sum(found.values()) == pytest.approx(1)
    assert found["mould"] == pytest.approx(1 / (1 + math.exp(-0.5 * 5)))


def test_what_spoke_for_a_topic_is_told_strongest_first(lexicon: Lexicon) -> None:
    told = LEARNT.why(Reader(lexicon, ()).read("white fluff"), "mould")
    assert told == (("concept mould", 1.5), ("word fluff", 0.5))


def test_facts_shift_the_topics(lexicon: Lexicon) -> None:
    weights = FactWeights(season={"winter": {"deaths": 3.0}}, nest={}, workers={}, genus={}, known={}, unknown={})
    model = TopicModel(LEARNT, weights)
    nothing = Reader(lexicon, ()).read("hm")
    assert model.probabilities(nothing, NO_FACTS)["deaths"] == pytest.approx(0.5)
    assert model.probabilities(nothing, Facts(season=Season.WINTER))["deaths"] > 0.6


def test_two_concepts_together_and_pieces_of_words_are_evidence(lexicon: Lexicon) -> None:
    found = Reader(lexicon, ()).read("dead in mould").features
    assert {"concept dead", "both dead+mould", "word mould", "small in", "pair dead in", "piece _dead"} <= found


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


def test_among_cards_of_the_same_topics_the_one_that_similar_questions_were_given_wins() -> None:
    shares = {"a": 0.6, "b": 0.4}
    cards = [card("first", "a"), card("second", "a"), card("third", "b")]
    assert rank(cards, shares, reading(), NO_FACTS, {"second": 0.5})[0].id == "second"
    assert rank(cards, shares, reading(), NO_FACTS, {"third": 0.2})[0].id == "first"


def chosen(
    warner: Warner, said: Reading, facts: Facts, shown: Card | None, shares: dict[str, float]
) -> tuple[Caution, ...]:
    return warner.weigh(said, facts, shown, shares).cautions


def knowing(**odds: int) -> KindModel:
    """A model that gives each kind its odds, as natural logarithms, whatever is asked."""
    rates = {"a": dict.fromkeys(odds, 0.5)}  # as likely as not by the topic; words alone decide
    return KindModel(Learnt(tuple(odds), 1.0, tuple(odds.values()), {}), rates)


def test_kinds_weigh_topics_and_words_and_a_rule_tips_the_scale() -> None:
    said = Learnt(("mould",), 1.0, (-1,), {"concept damp": (3,)})
    model = KindModel(said, {"a": {"mould": 0.2}, "b": {"mould": 0.6}})
    shares = {"a": 0.5, "b": 0.5}
    plain = model.probabilities(reading("damp"), shares)[Kind.MOULD]
    odds = 0.5 * 2 + 0.5 * math.log(0.4 / 0.6)  # by hand: a mean of the odds by words and of those of 0.4 by topics
    assert plain == pytest.approx(1 / (1 + math.exp(-odds)), abs=1e-6)
    assert model.probabilities(reading("damp"), shares, [Kind.MOULD])[Kind.MOULD] > plain


def test_a_danger_is_shown_when_plausible_a_soft_kind_when_likely() -> None:
    chance = KindModel(Learnt(("heat", "mould"), 1.0, (-3, -3), {}), {"a": {"heat": 0.02, "mould": 0.02}})
    assert chance.needed(reading(), {"a": 1.0}) == (Kind.HEAT,)


def test_a_question_of_few_words_is_about_one_thing() -> None:
    model = KindModel(Learnt(("heat",), 1.0, (-5,), {}), {"a": {"heat": 0.02}})
    long = Reading(words=("word",) * 10, concepts=frozenset(), features=frozenset())
    assert model.needed(long, {"a": 1.0}) == (Kind.HEAT,)
    assert model.needed(reading(), {"a": 1.0}) == ()


def test_the_long_tail_of_unlikely_topics_calls_for_nothing() -> None:
    model = KindModel(Learnt(("sting",), 1.0, (-4,), {}), {"clear": {"sting": 0.001}, "tail": {"sting": 0.9}})
    clear = {"clear": 0.8, **dict.fromkeys((f"other-{number}" for number in range(13)), 0.014), "tail": 0.014}
    assert model.needed(reading(), clear) == ()
    assert model.needed(reading(), {"clear": 0.7, "tail": 0.3}) == (Kind.STING,)


def test_soft_kinds_stay_few_and_no_danger_is_dropped() -> None:
    soft = [Kind.MOULD, Kind.WATER, Kind.STRESS, Kind.HYGIENE, Kind.WELFARE, Kind.PRIVACY, Kind.UNCERTAINTY]
    hard = [Kind.PESTICIDE, Kind.HEAT, Kind.LAW, Kind.CHEMICALS, Kind.BARRIER, Kind.STING]
    book = {kind.value: caution(kind.value, kind) for kind in (*soft, *hard)}
    stands_for = {kind.value: kind.value for kind in (*soft, *hard)}
    sure = knowing(**dict.fromkeys(book, 9))
    warner = Warner(rules=(), topics=TRIVIAL, book=book, kinds=sure, stands_for=stands_for)
    shown = {found.kind for found in chosen(warner, reading(), NO_FACTS, None, {"a": 1.0})}
    assert shown >= set(hard)
    assert len(shown - set(hard)) == MOST_SOFT
    certain = replace(warner, rules=(Rule(show=tuple(kind.value for kind in hard), any=frozenset({"x"}), always=True),))
    assert {found.kind for found in chosen(certain, reading("x"), NO_FACTS, None, {"a": 1.0})} >= set(hard)
    few = Warner(rules=(), topics=TRIVIAL, book=book, kinds=knowing(**dict.fromkeys(soft, 9)), stands_for=stands_for)
    assert len(chosen(few, reading(), NO_FACTS, None, {"a": 1.0})) == MOST_SOFT


def vague(**odds: int) -> Warner:
    """A warner whose kinds have these odds, with a line for each kind and one for all faint dangers."""
    book = {kind: caution(kind, Kind(kind)) for kind in odds}
    book[SHARED] = caution(SHARED, Kind.UNCERTAINTY, Severity.DANGER)
    stands_for = {kind: kind for kind in odds}
    return Warner(rules=(), topics=TRIVIAL, book=book, kinds=knowing(**odds), stands_for=stands_for)


def test_faint_dangers_share_one_line_that_speaks_for_all_of_them() -> None:
    told = vague(pesticide=-4, heat=-5, barrier=-4, law=9).weigh(reading(), NO_FACTS, None, {"a": 1.0})
    assert [found.id for found in told.cautions] == [SHARED, "law"]
    assert set(told.spoken_for) == {Kind.PESTICIDE, Kind.HEAT, Kind.BARRIER}


def test_a_faint_danger_alone_keeps_its_own_words() -> None:
    told = vague(pesticide=-4, law=9).weigh(reading(), NO_FACTS, None, {"a": 1.0})
    assert {found.id for found in told.cautions} == {"pesticide", "law"}
    assert told.spoken_for == ()


def test_a_danger_that_the_shared_line_does_not_cover_keeps_its_own_words() -> None:
    told = vague(electric=-4, pesticide=-4, heat=-4).weigh(reading(), NO_FACTS, None, {"a": 1.0})
    assert {found.id for found in told.cautions} == {SHARED, "electric"}
    assert Kind.ELECTRIC not in SPEAKS_FOR


def test_a_faint_soft_kind_gives_way_where_dangers_fill_the_screen() -> None:
    dangers = dict.fromkeys(("pesticide", "heat", "law", "barrier", "sting", "electric")[:ROOM], 9)
    full = chosen(vague(**dangers, mould=-3, water=9), reading(), NO_FACTS, None, {"a": 1.0})
    assert {found.id for found in full} == {*dangers, "water"}
    free = chosen(vague(mould=-3, water=9), reading(), NO_FACTS, None, {"a": 1.0})
    assert {found.id for found in free} == {"mould", "water"}


def test_what_a_rule_always_calls_for_is_shown_whatever_was_learnt() -> None:
    book = {"a": caution("a", Kind.HEAT), "m": caution("m", Kind.MOULD)}
    rules = (Rule(show=("a",), any=frozenset({"lamp"}), always=True), Rule(show=("m",), any=frozenset({"lamp"})))
    warner = Warner(rules=rules, topics=TRIVIAL, book=book, stands_for={})
    assert [found.id for found in chosen(warner, reading("lamp"), NO_FACTS, None, {"a": 1.0})] == ["a"]
    assert chosen(warner, reading("mould"), NO_FACTS, None, {"a": 1.0}) == ()


def test_the_line_of_a_kind_is_the_one_called_for_then_the_topics_then_the_one_that_stands_for_it() -> None:
    book = {name: caution(name, Kind.WATER) for name in ("rule", "topic", "any")}
    topics = {"a": Topic(id="a", label="a", cautions=("topic",)), "b": Topic(id="b", label="b")}
    rules = (Rule(show=("rule",), any=frozenset({"leak"})),)
    warner = Warner(rules=rules, topics=topics, book=book, kinds=knowing(water=9), stands_for={"water": "any"})
    model = knowing(water=9)
    assert Kind.WATER in model.needed(reading(), {"a": 1.0})
    assert [found.id for found in chosen(warner, reading("leak"), NO_FACTS, None, {"a": 1.0})] == ["rule"]
    assert [found.id for found in chosen(warner, reading(), NO_FACTS, None, {"a": 1.0})] == ["topic"]
    assert [found.id for found in chosen(warner, reading(), NO_FACTS, None, {"b": 1.0})] == ["any"]


def test_medical_cautions_are_shown_first() -> None:
    book = {
        "a": caution("a", Kind.HEAT, Severity.DANGER),
        "b": caution("b", Kind.MEDICAL, Severity.DANGER, medical=True),
    }
    rules = (Rule(show=("a", "b"), any=frozenset({"x"}), always=True),)
    warner = Warner(rules=rules, topics=TRIVIAL, book=book, stands_for={})
    assert [found.id for found in chosen(warner, reading("x"), NO_FACTS, None, {"a": 1.0})] == ["b", "a"]


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
    shares = {"mould-tube": 0.93, "oos-chat": 0.07, "oos-medical": 0.0}
    assert judge(reading("chat"), shares, TOPICS, NO_FACTS).decline is Decline.CHAT
    assert judge(reading("idle"), shares, TOPICS, Facts(genus="Lasius")).decline is None


def test_a_question_of_the_trade_is_not_declined() -> None:
    shares = {"mould-tube": 0.95, "oos-chat": 0.05, "oos-medical": 0.0}
    assert judge(reading("mould"), shares, TOPICS, NO_FACTS).decline is None


def test_chatter_beside_words_of_the_trade_must_be_likelier() -> None:
    shares = {"mould-tube": 0.88, "oos-chat": 0.12, "oos-medical": 0.0}
    assert judge(reading("mould"), shares, TOPICS, NO_FACTS).decline is None
    assert judge(reading("mould"), {**shares, "oos-chat": 0.2}, TOPICS, NO_FACTS).decline is Decline.CHAT


def test_what_is_declined_must_be_likely_enough_and_signs_of_a_reaction_least_of_all() -> None:
    doubtful = {"mould-tube": 0.6, "oos-chat": 0.0, "oos-medical": 0.0}
    for topic, least, most in (
        ("oos-medical", 0.29, 0.31),
        ("oos-pest-control", 0.07, 0.09),
        ("unsafe-request", 0.14, 0.16),
    ):
        assert judge(reading("mould"), {**doubtful, topic: least}, TOPICS, NO_FACTS).decline is None
        assert judge(reading("mould"), {**doubtful, topic: most}, TOPICS, NO_FACTS).decline is not None
    told = reading("medical", "mould")
    assert judge(told, {**doubtful, "oos-medical": 0.07}, TOPICS, NO_FACTS).decline is Decline.MEDICAL


def test_against_a_clear_question_pests_must_be_likelier_too() -> None:
    clear = {"mould-tube": 0.8, "oos-chat": 0.0, "oos-medical": 0.0}
    assert judge(reading("mould"), {**clear, "oos-pest-control": 0.15}, TOPICS, NO_FACTS).decline is None
    assert judge(reading("mould"), {**clear, "oos-pest-control": 0.2}, TOPICS, NO_FACTS).decline is Decline.PEST_CONTROL


def test_the_likeliest_of_several_reasons_decides() -> None:
    shares = {"mould-tube": 0.4, "oos-chat": 0.0, "oos-medical": 0.1, "unsafe-request": 0.3}
    assert judge(reading("mould"), shares, TOPICS, NO_FACTS).decline is Decline.UNSAFE


def test_where_nothing_is_likely_nothing_was_understood() -> None:
    shares = {f"topic-{n}": 0.04 for n in range(24)} | {"oos-chat": 0.04, "oos-medical": 0.0}
    topics = {name: Topic(id=name, label=name, declined=name.startswith("oos")) for name in shares}
    assert not judge(reading("mould"), shares, topics, NO_FACTS).understood


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
