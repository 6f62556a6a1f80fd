"""Readiness from residual fatigue."""

import numpy as np
import pytest

from service.core.errors import OutsideValidity
from service.core.recovery import (
    MuscleSession,
    chances_ahead,
    decay_factor,
    expected_loss,
    mean_loss,
    p_ready_in,
    readiness,
)
from service.core.recovery.fatigue import LOSS_LOG_SD, TAU_LOG_SD, TAU_MEDIAN_H

pytestmark = pytest.mark.quick

HARD = MuscleSession(24.0, 8.0, to_failure_share=0.5)


def test_a_muscle_that_was_not_trained_is_ready() -> None:
    found = readiness([])
    assert (found.p_ready, found.hours_until_ready.value, found.residual_fatigue.value) == (1.0, 0.0, 0.0)
    assert [r.code for r in found.reasons] == ["recovery.no_recent_session"]


def test_the_chance_agrees_with_a_simulation_of_people() -> None:
    rng = np.random.default_rng(5)
    sessions = [HARD, MuscleSession(72.0, 5.0, single_joint_share=0.4, mean_reserve=2.0)]
    tau = TAU_MEDIAN_H * np.exp(TAU_LOG_SD * rng.normal(size=400_000))
    scale = np.exp(LOSS_LOG_SD * rng.normal(size=400_000) - LOSS_LOG_SD**2 / 2)
    loss = scale * sum(mean_loss(s) * np.exp(-s.hours_ago / (tau * decay_factor(s))) for s in sessions)
    found = readiness(sessions)
    assert found.p_ready == pytest.approx(np.mean(loss <= 1.0), abs=0.004)
    assert expected_loss(sessions) == pytest.approx(np.mean(loss), rel=0.01)
    assert found.residual_fatigue.value == pytest.approx(np.median(loss), rel=0.01)
    assert found.residual_fatigue.interval.upper == pytest.approx(np.quantile(loss, 0.9), rel=0.01)


def test_readiness_rises_with_every_hour() -> None:
    chances = [p_ready_in([HARD], hours) for hours in range(0, 120, 12)]
    assert chances == sorted(chances)


def test_hours_until_ready_are_where_the_chance_gets_there() -> None:
    hours = readiness([HARD]).hours_until_ready
    assert p_ready_in([HARD], hours.value) == pytest.approx(0.5, abs=1e-6)
    assert p_ready_in([HARD], hours.interval.upper) == pytest.approx(0.9, abs=1e-6)
    assert hours.interval.lower <= hours.value <= hours.interval.upper


@pytest.mark.parametrize(
    "gentler",
    [
        MuscleSession(24.0, 8.0, 0.5, single_joint_share=1.0),
        MuscleSession(24.0, 3.0, 0.5),
        MuscleSession(48.0, 8.0, 0.5),
        MuscleSession(24.0, 8.0, 0.5, mean_reserve=3.0),
    ],
)
def test_fewer_sets_more_time_more_reserve_and_single_joint_lifts_are_recovered_sooner(
    gentler: MuscleSession,
) -> None:
    assert readiness([gentler]).p_ready > readiness([HARD]).p_ready


def test_failure_and_many_sets_lengthen_the_decay_once_and_reserve_shortens_it() -> None:
    assert decay_factor(MuscleSession(1, 4, 1.0)) == pytest.approx(1.4)
    assert decay_factor(MuscleSession(1, 8, 0.0)) == pytest.approx(1.4)
    assert decay_factor(MuscleSession(1, 9, 1.0)) == pytest.approx(1.4)
    assert decay_factor(MuscleSession(1, 4, 0.0, 1.0)) == pytest.approx(0.7)
    assert decay_factor(MuscleSession(1, 4, 0.0, 0.0, 3.0)) == pytest.approx(0.8)


def test_soreness_moves_the_answer_a_little_and_only_a_little() -> None:
    sore, fresh, silent = (readiness([HARD], s).p_ready for s in (7.0, 0.0, None))
    assert sore < silent < fresh
    assert fresh - sore < 0.15


def test_soreness_without_a_session_counts_a_little_and_is_named() -> None:
    sore = readiness([], 10.0)
    assert 0.5 < sore.p_ready < 0.75
    assert [reason.code for reason in sore.reasons] == ["recovery.chance", "recovery.soreness_unlogged"]
    ahead = chances_ahead([], (0.0, 24.0, 96.0), 10.0)
    assert ahead[0] == sore.p_ready < ahead[1] < ahead[2]
    assert sore.residual_fatigue.value > 0.0
    assert readiness([], 2.0).p_ready == readiness([]).p_ready == 1.0
    assert readiness([], 2.0).reasons == readiness([]).reasons


def test_soreness_counts_as_unlogged_sets_only_as_far_as_logged_ones_do_not_explain_it() -> None:
    one_set = readiness([MuscleSession(60.0, 1.0)], 10.0)
    assert readiness([], 10.0).p_ready < one_set.p_ready < 0.85
    assert "recovery.soreness_unlogged" in {reason.code for reason in one_set.reasons}
    enough = readiness([MuscleSession(60.0, 4.0)], 10.0)
    assert "recovery.soreness_weak" in {reason.code for reason in enough.reasons}
    long_ago = readiness([MuscleSession(200.0, 4.0)], 10.0)
    assert "recovery.soreness_unlogged" in {reason.code for reason in long_ago.reasons}


def test_sessions_add_up_and_an_old_one_is_left_out() -> None:
    assert readiness([HARD, MuscleSession(48, 6)]).p_ready < readiness([HARD]).p_ready
    assert readiness([MuscleSession(400, 20)]).basis.observation_count == 0


def test_missing_effort_is_named_and_shortens_nothing() -> None:
    unknown = readiness([MuscleSession(24, 4)])
    assert "recovery.effort_unknown" in {r.code for r in unknown.reasons}
    assert unknown.p_ready < readiness([MuscleSession(24, 4, mean_reserve=3)]).p_ready


@pytest.mark.parametrize("wrong", [MuscleSession(-1, 4), MuscleSession(1, -4), MuscleSession(1, 4, 1.5)])
def test_impossible_sessions_are_refused(wrong: MuscleSession) -> None:
    with pytest.raises(OutsideValidity):
        readiness([wrong])
    with pytest.raises(OutsideValidity):
        readiness([HARD], soreness=11)
