"""Logs: one JSON object a line, and never the text of an exception."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator

import pytest
import structlog

from bot.adapters.logs import configure


@pytest.fixture(autouse=True)
def as_before() -> Iterator[None]:
    """Other tests log as they did."""
    root, kept = logging.getLogger(), structlog.get_config()
    handlers, level = root.handlers, root.level
    yield
    root.handlers = handlers
    root.setLevel(level)
    structlog.configure(**kept)


def lines(capsys: pytest.CaptureFixture[str]) -> list[dict[str, object]]:
    return [json.loads(line) for line in capsys.readouterr().err.splitlines()]


def broken() -> None:
    raise ValueError("what a keeper typed: my ants live behind the sofa")


def test_an_exception_is_told_by_type_and_place_without_its_text(capsys: pytest.CaptureFixture[str]) -> None:
    configure("INFO")
    try:
        broken()
    except ValueError as error:
        structlog.get_logger("app").error("delivery_surprise", keeper=7, exc_info=error)
        structlog.get_logger("heartbeat").exception("beat_failed", failures=1)
        logging.getLogger("discord").exception("Ignoring exception in %s", "on_ready")
    found = lines(capsys)
    assert [line["event"] for line in found] == ["delivery_surprise", "beat_failed", "Ignoring exception in on_ready"]
    for line in found:
        assert line["error"] == "ValueError"
        assert any("broken" in frame for frame in line["at"] if isinstance(line["at"], list))  # type: ignore[attr-defined]
        assert "sofa" not in json.dumps(line)
        assert {"level", "timestamp"} <= set(line)


def test_the_level_is_ours_and_libraries_speak_from_warnings_on(capsys: pytest.CaptureFixture[str]) -> None:
    configure("WARNING")
    structlog.get_logger("app").info("quiet")
    structlog.get_logger("app").warning("loud")
    logging.getLogger("discord.gateway").info("chatter")
    logging.getLogger("discord.gateway").warning("said %s", "once")
    assert [line["event"] for line in lines(capsys)] == ["loud", "said once"]
