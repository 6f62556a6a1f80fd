"""The capability filter on logs that repeat themselves: the same sets, session after session."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from service.core.capability.former import (
    LAYOUT,
    CapabilityPrior,
    CapabilityState,
    SetEvidence,
    Training,
    fold,
    predict,
)
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

BENCH = CURVE_PRIORS["bench"]
#: Two sessions a week.
GAP = 3.5
LN_K, BEND, FATIGUE = (LAYOUT.index(name) for name in ("ln_k", "bend", "fatigue"))
FEW, MANY = 3, 55
Reserves = tuple[float | None, ...]


def repeated(
    sessions: int,
    reserves: Reserves,
    reps: Sequence[int] = (8, 8, 8, 8),
    tired: bool = True,
    training: Training = "trained",
    to_failure: bool = False,
) -> CapabilityState:
    sets = [
        SetEvidence(
            GAP * session,
            session,
            80.0,
            reps[i],
            reps_in_reserve=reserve,
            to_failure=to_failure,
            hard_sets_before=float(i) if tired else 0.0,
        )
        for session in range(sessions)
        for i, reserve in enumerate(reserves)
    ]
    state = fold(sets, CapabilityPrior(BENCH, training))
    assert state is not None
    return state


def maximum(state: CapabilityState) -> float:
    return predict(state, state.day + GAP).one_rep_max().value


@pytest.mark.parametrize("training", ["trained", "unknown", "novice"])
@pytest.mark.parametrize("tired", [True, False])
@pytest.mark.parametrize(
    ("reserves", "most"),
    [
        ((2.0,) * 4, 0.04),
        ((None,) * 4, 0.05),
        ((None, 2.0, None, 2.0), 0.05),
        ((None, None, None, 1.0), 0.05),
    ],
)
def test_the_maximum_stays_while_the_log_does(
    training: Training, tired: bool, reserves: Reserves, most: float
) -> None:
    few, many = (maximum(repeated(n, reserves, tired=tired, training=training)) for n in (FEW, MANY))
    assert many == pytest.approx(few, rel=most)


@pytest.mark.parametrize("sessions", [1, FEW, 10, 30, MANY])
@pytest.mark.parametrize("reserves", [(2.0,) * 4, (None,) * 4])
@pytest.mark.parametrize("training", ["trained", "unknown"])
def test_one_load_and_one_count_tell_nothing_of_the_curve(
    sessions: int, reserves: Reserves, training: Training
) -> None:
    state = repeated(sessions, reserves, training=training)
    assert abs(state.mean[LN_K] - BENCH.mean_ln_k) < 0.5 * BENCH.sd_ln_k
    assert abs(state.mean[BEND] - BENCH.b) < 0.5 * BENCH.sd_b


def test_eight_repetitions_with_two_left_give_one_maximum_throughout() -> None:
    # 80 kg x 8 with 2 in reserve is about 10 to 11 to failure: 106 to 113 kg on this class's curve.
    assert all(106.0 < maximum(repeated(n, (2.0,) * 4)) < 113.0 for n in (1, FEW, 10, 30, MANY))


@pytest.mark.parametrize(
    ("reps", "reserves"),
    [
        ((8, 8, 8, 8), (3.0, 2.0, 1.0, 0.0)),
        ((8, 8, 8, 8), (3.0, 3.0, 2.0, 1.0)),
        ((10, 10, 10, 8), (None,) * 4),
        ((10, 9, 8, 7), (None,) * 4),
    ],
)
def test_planned_repetitions_that_leave_less_and_less_do_not_bend_the_curve(
    reps: Sequence[int], reserves: Reserves
) -> None:
    few, many = (maximum(repeated(n, reserves, reps)) for n in (FEW, MANY))
    assert many == pytest.approx(few, rel=0.04)


def test_copied_failures_do_not_bend_the_curve_either() -> None:
    few, many = (maximum(repeated(n, (None,) * 4, to_failure=True)) for n in (FEW, MANY))
    assert many == pytest.approx(few, rel=0.04)


def test_an_athlete_whose_repetitions_do_not_fall_is_expected_to_keep_them() -> None:
    state = repeated(30, (2.0,) * 4)
    assert state.mean[FATIGUE] < 0.5
    soon = predict(state, state.day + GAP)
    assert soon.repetitions_at(80.0).median - soon.repetitions_at(80.0, hard_sets_before=3.0).median < 1.0


def test_an_athlete_whose_repetitions_fall_fast_is_expected_to_lose_them() -> None:
    steady, falling = (repeated(8, (None,) * 3, reps, to_failure=True) for reps in ((10, 9, 9), (10, 7, 5)))
    assert steady.mean[FATIGUE] < 1.0 < falling.mean[FATIGUE]


def test_silent_copies_tell_nothing_of_tiredness() -> None:
    state = repeated(MANY, (None,) * 4, training="novice")
    assert state.mean[FATIGUE] == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("to_failure", [True, False])
def test_a_copy_says_less_than_a_set_of_its_own(to_failure: bool) -> None:
    def sd(second: float) -> float:
        sets = [
            SetEvidence(0.0, 0, load, 8, reps_in_reserve=None if to_failure else 2.0, to_failure=to_failure)
            for load in (80.0, second)
        ]
        state = fold(sets, CapabilityPrior(BENCH, "trained"))
        assert state is not None
        answer = predict(state, 0.0, session=0).load_for(10.0)
        return answer.sd / answer.value

    assert sd(80.0) > sd(80.001)


def test_a_copy_is_looked_for_in_its_own_session_and_on_its_own_side() -> None:
    def precision(change: Callable[[SetEvidence], SetEvidence]) -> float:
        first = SetEvidence(0.0, 0, 80.0, 8, reps_in_reserve=2.0, side="left")
        state = fold([first, change(first)], CapabilityPrior(BENCH, "trained"))
        assert state is not None
        return float(np.linalg.slogdet(np.linalg.inv(state.covariance))[1])

    def same_side(item: SetEvidence) -> SetEvidence:
        return SetEvidence(0.0, 0, 80.0, 8, reps_in_reserve=2.0, side=item.side)

    def other_side(item: SetEvidence) -> SetEvidence:
        return SetEvidence(0.0, 0, 80.0, 8, reps_in_reserve=2.0, side="right")

    assert precision(other_side) > precision(same_side)
