"""Escape barriers: how long they last and what checks teach. Intervals and factors: common practice, no source."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import pytest

from bot.care.colony import Colony, LogEntry, Outworld
from bot.care.duty import Duty, Outcome, Urgency
from bot.care.phase import Phase
from bot.care.place import Place
from bot.care.situation import Advice, Situation
from bot.care.upkeep.advice import advise_barrier_check, advise_barrier_renew
from bot.care.upkeep.barriers import learned_factor
from tests.care.builders import DAY, colony, place, profile, situation


def check(days_ago: int, outcome: Outcome) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=days_ago), duty=Duty.BARRIER_CHECK, outcome=outcome)


def renewal(days_ago: int) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=days_ago), duty=Duty.BARRIER_RENEW, outcome=Outcome.DONE)


def kept(
    kind: str | None, log: Sequence[LogEntry] = (), renewed_ago: int | None = None, *, dusty: bool = False
) -> Colony:
    renewed = None if renewed_ago is None else DAY - timedelta(days=renewed_ago)
    return colony(outworld=Outworld(barrier=kind, renewed=renewed, dusty=dusty), log=tuple(log))


def renew(where: Situation) -> Advice:
    advice = advise_barrier_renew(where)
    assert advice is not None
    return advice


@pytest.mark.parametrize(
    ("kind", "look", "life"), [("ptfe", 7, 56), ("talc", 7, 21), ("oil", 3, 10), ("moat", 2, None), ("lid", 7, None)]
)
def test_days_between_looks_and_renewals_by_kind(kind: str, look: int, life: int | None) -> None:
    where = situation(colony=kept(kind))
    seen = advise_barrier_check(where)
    assert seen is not None
    assert seen.interval_days == look
    renewed = advise_barrier_renew(where)
    assert (None if renewed is None else renewed.interval_days) == life


def test_damp_dust_and_danger_shorten_its_life() -> None:
    # Half from 70 % humidity, 0.7 for dust, 0.7 from hazard 2; an unknown hazard counts as 2.
    damp = place(humidity_percent=70)
    assert renew(situation(colony=kept("ptfe"), place=damp)).interval_days == 28
    assert renew(situation(colony=kept("oil"), place=damp)).interval_days == 10, "oil does not mind"
    assert renew(situation(colony=kept("ptfe"), place=Place())).interval_days == 56, "unknown humidity is no reason"
    assert renew(situation(colony=kept("ptfe", dusty=True))).interval_days == pytest.approx(39.2)
    for hazard in (2, 3, None):
        assert renew(situation(colony=kept("ptfe"), profile=profile(hazard=hazard))).interval_days == pytest.approx(
            39.2
        )
    everything = situation(colony=kept("talc", dusty=True), profile=profile(hazard=3), place=damp)
    assert renew(everything).interval_days == 7, "never sooner than the next look"


def test_the_day_it_was_renewed_counts() -> None:
    assert renew(situation(colony=kept("ptfe", renewed_ago=20))).first_after_days == 36
    assert renew(situation(colony=kept("ptfe", renewed_ago=90))).first_after_days == 0


def test_p11_thin_even_without_gaps_and_dry_before_ants_meet_it() -> None:
    # P11, common practice, no source.
    reason = renew(situation(colony=kept("ptfe"))).reason
    for word in ("thin", "even", "all round", "without gaps", "fully dry"):
        assert word in reason


@pytest.mark.parametrize("kind", ["ptfe", "lid", None])
@pytest.mark.parametrize("phase", Phase)
def test_a_worn_barrier_is_urgent_in_every_phase(kind: str | None, phase: Phase) -> None:
    worn = kept(kind, [renewal(10), check(1, Outcome.WORN)])
    advice = renew(situation(colony=worn, phase=phase))
    assert (advice.urgency, advice.interval_days, advice.first_after_days) == (Urgency.URGENT, 1, 0)


def test_a_renewal_settles_it() -> None:
    renewed = kept("ptfe", [check(3, Outcome.WORN), renewal(1)])
    assert renew(situation(colony=renewed)).urgency is Urgency.ROUTINE
    planned = situation(colony=kept("ptfe", [check(3, Outcome.WORN)]), done={Duty.BARRIER_RENEW: DAY})
    assert renew(planned).urgency is Urgency.ROUTINE


def test_worn_shortens_at_once_and_only_three_clean_late_checks_lengthen() -> None:
    worn = kept("ptfe", [renewal(30), check(5, Outcome.WORN), renewal(4)])
    assert renew(situation(colony=worn)).interval_days == pytest.approx(56 * 0.7)
    clean = [renewal(55), check(15, Outcome.OK), check(8, Outcome.OK)]
    assert learned_factor(kept("ptfe", clean), 56) == 1
    assert learned_factor(kept("ptfe", [*clean, check(1, Outcome.OK)]), 56) == pytest.approx(1.15)
    early = [renewal(30), check(25, Outcome.OK), check(18, Outcome.OK), check(11, Outcome.OK), check(4, Outcome.OK)]
    assert learned_factor(kept("ptfe", early), 56) == 1, "a young band that holds says nothing about an old one"


def test_learning_stays_inside_its_limits() -> None:
    always_worn = kept("ptfe", [check(days, Outcome.WORN) for days in range(200, 0, -7)])
    never_worn = kept("ptfe", [renewal(900), *(check(days, Outcome.OK) for days in range(800, 0, -7))])
    assert learned_factor(always_worn, 56) == pytest.approx(0.3)
    assert learned_factor(never_worn, 56) == pytest.approx(1.5)


def test_an_unnamed_barrier_is_looked_at_and_asked_for() -> None:
    advice = advise_barrier_check(situation(colony=kept(None)))
    assert advice is not None
    assert advice.interval_days == 7
    assert advice.why.inputs[0].defaulted
    assert "the kind of barrier" in advice.why.would_change
