"""Finding and claiming 100 due keepers among very many colonies against the same among few."""

from __future__ import annotations

from datetime import timedelta
from statistics import median
from time import perf_counter

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from tests.bench.figure import Figure
from tests.bench.stock import COLONIES_EACH, NOW, due

CLAIMED = 100
GROWTH = 1.5
ROUNDS = 15


async def claim_ms(url: str, colonies: int) -> float:
    """The median time of a claim, in milliseconds; each round begins with the same keepers due."""
    engine = open_engine(url)
    units, taken = unit_of_work_maker(engine, TzDatabase()), list[float]()
    try:
        for number in range(ROUNDS + 3):
            await due(engine, CLAIMED, colonies // COLONIES_EACH)
            begun = perf_counter()
            async with units() as work:
                claimed = await work.keepers.claim_due(NOW, NOW + timedelta(minutes=2), f"t{number}", CLAIMED)
                await work.commit()
            taken.append((perf_counter() - begun) * 1000)
            assert len(claimed) == CLAIMED
    finally:
        await engine.dispose()
    return median(taken[3:])


async def claiming(many_url: str, few_url: str, many: int, few: int) -> Figure:
    """The figure of one database."""
    ours, reference = await claim_ms(many_url, many), await claim_ms(few_url, few)
    kind = many_url.partition("+")[0].partition(":")[0]
    return Figure(
        name=f"claiming {CLAIMED} due keepers among {many:,} colonies against {few:,}, {kind}",
        ours=ours,
        reference=reference,
        unit="ms",
        target=f"grows by less than {GROWTH} times",
        met=ours < GROWTH * reference,
    )
