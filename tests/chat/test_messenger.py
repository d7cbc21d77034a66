"""What refusals of the platform become, and that nothing goes out while it may not. Codes: the platform's list."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import aiohttp
import discord
import pytest

from bot.adapters.chat.messenger import _ChannelLostError
from bot.adapters.chat.presenters.digest import ABOVE, CATCH_UP, NOW, USUAL, opening
from bot.adapters.chat.refusals import meaning
from bot.care.cautions import Caution, Kind, Severity
from bot.care.duty import Duty
from bot.care.evidence import JUDGEMENT
from bot.care.units import Units
from bot.services.errors import (
    BadMessageError,
    DeliveryError,
    DoorRefusedError,
    KeeperGoneError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.ports import Digest, DigestLine, Posted
from bot.services.records import DeliveryId, KeeperId, OccurrenceId
from bot.services.sitting_records import Note, NoteId, NoteKind
from tests.chat.world import START, ChatWorld, text


def refusal(status: int, code: int = 0) -> discord.HTTPException:
    response = SimpleNamespace(status=status, reason="no")
    return discord.HTTPException(response, {"code": code, "message": "no"})


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (refusal(403, 50007), DoorRefusedError),
        (refusal(400, 50007), DoorRefusedError),
        (refusal(403, 50278), DoorRefusedError),
        (refusal(404, 10013), KeeperGoneError),
        (refusal(403, 40003), TryLaterError),
        (refusal(429), TryLaterError),
        (refusal(401), TryLaterError),
        (refusal(503), TryLaterError),
        (refusal(500), OutcomeUnknownError),
        (refusal(502), OutcomeUnknownError),
        (refusal(524), OutcomeUnknownError),
        (refusal(400, 50035), BadMessageError),
        (refusal(403, 20009), BadMessageError),
        (discord.RateLimited(77), TryLaterError),
        (TimeoutError(), OutcomeUnknownError),
        (ConnectionResetError(104, "reset"), OutcomeUnknownError),
        (aiohttp.ServerDisconnectedError(), OutcomeUnknownError),
    ],
)
def test_refusals(error: Exception, kind: type[DeliveryError]) -> None:
    assert type(meaning(error)) is kind


def test_a_long_rate_limit_says_how_long() -> None:
    found = meaning(discord.RateLimited(77))
    assert isinstance(found, TryLaterError)
    assert found.after == 77


def caution(number: int, severity: Severity, size: int = 240) -> Caution:
    words = f"{severity.value} {number} ".ljust(size, "x")
    return Caution(id=f"T-{number}", kind=Kind.HEAT, severity=severity, text=words, advice="", evidence=JUDGEMENT)


def digest(**changes: object) -> Digest:
    lines = tuple(
        DigestLine(
            occurrence_id=OccurrenceId(number),
            colony_name="Dusk",
            duty=Duty.WATER,
            day=date(2027, 6, 1),
            reason="Side A should be nearly dry.",
            urgent=False,
            days_late=0,
            facts={},
        )
        for number in (1, 2)
    )
    usual: dict[str, object] = {
        "delivery_id": DeliveryId(7),
        "keeper_id": KeeperId(1),
        "nonce": "N" * 24,
        "lines": lines,
        "cautions": (),
        "units": Units.CELSIUS,
    }
    return Digest(**{**usual, **changes})  # type: ignore[arg-type]  # names are checked by Digest itself


def test_the_heading_says_why_the_message_comes() -> None:
    assert opening(digest()).fixed.heading == USUAL
    assert opening(digest(catch_up=True)).fixed.heading == CATCH_UP
    assert NOW in opening(digest(lines=(_urgent(),), notice="A word.")).fixed.heading
    assert opening(digest(notice="A word.")).fixed.heading.endswith("A word.")


def _urgent() -> DigestLine:
    return DigestLine(
        occurrence_id=OccurrenceId(1),
        colony_name="Dusk",
        duty=Duty.WATER,
        day=date(2027, 6, 1),
        reason="Dry.",
        urgent=True,
        days_late=0,
        facts={},
    )


def test_dangers_stand_first_alone_on_their_lines_and_notes_last() -> None:
    found = [caution(1, Severity.DANGER, 60), caution(2, Severity.WARNING, 60), caution(3, Severity.NOTE, 60)]
    words = opening(digest(cautions=tuple(found)))
    lines = words.fixed.cautions.split("\n\n")
    assert found[0].text in lines[0]
    assert found[1].text in lines[1]
    assert words.fixed.notes == f"-# {found[2].text}"
    assert not words.ahead


@pytest.mark.asyncio
async def test_too_many_cautions_go_ahead_whole(world: ChatWorld) -> None:
    found = tuple(caution(number, Severity.DANGER if number < 9 else Severity.NOTE) for number in range(30))
    await world.settle_in()
    with world.env._bot_scope():
        channel = await world.client.messenger.open_door(KeeperId(world.ada.id))
        await world.client.messenger.send_digest(channel, digest(cautions=found), quiet=True)
    await world.env.settle()
    told = "\n".join(text(message) for message in world.inbox())
    assert [told.index(one.text) for one in found] == sorted(told.index(one.text) for one in found)
    assert told.index(found[-1].text) < told.index("Dusk")
    nonces = [entry.json["nonce"] for entry in world.env.http_requests if entry.json and "nonce" in entry.json]
    assert len(nonces) == len(set(nonces)) == len(world.inbox())
    assert all(len(str(nonce)) <= 25 for nonce in nonces)


def report(number: int, colonies: int) -> Note:
    """A sitter's report over many colonies with long names, on each of which much was done."""
    care = [Duty.SUGAR, Duty.PROTEIN, Duty.LEFTOVERS, Duty.WATER, Duty.WASTE, Duty.BARRIER_CHECK]
    last = "2027-06-05T16:00:00+00:00"
    done = [{"duty": duty.value, "times": 4, "last": last, "found": {"half taken": 2, "refused": 2}} for duty in care]
    told = [{"name": f"*{at}*".ljust(40, "_"), "done": done, "looked": {}, "open": []} for at in range(colonies)]
    about = {"sitter": 7, "since": "2027-05-20", "ended": "2027-06-01", "colonies": told}
    return Note(id=NoteId(number), keeper_id=KeeperId(1), kind=NoteKind.REPORT, due_at=START, about=about)


@pytest.mark.asyncio
async def test_long_reports_go_ahead_and_the_lines_keep_their_room(world: ChatWorld) -> None:
    notes = (report(1, 20), report(2, 20))
    dangers = tuple(caution(number, Severity.DANGER) for number in range(5))
    assert opening(digest(notes=(report(1, 1),))).news == (), "a short one stands in the message itself"
    with world.env._bot_scope():
        channel = await world.client.messenger.open_door(KeeperId(world.ada.id))
        await world.client.messenger.send_digest(channel, digest(notes=notes, cautions=dangers), quiet=False)
    await world.env.settle()
    *ahead, reminder = [text(message) for message in world.inbox()]
    assert sum(said.count("looked after your colonies") for said in ahead) == len(notes)
    assert all("more: `/colony history`." in said for said in ahead)
    assert ABOVE in reminder
    assert reminder.count("Side A should be nearly dry.") == 2
    assert all(len(said) <= 4_000 for said in (*ahead, reminder)), "the platform's limit of displayed text"


@pytest.mark.asyncio
async def test_a_lost_channel_loses_no_caution_that_goes_ahead(
    world: ChatWorld, monkeypatch: pytest.MonkeyPatch
) -> None:
    messenger, sent = world.client.messenger, list[tuple[int, str]]()

    async def send(channel_id: int, _: object, nonce: str, *, quiet: bool) -> Posted:
        if channel_id == 1:
            raise _ChannelLostError
        sent.append((channel_id, nonce))
        return Posted(channel_id, len(sent))

    async def open_door(_: KeeperId) -> int:
        return 2

    monkeypatch.setattr(messenger, "_send", send)
    monkeypatch.setattr(messenger, "open_door", open_door)
    found = tuple(caution(number, Severity.DANGER) for number in range(9))
    posted = await messenger.send_digest(1, digest(cautions=found), quiet=False)
    assert sent == [(2, f"{'N' * 23}.0"), (2, "N" * 24)]
    assert posted == Posted(2, 2)


@pytest.mark.asyncio
async def test_a_delivery_is_found_by_its_buttons(world: ChatWorld) -> None:
    await world.settle_in()
    messenger = world.client.messenger
    with world.env._bot_scope():
        channel = await messenger.open_door(KeeperId(world.ada.id))
        assert await messenger.find_digest(channel, digest()) is None
        posted = await messenger.send_digest(channel, digest(), quiet=False)
        assert await messenger.find_digest(channel, digest()) == posted
        assert await messenger.find_digest(channel, digest(delivery_id=DeliveryId(8))) is None


@pytest.mark.asyncio
async def test_a_lost_channel_is_opened_anew(world: ChatWorld) -> None:
    world.env.inject_error("POST", "/channels/4711/messages", status=404, code=10003)
    with world.env._bot_scope():
        posted = await world.client.messenger.send_digest(4711, digest(keeper_id=KeeperId(world.ada.id)), quiet=False)
    assert posted.channel_id == world.ada.user.dm_channel.id


@pytest.mark.asyncio
async def test_a_nonce_whose_message_was_deleted_counts_as_doubt(world: ChatWorld) -> None:
    with world.env._bot_scope():
        channel = await world.client.messenger.open_door(KeeperId(world.ada.id))
    world.env.inject_error("POST", "/channels/*/messages", status=404, code=10008)
    with world.env._bot_scope(), pytest.raises(OutcomeUnknownError):
        await world.client.messenger.send_digest(channel, digest(), quiet=False)


@pytest.mark.asyncio
async def test_doors_open_one_at_a_time(world: ChatWorld) -> None:
    with world.env._bot_scope():
        await world.client.messenger.open_door(KeeperId(world.ada.id))
        with pytest.raises(TryLaterError) as wait:
            await world.client.messenger.open_door(KeeperId(world.bela.id))
    assert 0 < wait.value.after <= 2.5


@pytest.mark.asyncio
async def test_too_many_doors_stop_opening_but_not_writing(world: ChatWorld) -> None:
    messenger = world.client.messenger
    with world.env._bot_scope():
        channel = await messenger.open_door(KeeperId(world.ada.id))
    await world.env.advance_time(3)
    world.env.inject_error("POST", "/users/@me/channels", status=403, code=40003)
    with world.env._bot_scope():
        with pytest.raises(TryLaterError) as wait:
            await messenger.open_door(KeeperId(world.bela.id))
        assert wait.value.after == 600
    await world.env.advance_time(60)
    with world.env._bot_scope():
        with pytest.raises(TryLaterError):
            await messenger.open_door(KeeperId(world.bela.id))
        assert (await messenger.send_digest(channel, digest(), quiet=False)).channel_id == channel


@pytest.mark.asyncio
async def test_a_ban_stops_every_request(world: ChatWorld) -> None:
    messenger = world.client.messenger
    with world.env._bot_scope():
        channel = await messenger.open_door(KeeperId(world.ada.id))
    world.env.inject_error("POST", "/channels/*/messages", status=429)
    with world.env._bot_scope():
        with pytest.raises(TryLaterError):
            await messenger.send_digest(channel, digest(), quiet=False)
        before = len(world.env.http_requests)
        with pytest.raises(TryLaterError) as wait:
            await messenger.send_digest(channel, digest(), quiet=False)
        assert len(world.env.http_requests) == before
    assert 500 < wait.value.after <= 600
    await world.env.advance_time(601)
    with world.env._bot_scope():
        assert (await messenger.send_digest(channel, digest(), quiet=False)).channel_id == channel
