"""What practice mode keeps in its folder beside the bot's own store: the moment of the clock, and the conversation."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bot.practice.errors import PracticeError

STORE = "winterbrood.sqlite3"
CONVERSATION = "conversation.json"
MOST_MESSAGES = 2000
"""The newest so many messages are kept."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What the last run left: its moment, and its messages as JSON values."""

    moment: datetime
    messages: Sequence[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Folder:
    """The folder of one practice community."""

    path: Path

    def prepare(self) -> None:
        """Make the folder, and see that it can be written.

        Raises:
            PracticeError: it cannot.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
            probe = self.path / ".probe"
            probe.touch()
            probe.unlink()
        except OSError as refused:
            raise PracticeError(
                f"The folder “{self.path}” cannot be written ({refused.strerror}). Name one that is yours to write."
            ) from refused

    @property
    def database(self) -> str:
        """Address of the bot's store."""
        return f"sqlite+aiosqlite:///{self.path / STORE}"

    def load(self) -> Kept | None:
        """What the last run left; `None` at the first start.

        Raises:
            PracticeError: the file is there, but is not what `save` wrote.
        """
        file = self.path / CONVERSATION
        if not file.exists():
            return None
        try:
            read = json.loads(file.read_text("utf-8"))
            moment = datetime.fromisoformat(read["moment"])
            messages = read["messages"]
            kept = Kept(moment.astimezone(UTC), [dict(message) for message in messages])
        except (OSError, ValueError, KeyError, TypeError) as broken:
            raise PracticeError(
                f"“{file}” cannot be read. Put back a copy, or start afresh with another --data folder."
            ) from broken
        return kept

    def save(self, moment: datetime, messages: Sequence[dict[str, Any]]) -> None:
        """Keep them; whatever happens meanwhile, either the old or the new file is there and whole.

        Raises:
            PracticeError: it cannot be written.
        """
        newest = sorted(messages, key=lambda message: int(message["id"]))[-MOST_MESSAGES:]
        text = json.dumps({"moment": moment.isoformat(), "messages": newest}, ensure_ascii=False)
        fresh = self.path / (CONVERSATION + ".new")
        try:
            fresh.write_text(text, "utf-8")
            fresh.replace(self.path / CONVERSATION)
        except OSError as refused:
            raise PracticeError(
                f"The conversation could not be kept in “{self.path}” ({refused.strerror}); make room or allow writing."
            ) from refused
