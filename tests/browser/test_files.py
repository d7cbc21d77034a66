"""Files in both directions in practice mode: a logger's file, an export, and the same export brought back."""

from __future__ import annotations

import base64
import json
import zipfile
from io import BytesIO
from typing import Any

import pytest

from bot.practice.session import Practice, Seat
from bot.practice.shapes import DIRECT
from bot.services.records import KeeperId
from tests.browser.test_practice import button, messages, parts, said

pytestmark = pytest.mark.asyncio

MAREN = Seat("Maren", DIRECT)


def attached(name: str, data: bytes) -> dict[str, str]:
    """A file as the page packs it."""
    return {"name": name, "data": base64.b64encode(data).decode()}


def maren(practice: Practice) -> KeeperId:
    return KeeperId(practice.world.person_id("Maren"))


async def asked(practice: Practice, name: str, **options: Any) -> list[dict[str, Any]]:
    """Everything that a command of Maren's brings."""
    before = len(await messages(practice, MAREN))
    await practice.command(MAREN, name, options)
    return (await messages(practice, MAREN))[before:]


async def test_a_loggers_file_is_read_kept_and_shown(practice: Practice) -> None:
    colony = await practice.core.colonies.of(maren(practice))
    lines = [f"2027-05-{10 + hour // 24:02}T{hour % 24:02}:00;21.5" for hour in range(96)]
    data = "\n".join(["time;temperature C", *lines]).encode()
    name = colony[0].colony.name
    read = await asked(practice, "care logger", colony=name, where="in the room", file=attached("box.csv", data))
    assert "96 of 96 lines are readings" in said(read)
    await practice.press(MAREN, int(read[0]["id"]), button(read[0], "Keep it and plan with it"))
    kept = await asked(practice, "care logger", colony=name)
    assert "in the room" in said(kept)
    assert any(part.get("kind") == "pictures" for part in parts(kept))


async def test_an_export_is_saved_erased_and_brought_back(practice: Practice) -> None:
    keeper = maren(practice)
    before = [record.colony.name for record in await practice.core.colonies.of(keeper)]
    (file,) = [part for part in parts(await asked(practice, "my data")) if part.get("kind") == "file"]
    assert file["name"] == "winterbrood-data.zip"
    data = practice.picture(file["address"])
    assert data is not None
    with zipfile.ZipFile(BytesIO(data)) as archive:
        assert len(json.loads(archive.read("own-data.json"))["colonies"]) == len(before)
        assert len([name for name in archive.namelist() if name.endswith("-year.png")]) == len(before)
    asking = (await asked(practice, "my erase"))[0]
    (erase,) = [part for part in parts(asking) if part.get("kind") == "button"]
    await practice.press(MAREN, int(asking["id"]), erase["id"])
    assert await practice.core.keepers.find(keeper) is None
    restored = await asked(practice, "my import", file=attached("winterbrood-data.zip", data))
    assert "Brought in" in said(restored)
    assert sorted(record.colony.name for record in await practice.core.colonies.of(keeper)) == sorted(before)
