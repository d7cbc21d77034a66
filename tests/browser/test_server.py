"""The page over HTTP: what it serves, what it refuses, and that every refusal is a sentence."""

from __future__ import annotations

import socket
from collections.abc import AsyncIterator
from typing import Any

import aiohttp
import pytest
import pytest_asyncio
from structlog.testing import capture_logs

from bot.practice.errors import PracticeError
from bot.practice.server import served
from bot.practice.session import Practice
from tests.browser.test_practice import parts

MAREN = {"who": "Maren", "room": "direct"}


@pytest_asyncio.fixture
async def page(practice: Practice) -> AsyncIterator[aiohttp.ClientSession]:
    """A client of the served page."""
    async with served(practice, 0) as address, aiohttp.ClientSession(address) as session:
        yield session


async def post(page: aiohttp.ClientSession, path: str, body: Any) -> tuple[int, Any]:
    async with page.post(path, json=body) as response:
        return response.status, await response.json()


@pytest.mark.asyncio
async def test_the_page_and_its_files_come_from_this_machine_alone(page: aiohttp.ClientSession) -> None:
    async with page.get("/") as response:
        text = await response.text()
        assert response.headers["Content-Security-Policy"].startswith("default-src 'self'")
    assert "Winterbrood" in text
    assert "http://" not in text
    assert "https://" not in text
    for name in (
        "style.css",
        "page.js",
        "api.js",
        "combo.js",
        "compose.js",
        "dom.js",
        "draw.js",
        "forms.js",
        "mark.svg",
    ):
        async with page.get(f"/page/{name}") as response:
            assert response.status == 200, name


@pytest.mark.asyncio
async def test_a_file_of_the_bot_is_something_to_save(page: aiohttp.ClientSession) -> None:
    body = {**MAREN, "command": "my data", "options": {}}
    _, answer = await post(page, "/command", body)
    address = next(part["address"] for part in parts(answer["view"]["messages"]) if part.get("kind") == "file")
    async with page.get("/file", params={"address": address}) as response:
        assert response.headers["Content-Disposition"] == 'attachment; filename="winterbrood-data.zip"'
        assert response.content_type == "application/octet-stream"
        assert (await response.read()).startswith(b"PK")
    async with page.get("/file", params={"address": "https://elsewhere.invalid/x"}) as response:
        assert response.status == 404


@pytest.mark.asyncio
async def test_nothing_else_is_served(page: aiohttp.ClientSession) -> None:
    for name in ("nothing.js", "..%2Fserver.py", "%2Fetc%2Fpasswd", "."):
        async with page.get(f"/page/{name}") as response:
            assert response.status == 404, name


@pytest.mark.asyncio
async def test_foreign_pages_and_names_are_refused(page: aiohttp.ClientSession) -> None:
    for headers in ({"Host": "example.org"}, {"Origin": "https://example.org"}, {"Origin": "null"}):
        async with page.post("/move", json={**MAREN, "seconds": 3600}, headers=headers) as response:
            assert response.status == 403, headers
            assert "its own machine only" in await response.text()


@pytest.mark.asyncio
async def test_an_action_answers_with_the_new_view(page: aiohttp.ClientSession) -> None:
    status, answer = await post(page, "/command", {**MAREN, "command": "colony list", "options": {}})
    assert status == 200
    assert answer["view"]["messages"][-1]["asked"] == "colony list"
    status, answer = await post(page, "/move", {**MAREN, "to": "reminder"})
    assert answer["note"].startswith("Direct messages arrived")
    status, answer = await post(page, "/say", {"who": "Tobi", "room": "questions", "text": "Hello @everyone"})
    assert answer["view"]["messages"][-1]["author"] == "Tobi"
    async with page.get("/start") as response:
        assert await response.json() == MAREN
    async with page.get("/commands", params=MAREN) as response:
        assert "care due" in [command["name"] for command in await response.json()]


@pytest.mark.asyncio
async def test_suggestions_are_answered(page: aiohttp.ClientSession) -> None:
    body = {**MAREN, "command": "my place", "option": "zone", "typed": "vien", "options": {}}
    status, offered = await post(page, "/suggest", body)
    assert status == 200
    assert "Europe/Vienna" in [choice["value"] for choice in offered]


BAD: tuple[tuple[str, Any, str], ...] = (
    ("/move", [], "Send a JSON object."),
    ("/move", {}, "“who” must be given as text."),
    ("/move", MAREN, "“seconds” must be a number; or give “to”: “reminder”."),
    ("/move", {**MAREN, "seconds": True}, "“seconds” must be a number; or give “to”: “reminder”."),
    ("/move", {**MAREN, "seconds": -1}, "Time moves forward only, by at most 31 days at once."),
    ("/press", {**MAREN, "message": "x", "button": "b"}, "“message” must be the number of a message, as text."),
    ("/press", {**MAREN, "message": "1", "button": "b"}, "That is no longer there. Look at the message again."),
    ("/choose", {**MAREN, "message": "1", "menu": "m", "values": "v"}, "“values” must be a list of texts."),
    ("/command", {**MAREN, "command": "colony add", "options": 3}, "“options” must be an object."),
    ("/fill", {**MAREN, "number": "77"}, "This form was handed in already, or belongs to somebody else."),
    ("/say", {**MAREN, "text": "   "}, "Write something of at most 2000 characters"),
)
"""Path, body, and how the answer begins."""


@pytest.mark.asyncio
async def test_bad_requests_get_a_sentence(page: aiohttp.ClientSession) -> None:
    for path, body, problem in BAD:
        status, answer = await post(page, path, body)
        assert (status, answer["problem"][: len(problem)]) == (400, problem)


@pytest.mark.asyncio
async def test_what_is_no_json_gets_a_sentence(page: aiohttp.ClientSession) -> None:
    async with page.post("/move", data="seconds=1") as response:
        assert (await response.json())["problem"] == "Send JSON, with its content type."
    async with page.post("/move", data="{", headers={"Content-Type": "application/json"}) as response:
        assert (await response.json())["problem"] == "That is no JSON."


@pytest.mark.asyncio
async def test_a_surprise_is_told_without_its_inside(
    page: aiohttp.ClientSession, practice: Practice, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def broken(_seat: object) -> None:
        raise RuntimeError("the inside")

    monkeypatch.setattr(type(practice), "look", lambda _self, seat: broken(seat))
    with capture_logs() as logs:
        async with page.get("/view", params=MAREN) as response:
            assert response.status == 500
            answer = await response.text()
    assert [(entry["event"], entry["path"]) for entry in logs] == [("practice_surprise", "/view")]
    assert "the terminal shows what" in answer
    assert "the inside" not in answer


@pytest.mark.asyncio
async def test_a_taken_port_is_named(practice: Practice) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(PracticeError, match=f"Port {port} cannot be used .*--port {port + 1}"):
            async with served(practice, port):
                pass
