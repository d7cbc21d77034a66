"""Hypothesis strategies for the values that the store keeps; text without what PostgreSQL cannot hold (NUL)."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import TypeVar

from hypothesis import strategies as st

from bot.care.colony import (
    Amount,
    Brood,
    Colony,
    Heater,
    LearnedDrying,
    LogEntry,
    Nest,
    NestKind,
    Outworld,
    RestWishes,
    Side,
    Stage,
)
from bot.care.duty import Duty, Input, Occurrence, Outcome, Urgency, Why
from bot.care.evidence import Confidence, Evidence
from bot.care.localtime import QuietHours
from bot.care.place import Keeper, Place
from bot.care.units import Units
from bot.services.records import ColonyId, ColonyRecord, ColonyState, Door, KeeperId, KeeperRecord
from tests.store.builders import ZONES

_Value = TypeVar("_Value")

texts = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=30)
numbers = st.floats(allow_nan=False, allow_infinity=False)
days = st.dates(date(1900, 1, 1), date(2199, 12, 31))
offsets = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
moments = st.datetimes(datetime(1900, 1, 1), datetime(2199, 12, 31), timezones=offsets).map(  # noqa: DTZ001 - bounds
    lambda at: at.astimezone(UTC)
)
truths = st.booleans()
counts = st.integers(0, 10**6)
snowflakes = st.integers(1, 2**63 - 1)


def maybe(strategy: st.SearchStrategy[_Value]) -> st.SearchStrategy[_Value | None]:
    """The value, or not said."""
    return st.none() | strategy


places = st.builds(
    Place,
    name=texts,
    temperature_c=maybe(st.floats(-20, 45)),
    humidity_percent=maybe(st.floats(1, 100)),
    winter_temperature_c=maybe(st.floats(-20, 45)),
    draughty=truths,
)
zone_names = st.sampled_from(ZONES.names())
keepers = st.builds(
    lambda zone_name, **rest: Keeper(zone_name=zone_name, zone=ZONES.get(zone_name), **rest),
    zone_name=zone_names,
    latitude=maybe(st.floats(-90, 90)),
    country=maybe(texts),
    units=st.sampled_from(Units),
    digest_at=st.times(),
    quiet=st.builds(QuietHours, st.times(), st.times()),
)
keeper_records = st.builds(
    KeeperRecord,
    id=snowflakes.map(KeeperId),
    settings=keepers,
    places=st.lists(places, min_size=1, max_size=4).map(tuple),
    reminders_on=truths,
    away_until=maybe(days),
    mute_notes=truths,
    channel_id=maybe(snowflakes),
    door=st.sampled_from(Door),
    refusals=counts,
    unanswered=counts,
    next_wake=maybe(moments),
    lease_until=st.none(),
    lease_token=st.none(),
    planned_on=maybe(days),
    zone_data=maybe(texts),
    created_at=maybe(moments),
)
"""Never leased: saving does not touch a lease."""

broods = st.builds(
    Brood, level=maybe(st.sampled_from(Amount)), eggs=maybe(truths), larvae=maybe(truths), pupae=maybe(truths)
)
nests = st.builds(
    Nest,
    kind=st.sampled_from(NestKind),
    material=maybe(texts),
    water_ml=maybe(numbers),
    wetted_cm2=maybe(numbers),
    openness=maybe(numbers),
    volume_cm3=maybe(numbers),
    changed=maybe(days),
    watered_side=st.sampled_from(Side),
    bore_mm=maybe(numbers),
)
heaters = st.builds(
    Heater, kind=texts, hot_c=maybe(numbers), share=maybe(numbers), watts=maybe(numbers), thermostat=maybe(truths)
)
outworlds = st.builds(Outworld, barrier=maybe(texts), renewed=maybe(days), dusty=truths, limestone=truths)
wishes = st.builds(
    RestWishes,
    skip=truths,
    start=maybe(days),
    weeks=maybe(numbers),
    place=maybe(texts),
    place_low_c=maybe(numbers),
    place_high_c=maybe(numbers),
    origin_latitude=maybe(numbers),
    from_other_hemisphere_since=maybe(days),
    first_year_queen=truths,
)
entries = st.builds(
    LogEntry,
    day=days,
    duty=st.sampled_from(Duty),
    outcome=st.sampled_from(Outcome),
    side=maybe(st.sampled_from(Side)),
    food=maybe(texts),
    count=maybe(counts),
    note=maybe(texts),
)
logs = st.lists(entries, max_size=5).map(lambda log: tuple(sorted(log, key=lambda entry: entry.day)))
colonies = st.builds(
    Colony,
    key=st.just(""),
    name=texts,
    species=texts,
    workers=st.integers(0, 20_000_000),
    queens=st.integers(0, 100_000),
    brood=broods,
    stage=maybe(st.sampled_from(Stage)),
    founding=maybe(texts),
    founded=maybe(days),
    arrived=maybe(days),
    registered=maybe(days),
    place=maybe(texts),
    nest=nests,
    heater=maybe(heaters),
    outworld=maybe(outworlds),
    rest=wishes,
    log=logs,
    drying=maybe(st.builds(LearnedDrying, numbers, numbers)),
)
colony_records = st.builds(
    ColonyRecord,
    id=st.just(ColonyId(0)),
    keeper_id=snowflakes.map(KeeperId),
    colony=colonies,
    state=st.sampled_from(ColonyState),
    version=st.integers(1, 10**6),
    created_at=maybe(moments),
    closed_at=maybe(moments),
    closed_reason=maybe(texts),
)

word_lists = st.lists(texts, max_size=3).map(tuple)
whys = st.builds(
    Why,
    rule=texts,
    inputs=st.lists(st.builds(Input, texts, texts, truths), max_size=3).map(tuple),
    evidence=st.builds(Evidence, word_lists, st.sampled_from(Confidence), texts),
    would_change=word_lists,
)
occurrences = st.builds(
    Occurrence,
    colony=st.just(""),
    duty=st.sampled_from(Duty),
    day=days,
    due_at=moments,
    earliest=days,
    latest=days,
    reason=texts,
    why=whys,
    urgency=st.sampled_from(Urgency),
    useful_days=counts,
    facts=st.dictionaries(texts, numbers | texts, max_size=4),
    cautions=word_lists,
)
