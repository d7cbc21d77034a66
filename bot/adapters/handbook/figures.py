"""Building blocks of the schemas: a stated figure with unit, source and confidence, and the ranges a figure may take.

Ranges are plausibility bounds that catch slips of the pen (a judgement of ours), not limits of the trade.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Annotated, Any, Generic, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictFloat, StrictInt

from bot.care.evidence import Confidence, Evidence
from bot.care.units import Band

T = TypeVar("T")


class Page(BaseModel):
    """Common ground of all schemas: nothing unknown is let in, nothing changes afterwards."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Stated(Page, Generic[T]):
    """A fact as it stands in a file: `{ value = …, unit = "…", source = ["…"], confidence = "…" }`."""

    value: T
    unit: str
    source: Annotated[tuple[str, ...], Field(min_length=1)]
    confidence: Confidence

    @property
    def evidence(self) -> Evidence:
        """What stands behind the fact, for the care values."""
        return Evidence(self.source, self.confidence, self.unit)


def _to_band(value: Any) -> Band:
    numbers = [number for number in value if _is_number(number)] if isinstance(value, list) else []
    if not isinstance(value, list) or len(value) != 2 or len(numbers) != 2:
        raise ValueError("a band is two numbers, low then high, such as [12, 20]")
    low, high = numbers
    if low > high:
        raise ValueError(f"a band runs from low to high, so [{high:g}, {low:g}] would be right")
    return Band(low, high)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def in_unit(fact: Stated[T], unit: str) -> Stated[T]:
    """The fact, if it is stated in `unit`.

    Raises:
        ValueError: any other unit; nothing is converted, so that a slip cannot hide.
    """
    if fact.unit != unit:
        raise ValueError(f'the unit must be "{unit}", not "{fact.unit}"')
    return fact


def category(fact: Stated[T]) -> Stated[T]:
    """The fact, if it names a kind and says so with the unit `category`."""
    return in_unit(fact, "category")


def yes_or_no(fact: Stated[T]) -> Stated[T]:
    """The fact, if it says with the unit `yes or no` that it is a switch."""
    return in_unit(fact, "yes or no")


BandValue = Annotated[Band, BeforeValidator(_to_band)]
Number = Stated[StrictFloat]
Whole = Stated[StrictInt]
Range = Stated[BandValue]
YesNo = Annotated[Stated[StrictBool], AfterValidator(yes_or_no)]


def measured(unit: str, low: float, high: float) -> AfterValidator:
    """A figure stated in `unit` whose number or numbers lie between `low` and `high`, ends included."""

    def check(fact: Stated[T]) -> Stated[T]:
        value = fact.value
        ends = (value.low, value.high) if isinstance(value, Band) else (value,)
        if not all(isinstance(end, int | float) and low <= end <= high for end in ends):
            said = " to ".join(f"{end:g}" if isinstance(end, int | float) else str(end) for end in ends)
            raise ValueError(f"{said} {fact.unit} cannot be; it lies between {low:g} and {high:g} {unit}")
        return in_unit(fact, unit)

    return AfterValidator(check)


def words(allowed: Collection[str]) -> AfterValidator:
    """A fact of the kind `category` that lists words of a fixed vocabulary, each once."""

    def check(fact: Stated[tuple[str, ...]]) -> Stated[tuple[str, ...]]:
        for word in fact.value:
            if word not in allowed:
                raise ValueError(f"“{word}” is not a word for this; use {', '.join(sorted(allowed))}")
        return once(category(fact))

    return AfterValidator(check)


def once(fact: Stated[tuple[T, ...]]) -> Stated[tuple[T, ...]]:
    """A list fact, if nothing stands in it twice.

    Raises:
        ValueError: a repeated word.
    """
    if len(set(fact.value)) != len(fact.value):
        raise ValueError("the list holds a word twice; name each once")
    return fact
