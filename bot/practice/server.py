"""The page and its questions over HTTP, on this machine only: other hosts and foreign pages are refused."""

from __future__ import annotations

import json
import mimetypes
import re
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import structlog
from aiohttp import web

from bot.practice.errors import PracticeError
from bot.practice.session import Outcome, Practice, Seat

PAGE = Path(__file__).parent / "page"
HOST = "127.0.0.1"
LARGEST_BODY = 16 * 1024 * 1024
"""Bytes; an attached export of ten million bytes in base 64, and a little."""
POLICY = "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
PRACTICE = web.AppKey("practice", Practice)
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]
Body = dict[str, Any]
Act = Callable[[Practice, Seat, Body], Awaitable[Outcome]]

log = structlog.get_logger("practice")


def build(practice: Practice) -> web.Application:
    """The web application around an opened practice."""
    app = web.Application(client_max_size=LARGEST_BODY, middlewares=[_guarded])
    app[PRACTICE] = practice
    app.router.add_get("/", _page)
    app.router.add_get("/page/{name}", _page)
    app.router.add_get("/start", _start)
    app.router.add_get("/view", _view)
    app.router.add_get("/commands", _commands)
    app.router.add_get("/picture", _picture)
    app.router.add_get("/file", _file)
    app.router.add_post("/suggest", _suggest)
    for name, act in ACTS.items():
        app.router.add_post(f"/{name}", _acting(act))
    return app


@asynccontextmanager
async def served(practice: Practice, port: int) -> AsyncIterator[str]:
    """The page at its address while the block runs; port 0 takes any free one.

    Raises:
        PracticeError: the port is taken.
    """
    runner = web.AppRunner(build(practice), access_log=None, shutdown_timeout=1)
    await runner.setup()
    try:
        try:
            await web.TCPSite(runner, HOST, port).start()
        except OSError as taken:
            raise PracticeError(
                f"Port {port} cannot be used ({taken.strerror}). Another practice page may be open; choose another "
                f"with --port, such as --port {port + 1}."
            ) from taken
        yield f"http://{HOST}:{runner.addresses[0][1]}/"
    finally:
        await runner.cleanup()


@web.middleware
async def _guarded(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Only this machine's own page may ask; trouble is answered in a sentence."""
    if (request.url.host or "") not in {HOST, "localhost"} or not _own_page(request):
        raise web.HTTPForbidden(text="This page answers its own machine only: open it by the address it printed.")
    try:
        response = await handler(request)
    except PracticeError as problem:
        response = web.json_response({"problem": str(problem)}, status=400)
    except web.HTTPException:
        raise
    except Exception:
        log.exception("practice_surprise", path=request.path)
        said = "Something went wrong inside practice mode; the terminal shows what."
        response = web.json_response({"problem": said}, status=500)
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["Cache-Control"] = "no-store"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def _own_page(request: web.Request) -> bool:
    origin = request.headers.get("Origin")
    return origin is None or origin == str(request.url.origin())


async def _page(request: web.Request) -> web.StreamResponse:
    name = request.match_info.get("name", "index.html")
    file = PAGE / name
    if file.parent != PAGE or not file.is_file():
        raise web.HTTPNotFound(text="There is no such page.")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    return web.Response(body=file.read_bytes(), content_type=kind, charset="utf-8")


async def _start(request: web.Request) -> web.StreamResponse:
    seat = request.app[PRACTICE].first_seat()
    return web.json_response({"who": seat.who, "room": seat.room})


async def _view(request: web.Request) -> web.StreamResponse:
    practice = request.app[PRACTICE]
    return web.json_response(await practice.look(_seat(practice, dict(request.query))))


async def _commands(request: web.Request) -> web.StreamResponse:
    practice = request.app[PRACTICE]
    return web.json_response(practice.commands(_seat(practice, dict(request.query))))


async def _picture(request: web.Request) -> web.StreamResponse:
    address = request.query.get("address", "")
    found = request.app[PRACTICE].picture(address)
    kind = mimetypes.guess_type(address)[0] or ""
    if found is None or not kind.startswith("image/"):
        raise web.HTTPNotFound(text="This picture was not kept.")
    return web.Response(body=found, content_type=kind)


async def _file(request: web.Request) -> web.StreamResponse:
    """A file that the bot attached, always as something to save: nothing of it runs in this page."""
    address = request.query.get("address", "")
    found = request.app[PRACTICE].picture(address)
    if found is None:
        raise web.HTTPNotFound(text="This file was not kept.")
    name = re.sub(r"[^A-Za-z0-9._-]", "_", address.partition("?")[0].rpartition("/")[2])
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return web.Response(body=found, content_type="application/octet-stream", headers=headers)


async def _suggest(request: web.Request) -> web.StreamResponse:
    practice, body = request.app[PRACTICE], await _body(request)
    seat = _seat(practice, body)
    command, option, typed = (_text(body, name) for name in ("command", "option", "typed"))
    return web.json_response(await practice.suggest(seat, command, option, typed, _table(body, "options")))


def _acting(act: Act) -> Handler:
    async def handle(request: web.Request) -> web.StreamResponse:
        practice, body = request.app[PRACTICE], await _body(request)
        seat = _seat(practice, body)
        outcome = await act(practice, seat, body)
        view = await practice.look(seat)
        return web.json_response({"note": outcome.note, "form": outcome.form, "view": view})

    return handle


async def _say(practice: Practice, seat: Seat, body: Body) -> Outcome:
    return await practice.say(seat, _text(body, "text"))


async def _command(practice: Practice, seat: Seat, body: Body) -> Outcome:
    return await practice.command(seat, _text(body, "command"), _table(body, "options"))


async def _press(practice: Practice, seat: Seat, body: Body) -> Outcome:
    return await practice.press(seat, _number(body, "message"), _text(body, "button"))


async def _choose(practice: Practice, seat: Seat, body: Body) -> Outcome:
    values = body.get("values")
    if not isinstance(values, list) or not all(isinstance(value, str) for value in values):
        raise PracticeError("“values” must be a list of texts.")
    return await practice.choose(seat, _number(body, "message"), _text(body, "menu"), values)


async def _fill(practice: Practice, seat: Seat, body: Body) -> Outcome:
    return await practice.fill(seat, _text(body, "number"), _table(body, "values"))


async def _move(practice: Practice, seat: Seat, body: Body) -> Outcome:
    if body.get("to") == "reminder":
        return await practice.move_to_reminder(seat)
    seconds = body.get("seconds")
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        raise PracticeError("“seconds” must be a number; or give “to”: “reminder”.")
    return await practice.move(seconds)


ACTS: dict[str, Act] = {
    "say": _say,
    "command": _command,
    "press": _press,
    "choose": _choose,
    "fill": _fill,
    "move": _move,
}


async def _body(request: web.Request) -> Body:
    if request.content_type != "application/json":
        raise PracticeError("Send JSON, with its content type.")
    try:
        body = await request.json()
    except (json.JSONDecodeError, UnicodeDecodeError) as broken:
        raise PracticeError("That is no JSON.") from broken
    if not isinstance(body, dict):
        raise PracticeError("Send a JSON object.")
    return body


def _seat(practice: Practice, body: Body) -> Seat:
    return practice.seat(_text(body, "who"), _text(body, "room"))


def _text(body: Body, name: str) -> str:
    value = body.get(name)
    if not isinstance(value, str):
        raise PracticeError(f"“{name}” must be given as text.")
    return value


def _number(body: Body, name: str) -> int:
    text = _text(body, name)
    if not (text.isascii() and text.isdigit() and len(text) < 20):
        raise PracticeError(f"“{name}” must be the number of a message, as text.")
    return int(text)


def _table(body: Body, name: str) -> Body:
    value = body.get(name, {})
    if not isinstance(value, dict):
        raise PracticeError(f"“{name}” must be an object.")
    return value
