"""What a gap is, what the forecast takes in of lost repetitions, and what may be called learned."""

from dataclasses import replace
from math import nan
from typing import Literal

import numpy as np
import pytest

from service.core.capability import SetEvidence
from service.core.errors import OutsideValidity
from service.core.estimates import Reason
from service.core.recovery import (
    PRIOR_BELIEF,
    SYSTEMIC,
    TRUNK,
    Asked,
    FatigueBelief,
    MuscleSession,
    NextSeen,
    SetsReady,
    TrunkToll,
    alike,
    decay_time,
    gap_of,
    is_learned,
    learn,
    loads_trunk,
    p_ready_in,
    sets_ready_by_next,
    trunk_limits,
    trunk_share,
    why_not_learned,
)
from service.core.recovery.fatigue import SYSTEMIC_SHARE, TAU_LOG_SD
from service.core.recovery.learning import DAY_SHARE, MOST_SEEN, taken_in

pytestmark = pytest.mark.quick

KNOWN = FatigueBelief(ln_loss=-0.1, loss_sd=0.2, tau_sd=0.2, observation_count=30, prior_share=0.4)
USUAL = MuscleSession(0.0, 4.0, 0.3, 0.0, 1.0)
FORETOLD = (10.0, 2.0, 6.0, 7.4, 10.0, 12.6, 14.0)


def done(**said: object) -> SetEvidence:
    return SetEvidence("press", 60.0, 8, purpose="work", **said)  # type: ignore[arg-type]


def test_a_gap_is_what_was_seen_less_what_was_foretold() -> None:
    gap, sd = gap_of(done(to_failure=True), FORETOLD) or (nan, nan)
    assert gap == pytest.approx(-1.5)
    assert sd == pytest.approx(2.0, rel=0.02)
    told, wider = gap_of(done(reps_in_reserve=3.0), FORETOLD) or (nan, nan)
    assert told == pytest.approx(1.5)
    assert wider > sd


@pytest.mark.parametrize(
    "silent",
    [
        done(),
        done(reps_in_reserve=6.0),
        done(to_failure=True, pain=5.0),
        done(to_failure=True, stage=1),
        SetEvidence("press", 60.0, 8, to_failure=True, purpose="bound"),
        SetEvidence("press", 60.0, 8, to_failure=True, purpose="warm_up"),
    ],
)
def test_a_set_that_tells_no_effort_or_hurts_teaches_nothing(silent: SetEvidence) -> None:
    assert gap_of(silent, FORETOLD) is None


def test_a_lift_of_which_nothing_was_known_has_no_gap() -> None:
    assert gap_of(done(to_failure=True), (nan,) * 7) is None
    assert gap_of(done(to_failure=True), (10.0, 9.0)) is None


def test_the_forecast_takes_in_a_lasting_loss_and_not_a_sudden_one() -> None:
    rows = [NextSeen(float(day), "press", 0.0, 2.0, {"chest": 1.0}) for day in range(40)]
    follows = taken_in(rows)
    assert (follows @ np.full(40, 2.0))[1:] == pytest.approx(0.0, abs=1e-12)
    sudden = np.zeros(40)
    sudden[30] = 2.0
    assert (follows @ sudden)[30] == pytest.approx(2.0)


def test_a_loss_that_an_earlier_lift_showed_is_partly_taken_for_the_day() -> None:
    rows = [
        NextSeen(float(d), lift, 0.0, 2.0, {"chest": 1.0}) for d in (1, 2, 3) for lift in ("press", "fly")
    ]
    lost = np.array([0.0, 0.0, 0.0, 0.0, 2.0, 2.0])
    left = taken_in(rows) @ lost
    assert left[4] == pytest.approx(2.0)
    assert left[5] == pytest.approx(2.0 * (1.0 - DAY_SHARE))


def test_the_order_in_which_sessions_are_given_changes_nothing() -> None:
    rng = np.random.default_rng(2)
    days = np.cumsum(rng.choice([1.0, 2.0, 3.0], size=30))
    asked = [Asked("chest", side, float(d), 3.5) for d in days for side in ("left", "right")]  # type: ignore[arg-type]
    seen = [
        NextSeen(float(d), "press", float(g), 1.5, {"chest": 1.0})
        for d, g in zip(days, rng.normal(0, 1, 30), strict=True)
    ]
    first = learn(asked, seen, ["chest"])["chest"]
    second = learn(asked[::-1], seen[::-1], ["chest"])["chest"]
    assert second.ln_loss == pytest.approx(first.ln_loss, abs=1e-9)
    assert second.ln_tau == pytest.approx(first.ln_tau, abs=1e-9)


def test_left_and_right_are_one_muscle_that_was_asked_differently() -> None:
    asked = [Asked("chest", "right", float(d), 5.0) for d in (0.0, 3.0, 6.0)]
    seen = [NextSeen(d + 1.0, "fly", -2.0, 1.0, {"chest": 1.0}, "left") for d in (0.0, 3.0, 6.0)]
    assert learn(asked, seen, ["chest"])["chest"].observation_count == 0
    turned = [replace(one, side="right") for one in seen]
    assert learn(asked, turned, ["chest"])["chest"].observation_count == 3


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_one_trunk_and_the_one_body_hear_a_lift_of_either_side(side: Literal["left", "right"]) -> None:
    asked = [Asked(channel, "both", float(d), 5.0) for channel in (TRUNK, SYSTEMIC) for d in (0.0, 3.0, 6.0)]
    seen = [NextSeen(d + 1.0, "carry", -2.0, 1.0, {TRUNK: 1.0}, side) for d in (0.0, 3.0, 6.0)]
    beliefs = learn(asked, seen, [])
    assert beliefs[TRUNK].observation_count == beliefs[SYSTEMIC].observation_count == 3
    assert beliefs == learn(asked, [replace(one, side="both") for one in seen], [])


def test_only_the_newest_next_sessions_are_looked_at() -> None:
    days = np.arange(MOST_SEEN + 50, dtype=float)
    asked = [Asked("chest", "left", float(d), 3.0) for d in days]
    seen = [NextSeen(float(d) + 0.5, "fly", 0.0, 2.0, {"chest": 1.0}, "left") for d in days]
    assert learn(asked, seen, ["chest"])["chest"].observation_count == MOST_SEEN


def test_a_slip_of_the_pen_moves_little() -> None:
    rng = np.random.default_rng(4)
    days = np.cumsum(rng.choice([1.0, 2.0, 3.0], size=40))
    asked = [Asked("chest", side, float(d), 3.5) for d in days for side in ("left", "right")]  # type: ignore[arg-type]
    seen = [
        NextSeen(float(d), "press", float(g), 1.5, {"chest": 1.0})
        for d, g in zip(days, rng.normal(0, 1, 40), strict=True)
    ]
    slipped = [*seen[:-1], replace(seen[-1], gap=-60.0)]
    clean, dirty = (learn(asked, one, ["chest"])["chest"] for one in (seen, slipped))
    assert abs(dirty.ln_loss - clean.ln_loss) < 0.5 * clean.loss_sd


def test_learned_asks_for_enough_next_sessions_and_for_evidence_in_them() -> None:
    assert is_learned(KNOWN)
    few, vague = replace(KNOWN, observation_count=5), replace(KNOWN, prior_share=0.9)
    assert not is_learned(few)
    assert not is_learned(vague)
    assert why_not_learned(few).code == "recovery.too_few_next_sessions"
    assert why_not_learned(vague).code == "recovery.next_sessions_too_alike"


def test_sets_ready_are_the_most_that_meet_the_chance() -> None:
    found = sets_ready_by_next(USUAL, 48.0, KNOWN, 12.0)
    assert isinstance(found, SetsReady)
    for dose, ready in ((0.98 * found.hard_sets, True), (1.02 * found.hard_sets, False)):
        chance = p_ready_in([replace(USUAL, hard_sets=dose)], 48.0, None, KNOWN)
        assert (chance >= 0.8) is ready
    assert found.interval is not None
    assert found.interval.lower < found.hard_sets < found.interval.upper
    assert not found.capped


def test_more_time_and_faster_recovery_allow_more_sets() -> None:
    two_days = sets_ready_by_next(USUAL, 48.0, KNOWN, 12.0)
    three_days = sets_ready_by_next(USUAL, 72.0, KNOWN, 12.0)
    slower = sets_ready_by_next(USUAL, 48.0, replace(KNOWN, ln_tau=KNOWN.ln_tau + 0.3), 12.0)
    assert isinstance(two_days, SetsReady)
    assert isinstance(three_days, SetsReady)
    assert isinstance(slower, SetsReady)
    assert slower.hard_sets < two_days.hard_sets < three_days.hard_sets


def test_nothing_is_claimed_of_doses_far_beyond_what_was_logged() -> None:
    found = sets_ready_by_next(USUAL, 240.0, KNOWN, 4.0)
    assert isinstance(found, SetsReady)
    assert (found.hard_sets, found.capped) == (5.0, True)
    assert found.interval is None


def test_an_interval_that_reaches_down_to_what_was_logged_is_told() -> None:
    """More than was logged would probably do, yet not surely: where it may lie below is said."""
    hours = next(
        one
        for one in np.arange(48.0, 240.0, 2.0)
        if isinstance(told := sets_ready_by_next(USUAL, one, KNOWN, 4.0), SetsReady) and told.capped
    )
    found = sets_ready_by_next(USUAL, hours, KNOWN, 4.0)
    assert isinstance(found, SetsReady)
    assert found.interval is not None
    assert found.interval.lower < found.interval.upper == found.hard_sets


def test_sets_ready_are_not_told_before_they_are_learned() -> None:
    assert isinstance(sets_ready_by_next(USUAL, 48.0, PRIOR_BELIEF, 8.0), Reason)
    with pytest.raises(OutsideValidity):
        sets_ready_by_next(USUAL, 0.0, KNOWN, 8.0)
    with pytest.raises(OutsideValidity):
        sets_ready_by_next(USUAL, 48.0, KNOWN, 0.0)


def test_the_decay_time_of_people_in_general_is_28_hours() -> None:
    found = decay_time(PRIOR_BELIEF)
    assert found.value == pytest.approx(28.0)
    assert found.interval.lower == pytest.approx(28.0 * np.exp(-1.2816 * TAU_LOG_SD), rel=1e-3)


def test_a_channel_that_is_no_muscle_keeps_its_own_scale() -> None:
    assert alike({}, SYSTEMIC).channel_share == SYSTEMIC_SHARE
    assert alike({}, "chest") == alike({}, TRUNK) == PRIOR_BELIEF


def test_the_trunk_receives_what_loads_it_most() -> None:
    assert trunk_share(3, 2) == 1.0
    assert trunk_share(0, 1) == pytest.approx(1 / 3)
    assert loads_trunk(0, 2)
    assert not loads_trunk(1, 1)


@pytest.mark.parametrize(
    ("toll", "codes"),
    [
        (TrunkToll(10, 0, 0.9, 0.8), []),
        (TrunkToll(10, 3, 0.9, 0.8), ["recovery.trunk_ended_sets"]),
        (TrunkToll(10, 0, 0.4, 0.8), ["recovery.trunk_ready_later"]),
        (TrunkToll(0, 0, 0.4, 0.8), []),
        (TrunkToll(10, 0, 0.0001, 0.0004), []),  # both will surely not be ready: neither is later
        (TrunkToll(10, 0, 0.78, 0.8), []),
    ],
)
def test_the_trunk_is_named_where_it_ends_sets_or_is_ready_later(toll: TrunkToll, codes: list[str]) -> None:
    assert [reason.code for reason in trunk_limits(toll)] == codes
