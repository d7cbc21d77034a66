"""Upkeep: wipe, waste, fresh nest, hygrometer, and when hands stay off. All common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.care.colony import LogEntry, Nest, NestKind, Outworld, Stage
from bot.care.duty import Duty, Outcome, Urgency
from bot.care.phase import Phase
from bot.care.situation import Advice, Situation
from bot.care.species import Guild
from bot.care.units import Band
from bot.care.upkeep.advice import (
    advise_barrier_check,
    advise_barrier_renew,
    advise_nest_change,
    advise_outside_wipe,
    advise_waste,
    check_hygrometer,
)
from tests.care.builders import DAY, colony, nest, profile, rest_plan, situation

Rule = Callable[[Situation], Advice | None]

DISTURBING: tuple[Rule, ...] = (advise_barrier_renew, advise_outside_wipe, advise_waste, advise_nest_change)
COLD = (Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)


def given(advice: Advice | None) -> Advice:
    assert advice is not None
    return advice


@pytest.mark.parametrize("rule", DISTURBING)
@pytest.mark.parametrize("phase", COLD)
def test_in_the_cold_nothing_disturbs_but_the_barrier_is_looked_at(rule: Rule, phase: Phase) -> None:
    resting = situation(phase=phase)
    assert rule(resting) is None
    assert given(advise_barrier_check(resting)).interval_days == (28 if phase is Phase.REST else 7)


def test_only_torpid_ants_are_trusted_longer_and_a_moat_never() -> None:
    # Judgement: at 10 C and below ants hardly walk; the water of a moat dries all the same.
    mild = rest_plan(Phase.REST, temperature_c=Band(12, 15))
    assert given(advise_barrier_check(situation(rest=mild))).interval_days == 7
    moat = colony(outworld=Outworld(barrier="moat"))
    assert given(advise_barrier_check(situation(phase=Phase.REST, colony=moat))).interval_days == 2


def test_no_move_is_offered_to_ants_that_have_just_woken() -> None:
    # Judgement: four weeks of peace; mould does not wait.
    old = colony(nest=nest(changed=DAY - timedelta(days=400)))
    awake = {Duty.REST_END: DAY - timedelta(days=10)}
    assert given(advise_nest_change(situation(colony=old))).first_after_days == 0
    assert given(advise_nest_change(situation(colony=old, done=awake))).first_after_days == 18
    again = {**awake, Duty.NEST_CHANGE: DAY - timedelta(days=300)}
    assert given(advise_nest_change(situation(colony=old, done=again))).interval_days == 318
    mouldy = replace(old, log=(LogEntry(day=DAY, duty=Duty.NEST_CHANGE, outcome=Outcome.MOULD),))
    assert given(advise_nest_change(situation(colony=mouldy, done=awake))).first_after_days == 0


def test_a_fungus_garden_is_not_moved_by_the_calendar() -> None:
    # Common practice, no source.
    cutter = profile(guilds=(Guild.LEAVES,))
    old = colony(nest=nest(changed=DAY - timedelta(days=400)))
    assert advise_nest_change(situation(colony=old, profile=cutter)) is None
    mouldy = replace(old, log=(LogEntry(day=DAY, duty=Duty.NEST_CHANGE, outcome=Outcome.MOULD),))
    assert advise_nest_change(situation(colony=mouldy, profile=cutter)) is not None


@pytest.mark.parametrize("rule", DISTURBING)
def test_founding_queens_are_left_alone(rule: Rule) -> None:
    assert rule(situation(colony=colony(stage=Stage.FOUNDING))) is None


@pytest.mark.parametrize("rule", [advise_outside_wipe, advise_waste])
def test_after_an_arrival_hands_stay_off_for_a_week(rule: Rule) -> None:
    new = colony(arrived=DAY - timedelta(days=2))
    assert given(rule(situation(colony=new))).first_after_days == 5
    done = {Duty.OUTSIDE_WIPE: DAY - timedelta(days=6), Duty.WASTE: DAY - timedelta(days=6)}
    assert given(rule(situation(colony=new, done=done))).interval_days == 11
    assert given(rule(situation(done=done))).interval_days == 7


@pytest.mark.parametrize("rule", [advise_barrier_check, advise_barrier_renew, advise_outside_wipe, advise_waste])
def test_without_an_outworld_there_is_nothing_to_do_in_it(rule: Rule) -> None:
    assert rule(situation(colony=colony(outworld=None, nest=Nest()))) is None


def test_p12_the_outside_is_wiped_weekly_with_diluted_vinegar() -> None:
    # P12, common practice, no source.
    advice = given(advise_outside_wipe(situation()))
    assert (advice.interval_days, advice.facts["cleaner"]) == (7, "diluted vinegar")
    assert "Keep the vinegar off the nest block" in advice.reason
    assert {"FIX-12", "BAR-12"} <= set(advice.cautions)


def test_no_vinegar_on_limestone() -> None:
    # Vinegar dissolves lime (chemistry, from memory).
    advice = given(advise_outside_wipe(situation(colony=colony(outworld=Outworld(barrier="ptfe", limestone=True)))))
    assert advice.facts["cleaner"] == "a plain damp cloth"
    assert "vinegar" not in advice.reason
    assert "VINEGAR-LIME" in advice.cautions


def test_waste_of_a_small_colony_can_wait_longer() -> None:
    assert given(advise_waste(situation(colony=colony(workers=20)))).interval_days == 14
    assert given(advise_waste(situation(colony=colony(workers=500)))).interval_days == 7


def test_p27_every_several_months_a_fresh_nest_is_offered() -> None:
    # P27, common practice, no source; not with vinegar on lime-based material.
    moved = DAY - timedelta(days=100)
    advice = given(advise_nest_change(situation(colony=colony(nest=nest(changed=moved, material="plaster")))))
    assert (advice.interval_days, advice.first_after_days) == (180, 80)
    assert str(advice.facts["cleaner"]).startswith("vinegar, then rinsing")
    assert "FIX-12" in advice.cautions
    lime = given(advise_nest_change(situation(colony=colony(nest=nest(changed=moved, material="aac")))))
    assert "no vinegar" in str(lime.facts["cleaner"])
    assert "VINEGAR-LIME" in lime.cautions


def test_p18_ants_move_by_themselves() -> None:
    # P18, common practice, no source.
    reason = given(advise_nest_change(situation())).reason
    assert "dark and moist" in reason
    assert "in their own time" in reason


@pytest.mark.parametrize("kind", [NestKind.TUBE, NestKind.NATURALISTIC])
def test_only_nests_are_changed(kind: NestKind) -> None:
    assert advise_nest_change(situation(colony=colony(nest=nest(kind=kind)))) is None


def test_a_move_after_the_last_change_starts_the_months_anew() -> None:
    home = colony(nest=nest(changed=DAY - timedelta(days=30)))
    advice = given(advise_nest_change(situation(colony=home, done={Duty.NEST_CHANGE: DAY - timedelta(days=100)})))
    assert advice.interval_days == 180 + 70


def test_mould_in_the_nest_brings_the_fresh_one_soon_and_mould_on_food_does_not() -> None:
    def after(duty: Duty) -> Advice:
        seen = LogEntry(day=DAY - timedelta(days=1), duty=duty, outcome=Outcome.MOULD)
        home = colony(nest=nest(changed=DAY - timedelta(days=40)), log=(seen,))
        return given(advise_nest_change(situation(colony=home)))

    assert (after(Duty.WATER).first_after_days, after(Duty.WATER).urgency) == (0, Urgency.SOON)
    assert after(Duty.WATER).cautions[0] == "MOULD-SPECK"
    assert (after(Duty.LEFTOVERS).first_after_days, after(Duty.LEFTOVERS).urgency) == (140, Urgency.ROUTINE)
    moved = situation(
        colony=colony(log=(LogEntry(day=DAY - timedelta(days=9), duty=Duty.WATER, outcome=Outcome.MOULD),)),
        done={Duty.NEST_CHANGE: DAY - timedelta(days=2)},
    )
    assert given(advise_nest_change(moved)).urgency is Urgency.ROUTINE


def test_the_salt_check_of_a_hygrometer() -> None:
    # Over table salt at 20 C the air holds 75.47 % (Greenspan 1977, from memory; the fit we use says 75.36).
    fine, wrong = check_hygrometer(73, 20), check_hygrometer(83, 20)
    assert fine.true_percent == pytest.approx(75.47, abs=0.2)
    assert fine.add_points == pytest.approx(2.4, abs=0.1)
    assert "2 points too low. It is as good" in fine.sentence
    assert "8 points too high. Correct" in wrong.sentence
