"""Figures and health of one process over HTTP: `/metrics` in Prometheus' text format, and `/healthz`.

Loopback unless told otherwise, and only when a port is set. Labels hold results, states and statuses, never people.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable, Iterable, Iterator, Mapping
from contextlib import asynccontextmanager
from datetime import datetime
from typing import Protocol

from aiohttp import web
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

from bot.services.counts import Counts, Standing

TEXT = "text/plain; version=0.0.4; charset=utf-8"
Look = Callable[[], Awaitable[Standing]]
Health = Callable[[], Awaitable[tuple[str, ...]]]
"""What is wrong, a sentence each; empty when all is well."""


class Clock(Protocol):
    """The one clock."""

    def now(self) -> datetime:
        """The current moment, aware, in UTC."""
        ...


def exposition(counts: Counts, standing: Standing, now: datetime) -> bytes:
    """Everything in Prometheus' text format."""
    registry = CollectorRegistry()
    registry.register(_Figures([*_counters(counts, standing), *_gauges(standing, now)]))
    return generate_latest(registry)


class _Figures(Collector):
    def __init__(self, metrics: Iterable[Metric]) -> None:
        self._metrics = tuple(metrics)

    def collect(self) -> Iterable[Metric]:
        return self._metrics


def _counters(counts: Counts, standing: Standing) -> Iterator[Metric]:
    results = {name: counts.reminders[name] for name in ("sent", "silent", "later", "refused", "failed")}
    yield _counter("reminders", "Keepers served, by result.", results, "result")
    yield _counter("reminders_late", "Reminders sent so late that they say so.", counts.reminders["late"])
    yield _counter("thread_reminders", "Words in private threads.", counts.threads)
    yield _counter("replans", "Plans made anew.", counts.replans)
    yield _counter("beats", "Beats that ended well.", standing.beats)
    yield _counter("beat_failures", "Beats that failed.", standing.beat_failures)
    statuses = {str(status): count for status, count in {429: 0, **counts.answers}.items()}
    yield _counter(
        "platform_answers", "Answers of the platform, by HTTP status; 429 is a rate limit.", statuses, "status"
    )
    yield _counter("alarms", "Alarms raised, by trouble.", dict(counts.alarms), "trouble")
    yield _counter("gone_keepers_erased", "Keepers erased because they were gone.", counts.erased)


def _gauges(standing: Standing, now: datetime) -> Iterator[Metric]:
    oldest = 0.0 if standing.oldest_due is None else (now - standing.oldest_due).total_seconds()
    age = float("nan") if standing.beat_age is None else standing.beat_age.total_seconds()
    yield _gauge("keepers_due", "Keepers whose moment has come.", standing.due)
    yield _gauge("oldest_due_seconds", "How long the keeper who is due the longest has waited.", oldest)
    yield _gauge("beat_age_seconds", "Since the last beat ended well.", age)
    doors = {"refused": standing.refused, "gone": standing.gone}
    yield _gauge("doors_closed", "Keepers whom direct messages do not reach, by reason.", doors, "reason")
    stopped = {"all": standing.stopped, "doors": standing.doors_stopped}
    yield _gauge(
        "sending_stopped_seconds", "Until requests go out again after refusals; 0 when they do.", stopped, "what"
    )


def _counter(name: str, says: str, values: float | Mapping[str, float], label: str = "") -> Metric:
    family = CounterMetricFamily(f"winterbrood_{name}", says, labels=[label] if label else [])
    for key, value in _labelled(values):
        family.add_metric(key, value)
    return family


def _gauge(name: str, says: str, values: float | Mapping[str, float], label: str = "") -> Metric:
    family = GaugeMetricFamily(f"winterbrood_{name}", says, labels=[label] if label else [])
    for key, value in _labelled(values):
        family.add_metric(key, value)
    return family


def _labelled(values: float | Mapping[str, float]) -> Iterable[tuple[list[str], float]]:
    if isinstance(values, Mapping):
        return [([key], value) for key, value in sorted(values.items())]
    return [([], values)]


@asynccontextmanager
async def serve(host: str, port: int, metrics: Callable[[], Awaitable[bytes]], health: Health) -> AsyncIterator[int]:
    """Answer on a port (0: any free one) while the block lasts; gives the port.

    Raises:
        OSError: the port is taken.
    """

    async def figures(_: web.Request) -> web.Response:
        return web.Response(body=await metrics(), headers={"Content-Type": TEXT})

    async def healthy(_: web.Request) -> web.Response:
        wrong = await health()
        return web.Response(text="\n".join(wrong or ("ok",)) + "\n", status=503 if wrong else 200)

    application = web.Application()
    application.add_routes([web.get("/metrics", figures), web.get("/healthz", healthy)])
    runner = web.AppRunner(application, access_log=None, shutdown_timeout=1.0)
    await runner.setup()
    try:
        await web.TCPSite(runner, host, port).start()
        yield int(runner.addresses[0][1])
    finally:
        await runner.cleanup()
