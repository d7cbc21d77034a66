"""Personal sentences of answers: what they say follows the plan of the colony, whose rules have tests of their own.

The species are those of `config/species`; days of a rest come from the same plan and are only put into words here.
"""

from __future__ import annotations

from datetime import UTC, date
from typing import Any

import pytest

from bot.care.agenda import plan_colony
from bot.care.answers.filling import SLOTS, fill
from bot.care.colony import Brood, Colony, Heater, LogEntry, Nest, NestKind, Outworld, RestWishes
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase
from bot.care.place import Keeper, Place
from bot.care.units import Units
from bot.services.answers import slots_of
from tests.shelf import handbook

HANDBOOK = handbook()
KEEPER = Keeper(zone_name="Etc/UTC", zone=UTC, latitude=50.0, country="DE")
SUMMER, WINTER = date(2027, 6, 1), date(2027, 12, 15)
FOOD = ("next_sugar", "next_protein", "feeding_interval", "protein_interval")
REST = ("rest_needed", "rest_start", "rest_end", "rest_weeks", "rest_temperature", "phase")


def logged(day: date, duty: Duty, outcome: Outcome = Outcome.DONE, count: int | None = None) -> LogEntry:
    return LogEntry(day=day, duty=duty, outcome=outcome, count=count)


def told(species: str, day: date = WINTER, keeper: Keeper = KEEPER, **changes: Any) -> dict[str, str]:
    values: dict[str, Any] = {"workers": 200, "nest": Nest(kind=NestKind.NEST, material="plaster", water_ml=20)}
    colony = Colony(key="k", name="Dusk", species=species, **(values | changes))
    plan = plan_colony(colony, keeper, Place(temperature_c=22), HANDBOOK, day, 60)
    slots = slots_of(plan, keeper, HANDBOOK, day, 22)
    assert set(slots) <= set(SLOTS)
    return slots


@pytest.mark.parametrize("species", ["Lasius niger", "Pheidole megacephala", "Pheidole", "Prenolepis imparis"])
@pytest.mark.parametrize("day", [SUMMER, WINTER])
def test_of_a_registered_colony_the_rest_is_never_unknown_for_want_of_its_species(species: str, day: date) -> None:
    slots = told(species, day)
    assert set(REST) <= set(slots)
    assert not any("your species" in slots[name] for name in REST)


def test_the_next_rest_is_named_however_far_ahead() -> None:
    slots = told("Lasius niger", SUMMER)
    assert slots["rest_start"] == "By your plan the wind-down begins on Tue 12 Oct."
    assert slots["phase"].startswith("Dusk is active by your plan")
    assert "2028" in slots["rest_end"]


def test_where_there_is_no_rest_the_reason_stands_in_the_place_of_dates() -> None:
    slots = told("Pheidole megacephala")
    assert "no winter rest" in slots["rest_needed"]
    assert slots["rest_start"] == "Without a winter rest there is no day to begin."
    assert slots["rest_temperature"] == "It stays as warm as ever."
    assert "keep it out of the cold" in told("Pheidole")["rest_temperature"]
    assert told("Lasius niger", rest=RestWishes(skip=True))["rest_start"].startswith("You skip this rest")
    undated = told("Lasius niger", keeper=Keeper(zone_name="Etc/UTC", zone=UTC))
    assert "set the first day yourself" in undated["rest_start"]


def test_a_rest_of_which_nothing_was_told_is_told_as_the_plan() -> None:
    slots = told("Lasius niger")
    assert slots["phase"].startswith("By your plan Dusk would be in rest since ")
    assert slots["phase"].endswith("you have not told me that it began.")
    assert "began on Tue 12 Oct, but you have not told me so" in slots["rest_start"]


def test_a_rest_that_was_told_is_a_fact() -> None:
    steps = (logged(date(2027, 10, 11), Duty.REST_WIND_DOWN), logged(date(2027, 11, 22), Duty.REST_BEGIN))
    slots = told("Lasius niger", log=steps)
    assert slots["phase"] == "Dusk is in this phase since Mon 22 Nov: rest."
    assert slots["rest_start"] == "The wind-down began on Mon 11 Oct."


def test_in_the_cold_there_is_no_food_and_it_says_until_when() -> None:
    slots = told("Lasius niger")
    assert slots["next_sugar"] == "Dusk rests by your plan until Thu 2 Mar 2028: no food now, only water."
    assert slots["protein_interval"] == "No prey while the colony rests."
    assert "their seeds feed them" in told("Messor barbarus")["feeding_interval"]


def test_food_is_said_for_queens_and_fungus_farmers() -> None:
    assert "lives on her reserves" in told("Lasius niger", SUMMER, workers=0)["feeding_interval"]
    farmers = told("Atta cephalotes", SUMMER, workers=3000)
    assert farmers["feeding_interval"] == "For Dusk, fresh food for the fungus about every 2 days."
    assert "live on their fungus" in farmers["protein_interval"]


def test_every_sentence_on_food_is_there_in_the_warm_season() -> None:
    assert set(FOOD) <= set(told("Lasius niger", SUMMER))


@pytest.mark.parametrize(
    ("hot_c", "units", "said"),
    [
        (
            34,
            Units.CELSIUS,
            "You measured 34 °C at the nest wall; for Messor barbarus 33 °C is the alarm: cool it down",
        ),
        (34, Units.FAHRENHEIT, "You measured 93 °F at the nest wall; for Messor barbarus 91 °F is the alarm"),
        (37, Units.CELSIUS, "the heater is off from 36 °C on: switch it off now"),
        (28, Units.CELSIUS, "for Messor barbarus 33 °C is the alarm."),
        (None, Units.CELSIUS, "so measure it; for Messor barbarus 33 °C is the alarm."),
    ],
)
def test_the_warm_wall_is_judged_as_in_the_plan(hot_c: float | None, units: Units, said: str) -> None:
    keeper = Keeper(zone_name="Etc/UTC", zone=UTC, latitude=50.0, units=units)
    assert said in told("Messor barbarus", SUMMER, keeper, heater=Heater(kind="heat-mat", hot_c=hot_c))["warm_side"]


def test_barriers_say_what_is_due() -> None:
    outworld = Outworld(barrier="ptfe", renewed=date(2027, 5, 25))
    said = told("Lasius niger", SUMMER, outworld=outworld)["barrier_due"]
    assert said.startswith("Look at the barrier ")
    assert "; renew it about " in said
    assert "waits for the end of the rest" in told("Lasius niger", WINTER, outworld=outworld)["barrier_due"]


def test_first_workers_that_are_overdue_or_wait_for_the_cold_get_no_date_ahead() -> None:
    eggs: dict[str, Any] = {"workers": 0, "brood": Brood(eggs=True)}
    past = told("Lasius niger", WINTER, log=(logged(date(2027, 4, 1), Duty.CENSUS, Outcome.EGGS),), **eggs)
    assert "That time is over: look at warmth and brood." in past["first_workers"]
    cold = told("Lasius niger", WINTER, log=(logged(date(2027, 11, 1), Duty.CENSUS, Outcome.EGGS),), **eggs)
    assert "brood waits" in cold["first_workers"]


def test_how_she_founds_is_what_her_keeper_told() -> None:
    assert told("Lasius", workers=0, founding="parasitic")["founding"].startswith("By what you told me she needs host")
    assert told("Lasius niger", workers=0)["founding"] == "A queen of Lasius niger takes no food until workers come."


def test_steady_counts_name_no_change() -> None:
    counts = [(1, 195), (5, 190)]
    log = tuple(logged(date(2027, month, 1), Duty.CENSUS, Outcome.NOTED, count) for month, count in counts)
    assert told("Lasius niger", SUMMER, log=log)["growth_trend"].startswith("Your last 2 counts say steady: ")


def test_the_name_of_a_colony_stands_once_in_a_paragraph() -> None:
    body = "**Watch.** {next_water} {next_sugar} {next_protein}\n\n{next_water}"
    first, second = fill(body, told("Lasius niger", SUMMER)).split("\n\n")
    assert first.count("Dusk") == second.count("Dusk") == 1
    assert "Sugar is due" in first


def test_no_sentence_holds_a_bare_date() -> None:
    for day in (SUMMER, WINTER):
        assert not any("2027-" in said or "2028-" in said for said in told("Lasius niger", day).values())


def test_the_phase_on_the_plan_is_that_of_the_sentence() -> None:
    assert Phase.WARM_UP.value in told("Lasius niger", date(2028, 3, 5))["phase"]
