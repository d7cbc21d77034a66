"""What is typed into the page becomes values for the bot, or a sentence that says what would be right."""

from __future__ import annotations

from typing import Any

import pytest

from bot.practice.errors import PracticeError
from bot.practice.inputs import describe, read_form, read_options

COMMAND: dict[str, Any] = {
    "description": "Register a colony",
    "options": [
        {"type": 3, "name": "name", "description": "What you call it", "required": True, "max_length": 20},
        {"type": 4, "name": "workers", "description": "How many", "min_value": 0, "max_value": 99},
        {"type": 10, "name": "water", "description": "ml"},
        {"type": 5, "name": "heated", "description": "Warm?"},
        {"type": 3, "name": "brood", "description": "Seen", "choices": [{"name": "some", "value": "some"}]},
        {"type": 3, "name": "species", "description": "Which", "autocomplete": True},
        {"type": 6, "name": "sitter", "description": "Who"},
    ],
}
HANDLES = {"@Maren": object()}


def test_a_command_is_described() -> None:
    told = describe("colony add", COMMAND)
    assert told["does"] == "Register a colony"
    kinds = {option["name"]: (option["kind"], option["needed"], option["suggests"]) for option in told["options"]}
    assert kinds["name"] == ("text", True, False)
    assert kinds["species"] == ("text", False, True)
    assert kinds["workers"][0] == "whole"
    assert kinds["heated"][0] == "yesno"


def test_values_get_their_kinds_and_empty_ones_are_left_out() -> None:
    typed = {"name": " Nib ", "workers": "12", "water": "2.5", "heated": "yes", "sitter": "@Maren", "brood": ""}
    values = read_options(COMMAND, typed, HANDLES)
    assert values == {"name": "Nib", "workers": 12, "water": 2.5, "heated": True, "sitter": HANDLES["@Maren"]}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "name: this is needed"),
        ({"name": "  "}, "name: this is needed"),
        ({"name": "n" * 21}, "name: give at most 20 characters."),
        ({"name": "a", "workers": "many"}, "workers: give a whole number, such as 12."),
        ({"name": "a", "workers": "1.5"}, "workers: give a whole number"),
        ({"name": "a", "workers": "-1"}, "workers: give at least 0."),
        ({"name": "a", "workers": "100"}, "workers: give at most 99."),
        ({"name": "a", "workers": "9" * 400}, "workers: give a whole number"),
        ({"name": "a", "water": "nan"}, "water: give a number with a point"),
        ({"name": "a", "water": "1e999"}, "water: give a number with a point"),
        ({"name": "a", "heated": "perhaps"}, "heated: answer yes or no."),
        ({"name": "a", "brood": "much"}, "brood: choose one of some."),
        ({"name": "a", "sitter": "@Nobody"}, "sitter: choose one of @Maren."),
        ({"name": "a", "colour": "red"}, "There is no option “colour” here"),
        ({"name": "a", "species": "x" * 10_000}, "species: give at most 6000 characters."),
    ],
)
def test_bad_input_gets_a_sentence(typed: dict[str, str], said: str) -> None:
    with pytest.raises(PracticeError, match="^" + said.replace(".", r"\.")):
        read_options(COMMAND, typed, HANDLES)


FORM: dict[str, Any] = {
    "fields": [
        {"kind": "text", "blocks": []},
        {"kind": "short", "id": "day", "label": "Day", "required": True},
        {"kind": "picker", "id": "stuff", "label": "Material", "required": False},
        {"kind": "check", "id": "sure", "label": "Sure", "required": False},
    ]
}


def test_a_form_is_read() -> None:
    typed = {"day": "tomorrow", "stuff": ["plaster"], "sure": False}
    assert read_form(FORM, typed, {}) == typed
    assert read_form(FORM, {"day": "tomorrow", "stuff": [], "sure": None}, {}) == {"day": "tomorrow"}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Day: this is needed."),
        ({"day": ["x"]}, "Day: this is no answer"),
        ({"day": "x", "sure": "y"}, "Sure: this"),
    ],
)
def test_a_form_refuses_what_it_cannot_read(typed: dict[str, Any], said: str) -> None:
    with pytest.raises(PracticeError, match="^" + said):
        read_form(FORM, typed, {})


FILE: dict[str, Any] = {"options": [{"type": 11, "name": "file", "description": "A CSV file", "required": True}]}


def test_an_attached_file_is_unpacked() -> None:
    assert describe("care logger", FILE)["options"][0]["kind"] == "file"
    typed = {"file": {"name": "box.csv", "data": "dGltZQ=="}}
    assert read_options(FILE, typed, HANDLES) == {"file": ("box.csv", b"time")}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "file: this is needed"),
        ({"file": "box.csv"}, "file: attach a file"),
        ({"file": {"name": "box.csv"}}, "file: attach a file"),
        ({"file": {"name": "box.csv", "data": "no base 64!"}}, "file: attach a file"),
    ],
)
def test_what_is_no_file_gets_a_sentence(typed: dict[str, Any], said: str) -> None:
    with pytest.raises(PracticeError, match=said):
        read_options(FILE, typed, HANDLES)
