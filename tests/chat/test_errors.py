"""Every error of the trade, the services and the gate has its sentence; surprises show a number and nothing else."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import bot.adapters.chat.commands  # noqa: F401 - so that every error class of the adapter is known
from bot.adapters.chat.errors import SENTENCES, incident_number, sentence
from bot.adapters.chat.gate import NotAModeratorError, TooFastError
from bot.care.duty import Outcome
from bot.care.errors import BadValueError, CareError, UnknownNameError
from bot.services.errors import (
    AlreadyAnsweredError,
    DeliveryError,
    DoorRefusedError,
    DuplicateNameError,
    ServiceError,
    TooManyError,
    TryLaterError,
)


def family(root: type[Exception]) -> Iterator[type[Exception]]:
    yield root
    for child in root.__subclasses__():
        yield from family(child)


ALL = [*family(CareError), *family(ServiceError), TooFastError, NotAModeratorError]
CODES = {kind: next(vars(parent)["code"] for parent in kind.__mro__ if "code" in vars(parent)) for kind in ALL}
"""An error without a code of its own, such as the store's, has the sentence of its parent."""


@pytest.mark.parametrize("kind", ALL, ids=lambda kind: kind.__name__)
def test_every_code_has_a_sentence(kind: type[Exception]) -> None:
    assert CODES[kind] in SENTENCES


def test_no_sentence_is_left_without_an_error() -> None:
    assert set(SENTENCES) == set(CODES.values())


@pytest.mark.parametrize("kind", list(family(DeliveryError)), ids=lambda kind: kind.__name__)
def test_every_trouble_of_a_message_has_a_sentence(kind: type[Exception]) -> None:
    error = TryLaterError(600) if kind is TryLaterError else kind("x")
    assert (sentence(error) or "").endswith(".")


@pytest.mark.parametrize(
    ("error", "part"),
    [
        (AlreadyAnsweredError(Outcome.SKIPPED), "(not needed)"),
        (AlreadyAnsweredError(None), "answered already."),
        (DuplicateNameError("*Dusk*"), r"\*Dusk\*"),
        (DuplicateNameError("Tub", culture=True), "feeder culture called “Tub”"),
        (TooManyError(50), "50 colonies"),
        (TooManyError(20, cultures=True), "20 feeder cultures for you at most. End one first: `/culture remove`"),
        (TooFastError(4), "4 seconds"),
        (DoorRefusedError("x"), "closed to me"),
        (TryLaterError(600), "10 minutes"),
        (UnknownNameError("species", "Lasius nigr", ("Lasius niger",)), "Did you mean Lasius niger?"),
        (BadValueError("workers", "Workers is a number."), "Workers is a number"),
    ],
)
def test_sentences_say_what_would_be_right(error: Exception, part: str) -> None:
    assert part in (sentence(error) or "")


def test_what_a_keeper_typed_has_no_power_in_an_error() -> None:
    said = sentence(UnknownNameError("species", "@everyone [x](https://example.org)")) or ""
    assert "@everyone" not in said
    assert "](" not in said


def test_a_surprise_has_no_sentence_but_a_number() -> None:
    assert sentence(RuntimeError("secret")) is None
    assert incident_number(7) == incident_number(7) != incident_number(8)
    assert len(incident_number(7)) == 8
