"""The sense of sentences: the published encoder behind it does what its authors say, our tables are kept whole.

Source: Yang et al. 2019, "Multilingual Universal Sentence Encoder for Semantic Retrieval" (arXiv:1907.04307): what
means the same lies near in all of its languages. The sentences below are our own.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.sentences import FILE, WIDTH, Head, Sentences, encoded, load_heads, save_heads
from bot.care.answers.guide import Guide
from tests.shelf import CONFIG

SAME = {
    "the test tube has no water left": (
        "im Reagenzglas ist kein Wasser mehr",
        "no queda agua en el tubo de ensayo",
        "il n'y a plus d'eau dans le tube à essai",
    ),
    "my queen died last night": (
        "meine Königin ist letzte Nacht gestorben",
        "mi reina murió anoche",
        "ma reine est morte cette nuit",
    ),
    "may I send them by post": (
        "darf ich sie mit der Post verschicken",
        "¿puedo enviarlas por correo?",
        "puis-je les envoyer par la poste",
    ),
}


@pytest.mark.parametrize("text", SAME)
def test_what_means_the_same_lies_nearest_in_every_language(text: str) -> None:
    others = [other for other in SAME if other != text]
    apart = max(float(value) for value in encoded(others) @ encoded([text])[0])
    assert all(float(value) > apart for value in encoded(SAME[text]) @ encoded([text])[0])


def test_numbers_are_of_length_one_and_the_same_every_time() -> None:
    rows = encoded(["mould on the cotton"])
    assert rows.shape == (1, WIDTH)
    assert np.linalg.norm(rows[0]) == pytest.approx(1, abs=1e-4)
    assert np.array_equal(rows, encoded(["mould on the cotton"]))


def test_odd_and_endless_text_is_read_as_far_as_it_goes() -> None:
    assert np.isfinite(encoded(["", "\ud800", "🐜"])).all()
    assert np.array_equal(encoded(["ant " * 500]), encoded(["ant " * 5000]))


def test_the_sense_has_every_topic_kind_and_card_that_words_have(guide: Guide) -> None:
    sense = Sentences(load_heads(CONFIG))("my tube is dry")
    assert set(sense.topics) == set(guide.topics)
    assert set(sense.kinds) == set(guide.warner.kinds.learnt.classes)
    assert set(sense.cards) == set(guide.leanings.classes) == set(guide.cards)
    assert max(sense.topics, key=lambda name: sense.topics[name]) == "tube-dry"


def test_tables_are_kept_whole_and_always_in_the_same_bytes(tmp_path: Path) -> None:
    (tmp_path / FILE).parent.mkdir()
    heads = load_heads(CONFIG)
    save_heads(tmp_path, heads)
    assert (tmp_path / FILE).read_bytes() == (CONFIG / FILE).read_bytes()
    assert load_heads(tmp_path).cards.classes == heads.cards.classes


def test_a_missing_or_damaged_file_is_named_with_its_remedy(tmp_path: Path) -> None:
    (tmp_path / FILE).parent.mkdir()
    with pytest.raises(HandbookError, match=r"sentences.npz: cannot be read: .*Learn it again"):
        load_heads(tmp_path)
    (tmp_path / FILE).write_bytes((CONFIG / FILE).read_bytes()[:1000])
    with pytest.raises(HandbookError, match=r"sentences.npz: cannot be read: .*Learn it again"):
        load_heads(tmp_path)


def test_a_table_that_does_not_fit_its_classes_is_refused(tmp_path: Path) -> None:
    (tmp_path / FILE).parent.mkdir()
    with pytest.raises(ValueError, match="does not fit"):
        Head(("a", "b"), np.zeros((1, WIDTH), np.float32), np.zeros(2, np.float32))
    whole = load_heads(CONFIG)
    crooked = {
        f"{name} {part}": np.zeros(3, np.float16) for name in vars(whole) for part in ("classes", "weights", "bias")
    }
    np.savez_compressed(tmp_path / FILE, allow_pickle=False, **crooked)
    with pytest.raises(HandbookError, match="does not fit"):
        load_heads(tmp_path)
