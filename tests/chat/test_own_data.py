"""A keeper's own data in the chat: taken along, erased after a question, brought back; nobody else's in it."""

from __future__ import annotations

import json
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from simcord.results import InteractionResult

from bot.adapters.chat.errors import SENTENCES
from bot.care.duty import Outcome
from bot.care.errors import CareError
from bot.services.own_data import ERASED_MARK, KEPT
from bot.services.records import ColonyId, KeeperId
from tests.chat.world import ChatWorld, buttons, last, text

pytestmark = pytest.mark.asyncio
SCHEMA = json.loads((Path(__file__).parents[2] / "config" / "own-data.schema.json").read_text("utf-8"))


async def lived(world: ChatWorld) -> None:
    """Ada and Bela each keep a colony and wrote something down."""
    for who, name in ((world.ada, "Dusk"), (world.bela, "Moss")):
        await world.settle_in(who)
        usual = {"species": "Lasius niger", "workers": 80, "material": "aerated-concrete", "water_ml": 60.0}
        await world.slash("colony add", who, name=name, **usual)
        await world.slash("colony note", who, colony=name, text=f"about {name}")
        await world.slash("colony seen", who, colony=name, what="mites")


async def packed(shown: InteractionResult) -> bytes:
    (file,) = last(shown).attachments
    assert file.filename == "winterbrood-data.zip"
    return await file.read()


def document(data: bytes) -> dict[str, Any]:
    with zipfile.ZipFile(BytesIO(data)) as archive:
        (name,) = [name for name in archive.namelist() if name.endswith(".json")]
        return dict(json.loads(archive.read(name)))


async def test_export_erase_import_gives_the_same_colony(world: ChatWorld) -> None:
    await lived(world)
    before = await world.services.colonies.show(await world.keeper_id(), ColonyId(1), world.clock.now())
    shown = await world.slash("my data")
    assert shown.ephemeral
    assert last(shown).ephemeral, "the file too is for the asker alone"
    data = await packed(shown)
    jsonschema.validate(document(data), SCHEMA)
    with zipfile.ZipFile(BytesIO(data)) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist() if not name.endswith(".png"))
        assert [name for name in archive.namelist() if name.endswith(".png")]
    assert b"Dusk" in everything
    assert b"Moss" not in everything
    assert str(world.bela.id).encode() not in everything

    asked = await world.slash("my erase")
    assert KEPT in text(asked)
    assert "Dusk" in text(asked)
    assert await world.services.keepers.find(await world.keeper_id()) is not None, "asked first"
    (confirm,) = buttons(asked)
    assert confirm == f"wb:erase:{world.ada.id}"
    await world.restart()
    done = await world.ada.click(last(asked), custom_id=confirm)
    told = text(done)
    assert "1 colony, 2 lines of history" in told
    assert KEPT in told
    assert await world.services.keepers.find(await world.keeper_id()) is None
    assert await world.services.keepers.find(KeeperId(world.bela.id)) is not None
    async with world.services.units() as work:
        assert await work.marks.get(ERASED_MARK) == "1"

    back = text(await world.slash("my import", file=("winterbrood-data.zip", data)))
    assert "**Brought in** Dusk" in back
    assert "Reminders are off until you say so here" in back
    (record,) = await world.services.colonies.of(await world.keeper_id())
    old, new = before.record.colony, record.colony
    assert (new.name, new.species, new.workers, new.nest, new.log) == (
        old.name, old.species, old.workers, old.nest, old.log,
    )  # fmt: skip
    assert [entry.outcome for entry in new.log] == [Outcome.NOTED, Outcome.MITES]
    again = text(await world.slash("my import", file=("winterbrood-data.zip", data)))
    assert "Here already, left as they were" in again


async def test_nobody_erases_somebody_else(world: ChatWorld) -> None:
    await lived(world)
    asked = await world.slash("my erase")
    assert asked.response is not None
    stored = world.env.backend.get_message(asked.response.channel_id, asked.response.id)
    stored.flags = 1 << 15  # as if the message had been for everybody to see
    pressed = await world.bela.click(asked.response, custom_id=f"wb:erase:{world.ada.id}")
    assert "Only its own keeper" in text(pressed)
    for who in (world.ada, world.bela):
        assert await world.services.keepers.find(KeeperId(who.id)) is not None


async def test_who_is_not_known_gets_the_first_step_and_bad_files_get_sentences(world: ChatWorld) -> None:
    for command in ("my data", "my erase"):
        assert "/my place" in text(await world.slash(command))
    for name, data in (("a.zip", b"hello"), ("a.zip", b""), ("a.png", b"\x89PNG")):
        told = text(await world.slash("my import", file=(name, data)))
        assert "Not this time" in told
        assert "number: `" not in told, "foreseen, so no number of an incident"
        world.clock.move(minutes=1)
    assert "up to 10 MB" in text(await world.slash("my import", file=("a.zip", bytes(10_000_001))))
    assert await world.services.keepers.find(await world.keeper_id()) is None
    assert world.env.errors


def kinds(root: type[Exception]) -> set[type[Exception]]:
    return {root}.union(*(kinds(kind) for kind in root.__subclasses__()))


async def test_every_refusal_of_the_trade_has_its_sentence() -> None:
    for kind in kinds(CareError):
        assert vars(kind).get("code", "care") in SENTENCES, kind


async def test_privacy_says_what_why_and_how_long(world: ChatWorld) -> None:
    told = text(await world.slash("my privacy"))
    for words in ("What I keep, and why", "For how long", "Who sees it", "/my data", "/my erase", KEPT):
        assert words in told
    for name in ("PRIV-DM", "PRIV-PUBLIC"):
        assert world.services.handbook.cautions[name].text in told
