"""A loopback platform in a process of its own: what the bot speaks with, so that the bot can be killed without it.

HTTP interface and gateway as far as the bot uses them: direct messages with nonces that are folded for some minutes,
allowances in headers, interactions. `/control/…` is for tests: rules of trouble, everything asked and seen.
The protocol is the platform's published one; the window of the nonce is not, three minutes are an assumption.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

from aiohttp import WSMsgType, web

from tests.crash.clock import SharedClock
from tests.crash.rules import Route, Rule

BOT_ID, FIRST_CHANNEL, FIRST_THREAD, GUILD = 900, 5_000_000, 8_000_000, 77
FOLD = timedelta(minutes=3)
BUCKET_SIZE, BUCKET_SECONDS = 5, 5.0
BOT = {"id": str(BOT_ID), "username": "winterbrood", "discriminator": "0", "avatar": None, "bot": True}
Json = dict[str, Any]


@dataclass
class Platform:
    """Everything the platform remembers."""

    clock: SharedClock
    address: str = ""
    messages: list[Json] = field(default_factory=list)
    """What members see, oldest first."""
    requests: list[Json] = field(default_factory=list)
    """Method, path and body of everything that was asked."""
    rules: list[Rule] = field(default_factory=list)
    folded: int = 0
    connections: int = 0
    gateways: list[web.WebSocketResponse] = field(default_factory=list)
    threads: list[Json] = field(default_factory=list)
    """Private threads, with who was let in."""
    answers: list[Json] = field(default_factory=list)
    """What interactions were answered with."""
    _nonces: dict[tuple[str, str], tuple[datetime, Json]] = field(default_factory=dict)
    _buckets: dict[str, list[float]] = field(default_factory=dict)
    _ids: Iterator[int] = field(default_factory=lambda: count(1_000))

    def rule(self, route: Route) -> Rule | None:
        """The first rule that meets this request; all of them count it."""
        met = [rule for rule in self.rules if rule.meets(route)]
        for rule in met:
            if not rule.stays:
                self.rules.remove(rule)
        return met[0] if met else None

    async def post(self, channel: str, body: Json) -> Json:
        """Store a message, or return the earlier one with the same nonce."""
        nonce, now = body.get("nonce"), self.clock.now()
        if nonce is not None and body.get("enforce_nonce"):
            at, earlier = self._nonces.get((channel, str(nonce)), (None, None))
            if at is not None and earlier is not None and abs(now - at) <= FOLD:
                self.folded += 1
                return earlier
        number = next(self._ids)
        message = {
            "id": str(number),
            "channel_id": channel,
            "author": BOT,
            "content": body.get("content", ""),
            "timestamp": now.isoformat(),
            "edited_timestamp": None,
            "tts": False,
            "mention_everyone": False,
            "mentions": [],
            "mention_roles": [],
            "attachments": [],
            "embeds": [],
            "pinned": False,
            "type": 0,
            "flags": body.get("flags", 0),
            "components": numbered(body.get("components", [])),
            "nonce": nonce,
        }
        self.messages.append(message)
        self._nonces[channel, str(nonce)] = (now, message)
        return message

    def allowance(self, channel: str) -> tuple[int, float]:
        """Requests left in a channel's bucket after this one, and seconds until it is full; -1 when none was left."""
        at = asyncio.get_running_loop().time()
        taken = [earlier for earlier in self._buckets.get(channel, []) if at - earlier < BUCKET_SECONDS]
        if len(taken) < BUCKET_SIZE:
            taken.append(at)
            self._buckets[channel] = taken
            return BUCKET_SIZE - len(taken), BUCKET_SECONDS - (at - taken[0])
        return -1, BUCKET_SECONDS - (at - taken[0])


def numbered(components: list[Json]) -> list[Json]:
    """Components with the ids that the platform gives to those without one."""
    numbers = count(1)

    def walk(part: Json) -> Json:
        inner = {"components": [walk(child) for child in part["components"]]} if "components" in part else {}
        return {**part, "id": part.get("id", next(numbers)), **inner}

    return [walk(part) for part in components]


def refusal(status: int, *, code: int = 0, retry_after: float | None = None, via: bool = True) -> web.Response:
    """An error in the platform's form."""
    body: Json = {"message": "told to", "code": code}
    headers = {"Via": "1.1 loopback"} if via else {}
    if retry_after is not None:
        body |= {"retry_after": retry_after, "global": False}
    return answer(body, status=status, headers=headers)


def answer(body: Any, *, status: int = 200, headers: dict[str, str] | None = None) -> web.Response:
    """JSON without a charset, as the library expects it."""
    return web.Response(body=json.dumps(body).encode(), status=status, headers=headers, content_type="application/json")


async def trouble(rule: Rule | None, request: web.Request, *, done: bool) -> web.Response | None:
    """Make the trouble of a rule, before or after the work; `None` when the answer stays what it is."""
    if rule is None or rule.done_first is not done:
        return None
    await asyncio.sleep(rule.delay)
    if rule.kill is not None:
        if rule.kill_after is not None:
            asyncio.get_running_loop().call_later(rule.kill_after, kill, rule.kill)
            return None
        kill(rule.kill)
        return refusal(500)
    if rule.reset and request.transport is not None:
        request.transport.abort()
        return refusal(500)
    if rule.status is None:
        return None
    return refusal(rule.status, code=rule.code, retry_after=rule.retry_after, via=rule.via)


def kill(process: int) -> None:
    """Without warning; it may have ended by itself."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)


class Api:
    """The routes."""

    def __init__(self, platform: Platform) -> None:
        self.platform = platform

    async def me(self, request: web.Request) -> web.StreamResponse:
        rule = self.platform.rule("login")
        return await trouble(rule, request, done=False) or await trouble(rule, request, done=True) or answer(BOT)

    async def application(self, _: web.Request) -> web.StreamResponse:
        owner = {"id": "1", "username": "owner", "discriminator": "0", "avatar": None}
        found: Json = {"id": str(BOT_ID), "name": "winterbrood", "icon": None, "description": "", "rpc_origins": []}
        return answer({**found, "bot_public": True, "bot_require_code_grant": False, "verify_key": "", "owner": owner})

    async def gateway_bot(self, _: web.Request) -> web.StreamResponse:
        limits = {"total": 1000, "remaining": 999, "reset_after": 1, "max_concurrency": 1}
        url = self.platform.address.replace("http", "ws") + "/gateway"
        return answer({"url": url, "shards": 1, "session_start_limit": limits})

    async def commands(self, request: web.Request) -> web.StreamResponse:
        rule = self.platform.rule("commands")
        refused = await trouble(rule, request, done=False)
        if refused is not None:
            return refused
        own = {"application_id": str(BOT_ID), "version": "1", "default_member_permissions": None, "description": ""}
        return answer([{**own, "id": str(index + 1), **body} for index, body in enumerate(await request.json())])

    async def door(self, request: web.Request) -> web.StreamResponse:
        rule = self.platform.rule("door")
        recipient = (await request.json())["recipient_id"]
        user = {"id": str(recipient), "username": "member", "discriminator": "0", "avatar": None}
        refused = await trouble(rule, request, done=False) or await trouble(rule, request, done=True)
        return refused or answer({"id": str(FIRST_CHANNEL + int(recipient)), "type": 1, "recipients": [user]})

    async def message(self, request: web.Request) -> web.StreamResponse:
        platform, channel = self.platform, request.match_info["channel"]
        left, full_in = platform.allowance(channel)
        if left < 0:
            return refusal(429, retry_after=full_in)
        rule = platform.rule("message")
        refused = await trouble(rule, request, done=False)
        if refused is not None:
            return refused
        stored = await platform.post(channel, await request.json())
        refused = await trouble(rule, request, done=True)
        if refused is not None:
            return refused
        if rule is not None and rule.empty_bucket is not None:
            left, full_in = 0, rule.empty_bucket
        headers = {
            "X-RateLimit-Limit": str(BUCKET_SIZE),
            "X-RateLimit-Remaining": str(left),
            "X-RateLimit-Reset-After": f"{full_in:.3f}",
            "X-RateLimit-Bucket": "messages",
        }
        return answer(stored, headers=headers)

    async def history(self, request: web.Request) -> web.StreamResponse:
        rule = self.platform.rule("history")
        refused = await trouble(rule, request, done=False) or await trouble(rule, request, done=True)
        mine = [found for found in self.platform.messages if found["channel_id"] == request.match_info["channel"]]
        return refused or answer(list(reversed(mine))[: int(request.query.get("limit", "50"))])

    async def channel(self, request: web.Request) -> web.StreamResponse:
        found: Json = {"id": request.match_info["channel"], "type": 0, "guild_id": str(GUILD), "name": "reminders"}
        return answer({**found, "position": 0, "permission_overwrites": [], "parent_id": None})

    async def active_threads(self, _: web.Request) -> web.StreamResponse:
        return answer({"threads": self.platform.threads, "members": []})

    async def open_thread(self, request: web.Request) -> web.StreamResponse:
        rule, body = self.platform.rule("thread"), await request.json()
        refused = await trouble(rule, request, done=False)
        if refused is not None:
            return refused
        metadata = {"archived": False, "auto_archive_duration": 10080, "locked": False, "invitable": False}
        thread: Json = {
            "id": str(FIRST_THREAD + len(self.platform.threads)),
            "guild_id": str(GUILD),
            "parent_id": request.match_info["channel"],
            "owner_id": str(BOT_ID),
            "name": body["name"],
            "type": body["type"],
            "message_count": 0,
            "member_count": 1,
            "thread_metadata": {**metadata, "archive_timestamp": self.platform.clock.now().isoformat()},
            "people": [],
        }
        self.platform.threads.append(thread)
        return await trouble(rule, request, done=True) or answer(thread)

    async def let_in(self, request: web.Request) -> web.StreamResponse:
        for thread in self.platform.threads:
            person = int(request.match_info["person"])
            if thread["id"] == request.match_info["channel"] and person not in thread["people"]:
                thread["people"].append(person)
        return web.Response(status=204)

    async def callback(self, request: web.Request) -> web.StreamResponse:
        self.platform.answers.append({"kind": "callback", "body": await request.json()})
        return answer({"interaction": {"id": request.match_info["id"], "type": 3}})

    async def followup(self, request: web.Request) -> web.StreamResponse:
        self.platform.answers.append({"kind": request.method, "body": await request.json()})
        return answer({**await Platform(self.platform.clock).post("1", await request.json()), "webhook_id": "1"})

    async def gateway(self, request: web.Request) -> web.StreamResponse:
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        self.platform.connections += 1
        self.platform.gateways.append(socket)
        await socket.send_json({"op": 10, "d": {"heartbeat_interval": 40_000}, "s": None, "t": None})
        async for frame in socket:
            if frame.type is WSMsgType.TEXT:
                await self._heard(socket, json.loads(frame.data))
        self.platform.gateways.remove(socket)
        return socket

    async def _heard(self, socket: web.WebSocketResponse, said: Json) -> None:
        if said["op"] == 1:
            await socket.send_json({"op": 11, "d": None, "s": None, "t": None})
        if said["op"] == 2:
            ready = {
                "v": 10,
                "user": BOT,
                "session_id": "one",
                "resume_gateway_url": self.platform.address.replace("http", "ws") + "/gateway",
                "guilds": [],
                "application": {"id": str(BOT_ID), "flags": 0},
                "shard": said["d"]["shard"],
            }
            await socket.send_json({"op": 0, "t": "READY", "s": 1, "d": ready})
        if said["op"] == 6:
            await socket.send_json({"op": 0, "t": "RESUMED", "s": 2, "d": {}})

    async def set_rules(self, request: web.Request) -> web.StreamResponse:
        self.platform.rules = [Rule(**rule) for rule in await request.json()]
        return answer({})

    async def say(self, request: web.Request) -> web.StreamResponse:
        for socket in self.platform.gateways:
            await socket.send_json(await request.json())
        return answer(len(self.platform.gateways))

    async def seen(self, _: web.Request) -> web.StreamResponse:
        platform = self.platform
        names = ("messages", "requests", "folded", "connections", "answers", "threads")
        return answer({name: getattr(platform, name) for name in names} | {"gateways": len(platform.gateways)})


@web.middleware
async def written_down(request: web.Request, handler: Any) -> web.StreamResponse:
    """Every request with its body."""
    platform = request.app[PLATFORM]
    if request.path.startswith("/api/"):
        body = await request.json() if request.can_read_body else None
        path = request.path.removeprefix("/api/v10")
        platform.requests.append({"method": request.method, "path": path, "body": body})
    found: web.StreamResponse = await handler(request)
    return found


PLATFORM = web.AppKey("platform", Platform)


def application(platform: Platform) -> web.Application:
    """All routes."""
    api, app = Api(platform), web.Application(middlewares=[written_down])
    app[PLATFORM] = platform
    base = "/api/v10"
    app.add_routes(
        [
            web.get(f"{base}/users/@me", api.me),
            web.get(f"{base}/oauth2/applications/@me", api.application),
            web.get(f"{base}/gateway/bot", api.gateway_bot),
            web.put(f"{base}/applications/{{id}}/commands", api.commands),
            web.post(f"{base}/users/@me/channels", api.door),
            web.get(f"{base}/channels/{{channel}}", api.channel),
            web.get(f"{base}/guilds/{{guild}}/threads/active", api.active_threads),
            web.post(f"{base}/channels/{{channel}}/threads", api.open_thread),
            web.put(f"{base}/channels/{{channel}}/thread-members/{{person}}", api.let_in),
            web.post(f"{base}/channels/{{channel}}/messages", api.message),
            web.get(f"{base}/channels/{{channel}}/messages", api.history),
            web.post(f"{base}/interactions/{{id}}/{{token}}/callback", api.callback),
            web.patch(f"{base}/webhooks/{{id}}/{{token}}/messages/@original", api.followup),
            web.post(f"{base}/webhooks/{{id}}/{{token}}", api.followup),
            web.get("/gateway", api.gateway),
            web.post("/control/rules", api.set_rules),
            web.post("/control/say", api.say),
            web.get("/control/seen", api.seen),
        ]
    )
    return app


async def main(clock_file: Path) -> None:
    """Serve on a free port, whose address goes to standard output, until standard input ends."""
    platform = Platform(SharedClock(clock_file))
    runner = web.AppRunner(application(platform), access_log=None, shutdown_timeout=0.1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0)
    await site.start()
    platform.address = f"http://127.0.0.1:{runner.addresses[0][1]}"
    sys.stdout.write(platform.address + "\n")
    sys.stdout.flush()
    await asyncio.to_thread(sys.stdin.read)
    await runner.cleanup()


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1])))
