"""Every request against the platform's published description, and against limits that it does not state.

Description: `discord-openapi.json` (MIT), read from the shelf beside the repository where it is present; objects are
closed, so that an unknown field is caught. Own rules: the platform's documentation of messages, components and
commands, and its failure on layouts of more than about 10,170 bytes.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from simcord.components import walk_components
from simcord.types import HttpLogEntry

DESCRIPTION = Path(
    os.environ.get("DISCORD_OPENAPI", Path(__file__).parents[3] / "shared" / "standards" / "discord-openapi.json")
)
COMMAND_NAME = re.compile(r"^[-_'\w]{1,32}$")
COMPONENTS_V2 = 1 << 15
MENUS = (2, 3)
"""Types of commands that stand in the menu of a person or a message."""


def check_requests(entries: Iterable[HttpLogEntry]) -> None:
    """Judge every request with a body."""
    for entry in entries:
        if entry.json is not None:
            check_shape(entry.method, entry.path, entry.json)
            check_rules(entry.json)


def check_shape(method: str, path: str, body: Any) -> None:
    """The body against the published description; silent where the description is not at hand."""
    schema = _schema(method, path)
    if schema is not None:
        told = _as_described(body)
        shape = (schema, json.dumps(_outline(told), sort_keys=True))
        if shape not in _judged:
            problems = list(_validator(schema).iter_errors(told))
            assert not problems, f"{method} {path}: {_deepest(problems[0])}"
            _judged.add(shape)


_judged: set[tuple[str, str]] = set()
"""Outlines that were found right: bodies that differ in words only are judged once; `check_rules` measures words."""


def _outline(part: Any, name: str = "") -> Any:
    """A body with its words and numbers left out, but for those that say what kind of thing it is."""
    if isinstance(part, dict):
        return {key: _outline(value, key) for key, value in part.items()}
    if isinstance(part, list):
        return [_outline(value) for value in part]
    return part if name in {"type", "style", "flags"} else type(part).__name__


def _as_described(body: Any) -> Any:
    """Without the library's own ways, which the platform takes: `nsfw` of commands, `tts` of edits, ids as numbers."""
    if isinstance(body, list):
        return [{key: value for key, value in command.items() if key != "nsfw"} for command in body]
    told = {key: value for key, value in body.items() if (key, value) != ("tts", False)}
    mentions = told.get("allowed_mentions") or {}
    if mentions:
        named = {name: [str(one) for one in mentions[name]] for name in ("roles", "users") if name in mentions}
        told["allowed_mentions"] = {**mentions, **named}
    if "attachments" in told:
        told["attachments"] = [{**file, "id": str(file["id"])} for file in told["attachments"]]
    return {key: str(value) if key == "recipient_id" else value for key, value in told.items()}


def _deepest(problem: Any) -> str:
    while problem.context:
        problem = max(problem.context, key=lambda inner: len(inner.absolute_path))
    return f"{list(problem.absolute_path)}: {problem.message[:300]}"


@cache
def _description() -> dict[str, Any] | None:
    if not DESCRIPTION.exists():
        return None
    loaded = json.loads(DESCRIPTION.read_text("utf-8"))
    for schema in loaded["components"]["schemas"].values():
        _close(schema)
    return dict(loaded)


def present() -> bool:
    """Whether the description is at hand."""
    return _description() is not None


def _close(schema: Any) -> None:
    """Objects with named properties take no others."""
    if isinstance(schema, list):
        for inner in schema:
            _close(inner)
    if not isinstance(schema, dict):
        return
    if "properties" in schema and "allOf" not in schema:
        schema.setdefault("additionalProperties", False)
    for inner in schema.values():
        _close(inner)


@cache
def _validator(schema: str) -> Draft202012Validator:
    description = _description() or {}
    return Draft202012Validator({**json.loads(schema), "components": description["components"]})


@cache
def _operations() -> tuple[tuple[str, re.Pattern[str], str], ...]:
    """Method, path and schema of every operation with a body."""
    description = _description() or {"paths": {}}
    return tuple(
        (method, re.compile(re.sub(r"\{\w+\}", "[^/]+", path)), json.dumps(content["application/json"]["schema"]))
        for path, operations in description["paths"].items()
        for method, operation in operations.items()
        if isinstance(operation, dict)
        and "application/json" in (content := operation.get("requestBody", {}).get("content", {}))
    )


def _schema(method: str, path: str) -> str | None:
    """The schema of a request's body, as text."""
    found = (schema for verb, pattern, schema in _operations() if verb == method.lower() and pattern.fullmatch(path))
    return next(found, None)


def check_rules(body: Any) -> None:
    """What the description does not say."""
    if isinstance(body, list):
        for command in body:
            check = _check_menu if command.get("type") in MENUS else _check_command
            check(command)
        return
    message = body.get("data", body) if isinstance(body, dict) else {}
    if isinstance(message, dict):
        _check_message(message)
        for choice in message.get("choices", []):
            assert len(choice["name"]) <= 100, choice
        assert len(message.get("choices", [])) <= 25


def _check_command(command: dict[str, Any], depth: int = 0) -> None:
    name, description = command["name"], command["description"]
    assert COMMAND_NAME.fullmatch(name), name
    assert name == name.lower(), name
    assert 1 <= len(description) <= 100, (name, description)
    options = command.get("options", [])
    assert len(options) <= 25, name
    for option in options:
        _check_command(option, depth + 1)
    if depth == 0:
        assert summed(command) <= 8000, name
        assert command["contexts"] == [0, 1, 2], name
        assert command["integration_types"] == [0, 1], name


def _check_menu(command: dict[str, Any]) -> None:
    assert 1 <= len(command["name"]) <= 32, command["name"]
    assert not command.get("description"), command["name"]
    assert command["contexts"] == [0, 1, 2], command["name"]
    assert command["integration_types"] == [0, 1], command["name"]


def summed(command: dict[str, Any]) -> int:
    """Characters of names, descriptions and values of a command, nested ones included."""
    own = len(command.get("name", "")) + len(command.get("description", ""))
    choices = sum(len(str(choice["name"])) + len(str(choice["value"])) for choice in command.get("choices", []))
    return own + choices + sum(summed(option) for option in command.get("options", []))


def _check_message(message: dict[str, Any]) -> None:
    assert len(message.get("content") or "") <= 2000
    assert len(str(message.get("nonce", ""))) <= 25
    components = list(walk_components(message.get("components") or []))
    if message.get("flags", 0) & COMPONENTS_V2 or any(part["type"] in {10, 17} for part in components):
        texts = [part["content"] for part in components if part["type"] == 10]
        assert sum(map(len, texts)) <= 4000
        assert sum(len(found.encode()) for found in texts) < 9000
        assert len(components) <= 40
    if components and "custom_id" not in message:
        assert message.get("allowed_mentions") is None or message["allowed_mentions"].get("parse") == []
    identifiers = [part["custom_id"] for part in components if "custom_id" in part]
    assert len(identifiers) == len(set(identifiers))
    for part in components:
        assert 1 <= len(part.get("custom_id", "x")) <= 100
        if part["type"] == 2:
            assert "custom_id" in part or "url" in part
            assert len(part.get("label", "")) <= 80
        for option in part.get("options", []):
            assert len(option["label"]) <= 100, option
