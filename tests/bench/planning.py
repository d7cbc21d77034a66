"""How fast colonies are planned: a year against a general-purpose recurrence library, and the nightly look at all.

The reference expands one plain rule a duty for the same year with `dateutil.rrule`: as many dates as the plan has,
without reasons, figures, cautions, winter rest or a log. It knows nothing of ants.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from time import perf_counter, process_time

from dateutil.rrule import DAILY, rrule  # type: ignore[import-untyped] # published without types

from bot.adapters.household.loading import load_household
from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.agenda import ColonyPlan, plan_household
from bot.care.handbook import Handbook
from bot.care.place import Household
from bot.services.delivery import BATCH
from bot.services.planner import Planner
from bot.services.records import KeeperId
from tests.bench.figure import Figure
from tests.bench.stock import COLONIES_EACH, CONFIG, FIRST, NOW

START = date(2027, 1, 1)
DAYS = 365
CORES = 2
NIGHT_COLONIES = 1_000_000
PLANS_A_SECOND = 10_000
NIGHT_SECONDS = 300.0


def plan_figures(book: Handbook, seconds: float) -> Iterator[Figure]:
    """A year of the example households, again and again for some seconds, on one core."""
    households = _households(book)
    plans = [plan for household in households for plan in plan_household(household, book, START, DAYS)]
    ours = _rate(lambda: sum(len(plan_household(each, book, START, DAYS)) for each in households), seconds)
    rules = [rules_of(plan) for plan in plans]
    theirs = _rate(lambda: sum(bool(expand(each)) for each in rules), seconds)
    name = f"plan of a colony for a year, per core ({len(plans)} colonies of config/examples)"
    target = f"at least the reference (RRULE) and {PLANS_A_SECOND:,}"
    met = ours >= max(theirs, PLANS_A_SECOND)
    yield Figure(name=name, ours=ours, reference=theirs, unit="colonies/s", target=target, met=met)


def rules_of(plan: ColonyPlan) -> Sequence[tuple[int, int]]:
    """(interval in days, how often) for each duty of a plan."""
    counts = Counter(found.duty for found in plan.occurrences)
    return [(max(1, round(DAYS / count)), count) for count in counts.values()]


def expand(rules: Sequence[tuple[int, int]]) -> list[datetime]:
    """All dates of a year in order, by the library."""
    start = datetime.combine(START, time(18))
    return sorted(at for interval, count in rules for at in rrule(DAILY, dtstart=start, interval=interval, count=count))


async def nightly(url: str, book: Handbook, colonies: int, sample: int) -> list[Figure]:
    """The daily look at some keepers out of many, counted up to a million colonies and over two processes.

    First on the evening for which everybody was planned, then a day later, when all of it is planned anew.
    """
    figures = list[Figure]()
    for now, what in ((NOW, "plans that stand"), (NOW + timedelta(days=1), "all planned anew")):
        each, busy, kind = await looks(url, book, sample, now)
        ours = each * NIGHT_COLONIES / CORES
        figures.append(
            Figure(
                name=f"nightly look at {NIGHT_COLONIES:,} colonies by {CORES} processes, {what}, {kind} "
                f"(from {sample * COLONIES_EACH:,} of {colonies:,} stored; {busy * 1000:.1f} ms of processor each)",
                ours=ours,
                reference=None,
                unit="s",
                target=f"{NIGHT_SECONDS:.0f} s",
                met=ours <= NIGHT_SECONDS,
            )
        )
    return figures


async def looks(url: str, book: Handbook, sample: int, now: datetime) -> tuple[float, float, str]:
    """Seconds and seconds of processor for the look at one colony, keepers in batches; and the kind of database."""
    engine = open_engine(url)
    units, planner = unit_of_work_maker(engine, TzDatabase()), Planner(book)
    try:
        begun, busy = perf_counter(), process_time()
        for first in range(0, sample, BATCH):
            ids = [KeeperId(FIRST + number) for number in range(first, min(first + BATCH, sample))]
            async with units() as work:
                keepers = await work.keepers.get_all(ids)
                await planner.look_at(work, list(keepers.values()), now)
                await work.commit()
        looked_at = sample * COLONIES_EACH
        return (perf_counter() - begun) / looked_at, (process_time() - busy) / looked_at, engine.dialect.name
    finally:
        await engine.dispose()


def _households(book: Handbook) -> Sequence[Household]:
    zones = TzDatabase()
    return [load_household(file, book, zones, START) for file in sorted((CONFIG / "examples").glob("*.toml"))]


def _rate(work: Callable[[], int], seconds: float) -> float:
    """How many a second of processor time; `work` returns how many it did."""
    done, begun = 0, process_time()
    while process_time() - begun < seconds:
        done += work()
    return done / (process_time() - begun)
