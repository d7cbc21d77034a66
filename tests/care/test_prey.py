"""Prey: sources, freezing and boiling, and what no treatment can do."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.errors import BadValueError
from bot.care.feeding.prey import (
    BOILED_SHARE,
    ColdVerdict,
    Doubt,
    HeatVerdict,
    Need,
    Source,
    Verdict,
    half_lives_to,
    judge_boiling,
    judge_freezing,
    judge_prey,
    share_left,
)


@pytest.mark.parametrize(
    ("core", "hours", "verdict"),
    [
        (-18, 5, ColdVerdict.TOO_SHORT),  # kills 90 % of one mite only: Eaton & Kells 2011
        (-16, 80, ColdVerdict.TOO_SHORT),  # under the 84 h line, though 80 h at -16 kill bed bugs: Olson et al. 2013
        (-16, 168, ColdVerdict.BED_BUGS_ONLY),
        (-18, 168, ColdVerdict.ENOUGH),  # a week at household freezer cold; common practice after museum use
        (-20, 48, ColdVerdict.BED_BUGS_ONLY),  # Olson et al. 2013
        (-20, 144, ColdVerdict.ENOUGH),  # museum practice 6-10 days at -20: NPS Conserve O Gram 3/6
        (-10, 1000, ColdVerdict.NO_ASSURANCE),  # above -12 survival after a week: Olson et al. 2013
        (-35, 15, ColdVerdict.TOO_SHORT),  # the food rule for fish is not meant for insects
        (-35, 72, ColdVerdict.ENOUGH),  # memory
        (-13, 1000, ColdVerdict.NOT_VALIDATED),
        (-12, 1000, ColdVerdict.NOT_VALIDATED),
        (-15, 336, ColdVerdict.ENOUGH),
        (-30, 72, ColdVerdict.ENOUGH),
    ],
)
def test_value_18_freezing(core: float, hours: float, verdict: ColdVerdict) -> None:
    assert judge_freezing(core, hours) is verdict


def test_value_19_residues_fade_too_slowly_to_wait_for() -> None:
    # Half-lives: public fact sheets and Pest Manag Sci 2010, 66:944; to one percent derived.
    lives = half_lives_to(0.01)
    assert lives == pytest.approx(6.644, abs=0.001)
    assert (lives * 5.9, lives * 17) == pytest.approx((39, 113), abs=0.5)
    assert (lives * 7, lives * 21) == pytest.approx((47, 140), abs=0.6)
    assert lives * 12 == pytest.approx(79.7, abs=0.1)
    assert share_left(79.7, 12) == pytest.approx(0.01, rel=0.01)


def test_value_19_boiling_leaves_a_third_so_the_verdict_stands() -> None:
    # Kim et al. 2016, mean over plant food after blanching or boiling: 0.34 remaining.
    assert pytest.approx(34) == 100 * BOILED_SHARE
    assert judge_prey(Source.WILD_UNSPRAYED, frozenset({Doubt.NEAR_SPRAYING})).boil is Need.USELESS


def test_value_24_found_dead_indoors_is_refused_for_every_treatment() -> None:
    # Rust, Soeprono & Reierson: ants killed by freezing after treated barriers still killed colonies (fipronil).
    assert judge_freezing(-18, 168) is ColdVerdict.ENOUGH
    assert judge_boiling(5, 1) is HeatVerdict.ENOUGH
    advice = judge_prey(Source.FOUND_DEAD)
    assert advice.verdict is Verdict.DO_NOT_FEED
    assert advice.freeze is Need.USELESS
    assert advice.boil is Need.USELESS


@given(source=st.none() | st.sampled_from(Source), doubts=st.none() | st.frozensets(st.sampled_from(Doubt), min_size=1))
def test_rule_02_doubt_about_poison_overrides_every_source(
    source: Source | None, doubts: frozenset[Doubt] | None
) -> None:
    advice = judge_prey(source, doubts)
    assert advice.verdict is Verdict.DO_NOT_FEED
    assert (advice.freeze, advice.boil) == (Need.USELESS, Need.USELESS)
    assert "safe" not in advice.reason


@pytest.mark.parametrize("source", Source)
def test_rule_09_every_answer_about_prey_carries_poison_and_fungus(source: Source) -> None:
    assert judge_prey(source).cautions[:2] == ("PREY-POISON", "PREY-FUNGUS")


@pytest.mark.parametrize("source", [Source.OWN_CULTURE, Source.BOUGHT_CULTURE])
def test_rule_09_every_answer_about_feeders_carries_allergy_food_and_escape(source: Source) -> None:
    assert {"FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE"} <= set(judge_prey(source).cautions)


def test_p08_wild_prey_only_unsprayed_and_frozen_first() -> None:
    # Common practice, no source.
    wild = judge_prey(Source.WILD_UNSPRAYED)
    assert wild.verdict is Verdict.FREEZE_FIRST
    assert wild.freeze is Need.REQUIRED
    assert judge_prey(Source.WILD_UNKNOWN).verdict is Verdict.DO_NOT_FEED
    assert judge_prey(None).verdict is Verdict.DO_NOT_FEED


def test_p09_own_culture_feeds_as_it_is() -> None:
    # Common practice, no source.
    assert judge_prey(Source.OWN_CULTURE).verdict is Verdict.FEED


@pytest.mark.parametrize(
    ("minutes", "since", "small", "verdict"),
    [
        (5, 1, False, HeatVerdict.ENOUGH),  # Klunder et al. 2012; spore formers survive
        (4, 1, False, HeatVerdict.TOO_SHORT),
        (3, 1, True, HeatVerdict.ENOUGH),
        (5, 25, False, HeatVerdict.STALE),
    ],
)
def test_boiling(minutes: float, since: float, *, small: bool, verdict: HeatVerdict) -> None:
    assert judge_boiling(minutes, since, small=small) is verdict


def test_impossible_treatments_are_refused() -> None:
    with pytest.raises(BadValueError, match="hours"):
        judge_freezing(-18, -1)
    with pytest.raises(BadValueError, match="hours"):
        judge_freezing(-18, float("nan"))
    with pytest.raises(BadValueError, match="minutes"):
        judge_boiling(float("nan"), 0)
    with pytest.raises(BadValueError, match="share"):
        half_lives_to(0)


@given(core=st.floats(-80, 30), hours=st.floats(0, 2000), more=st.floats(0, 500))
def test_longer_in_the_same_cold_is_never_worth_less(core: float, hours: float, more: float) -> None:
    order = list(ColdVerdict)
    assert order.index(judge_freezing(core, hours + more)) >= order.index(judge_freezing(core, hours))
