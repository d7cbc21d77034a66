"""Ants named in questions: which entry of the handbook is meant, and when no ant is meant at all.

Names are those of `config/species`. Every name was compared with the commonest words of four languages; the everyday
words below are those that came nearest.
"""

from __future__ import annotations

import pytest

from bot.care.answers.lexicon import Lexicon
from bot.care.answers.naming import Names
from bot.care.answers.reading import Reader
from bot.care.species import SpeciesProfile
from tests.shelf import handbook

NAMES = Names(handbook().species.values())


def found(text: str) -> list[str]:
    return [one.profile.name for one in NAMES.find(text)]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("does Messor barbarus hibernate?", "Messor barbarus"),
        ("what temp for lasius niger in winter", "Lasius niger"),
        ("LASIUS NIGER eggs gone", "Lasius niger"),
        ("is solenopsis dangerous", "Solenopsis"),
        ("braucht Camponotus ligniperda eine Winterruhe?", "Camponotus ligniperda"),
        ("Messorkolonie frisst nichts", "Messor"),
        ("meine Lasius-Königin legt nicht", "Lasius"),
        ("¿hiberna Crematogaster scutellaris?", "Crematogaster scutellaris"),
        ("est-ce que Temnothorax nylanderi hiberne", "Temnothorax nylanderi"),
        ("une reine d'Atta sexdens", "Atta sexdens"),
        ("Lasius sp. queen", "Lasius"),
    ],
)
def test_a_name_is_found_in_four_languages_and_however_it_is_cased(text: str, name: str) -> None:
    assert found(text) == [name]


@pytest.mark.parametrize(
    ("text", "name"),
    [("my L. niger queen", "Lasius niger"), ("l.niger", "Lasius niger"), ("M. barbarus", "Messor barbarus")],
)
def test_a_genus_may_be_shortened_to_its_letter(text: str, name: str) -> None:
    assert found(text) == [name]


def test_a_synonym_means_the_entry_that_bears_it() -> None:
    assert found("Camponotus ligniperdus") == ["Camponotus ligniperda"]
    assert found("Pachycondyla chinensis") == ["Brachyponera chinensis"]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("mesor barbarus", "Messor barbarus"),
        ("lasuis niger", "Lasius niger"),
        ("camponotous vagus", "Camponotus vagus"),
        ("Crematogaster scutelaris", "Crematogaster scutellaris"),
        ("tetramorium immigrants", "Tetramorium immigrans"),
    ],
)
def test_one_slip_in_a_long_name_is_forgiven(text: str, name: str) -> None:
    assert found(text) == [name]


@pytest.mark.parametrize(
    "text",
    [
        "kann ich mit dem messer einen gang graben",
        "formic acid smells",
        "which formicarium for beginners",
        "cuando va a poner huevos",
        "monica has manic ants",
        "a cursor on the screen",
        "he dives into the vagus nerve",
        "the stem is sessile and the leaf magnum",
        "niger and nigeria",
        "metallica on vinyl",
        "alta temperatura",
        "my ants are black",
        "",
        "🐜",
    ],
)
def test_everyday_words_name_no_ant(text: str) -> None:
    assert found(text) == []


def test_an_epithet_alone_counts_where_it_can_only_mean_one_ant() -> None:
    assert found("my barbarus wont eat") == ["Messor barbarus"]
    assert found("japonicus or not") == [], "two species bear it"
    assert found("Lasius niger or flavus") == ["Lasius niger", "Lasius flavus"]


def test_an_unknown_genus_is_never_taken_for_another_that_bears_the_same_epithet() -> None:
    assert found("does Neivamyrmex californicus hibernate") == []
    assert found("Dorymyrmex in a tube") == []


def test_an_unknown_species_stands_under_its_genus_and_is_remembered() -> None:
    (one,) = NAMES.find("does Lasius emarginatus hibernate")
    assert (one.profile.name, one.missing, one.said) == ("Lasius", "Lasius emarginatus", "Lasius emarginatus")


@pytest.mark.parametrize(
    "text", ["lasius queen", "lasius plus grand", "Messor comida", "lasius status", "mes lasius perdus"]
)
def test_an_ordinary_word_after_a_genus_is_no_species(text: str) -> None:
    assert [one.missing for one in NAMES.find(text)] == [None]


def test_a_genus_goes_without_saying_beside_its_species() -> None:
    assert found("Messor barbarus: how often do messor eat") == ["Messor barbarus"]


def test_the_name_of_an_ant_is_no_misspelling_of_something_else() -> None:
    """`humile` is one letter from the French for oil, `plagiolepis` begins nearly like the Spanish for a pest."""
    plain = Lexicon({"oil": {"fr": ("huile*",)}, "pest": {"es": ("plaga*",)}}, {"fr": frozenset({"de"})})
    reader = Reader(plain, (), NAMES.words)
    assert reader.read("Linepithema humile").concepts == reader.read("Plagiolepis").concepts == frozenset()
    assert reader.read("huille").concepts == {"oil"}
    assert "humile" not in reader.read("humiles huile").words, "and nothing is taken for a misspelling of a name"


def test_a_letter_that_two_species_share_means_neither() -> None:
    twins = [SpeciesProfile(name=f"{genus} alba", genus=genus, rank="species") for genus in ("Pia", "Pola")]
    assert Names(twins).find("P. alba") == ()
    assert [one.profile.name for one in Names(twins).find("Pola alba")] == ["Pola alba"]
