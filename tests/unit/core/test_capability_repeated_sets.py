"""The capability filter on logs that repeat themselves: the same sets, session after session."""

from collections.abc import Sequence

import numpy as np
import pytest

from service.core.capability import (
    AthleteModel,
    AthleteState,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    Training,
    begin,
    fold,
    forecast,
)
from service.core.capability.layout import BEND, GLOBAL_COUNT, LN_K, OWN_TIRING, TIRING
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

BENCH = CURVE_PRIORS["bench"]
#: Two sessions a week.
GAP = 3.5
FEW, MANY = 3, 55
LIFT = "lift"
MODEL = AthleteModel({LIFT: SeriesPrior(BENCH, one_sided=True)}.__getitem__, lambda *_: 0.0)
Reserves = tuple[float | None, ...]


def repeated(
    sessions: int,
    reserves: Reserves,
    reps: Sequence[int] = (8, 8, 8, 8),
    training: Training = "trained",
    to_failure: bool = False,
) -> AthleteState:
    visits = [
        SessionEvidence(
            GAP * session,
            tuple(
                SetEvidence(LIFT, 80.0, reps[i], told, to_failure=to_failure)
                for i, told in enumerate(reserves)
            ),
        )
        for session in range(sessions)
    ]
    return fold(begin(training), visits, MODEL)


def known(state: AthleteState) -> CapabilityForecast:
    answer = forecast(state, LIFT, float(state.athlete[1]) + GAP)
    assert answer is not None
    return answer


def maximum(state: AthleteState) -> float:
    return known(state).one_rep_max().value


def believed(state: AthleteState, place: int) -> float:
    """Return the mean of one number of the joint, over the hypotheses."""
    joint = known(state).joint
    return float(joint.weights @ joint.means[:, place])


def tiring(state: AthleteState) -> float:
    """Return what a hard set costs as a multiple of what is usual."""
    joint = known(state).joint
    return believed(state, OWN_TIRING) + believed(state, joint.used + TIRING)


SILENT: Reserves = (None,) * 4


@pytest.mark.parametrize("training", ["trained", "unknown", "novice"])
@pytest.mark.parametrize(
    ("reserves", "most"),
    [
        ((2.0,) * 4, 0.04),
        ((None, 2.0, None, 2.0), 0.05),
        ((None, None, None, 1.0), 0.05),
    ],
)
def test_the_maximum_stays_while_the_log_does(training: Training, reserves: Reserves, most: float) -> None:
    few, many = (maximum(repeated(n, reserves, training=training)) for n in (FEW, MANY))
    assert many == pytest.approx(few, rel=most)


@pytest.mark.parametrize("training", ["trained", "unknown", "novice"])
def test_the_maximum_stays_while_a_silent_log_does(training: Training) -> None:
    few, many = (maximum(repeated(n, SILENT, training=training)) for n in (FEW, MANY))
    assert many == pytest.approx(few, rel=0.05)


@pytest.mark.parametrize(
    ("sessions", "reserves"),
    [
        *[(n, (2.0,) * 4) for n in (1, FEW, 10, 30, MANY)],
        *[(n, SILENT) for n in (1, FEW, 10, 30, MANY)],
    ],
)
@pytest.mark.parametrize("training", ["trained", "unknown"])
def test_one_load_and_one_count_tell_nothing_of_the_curve(
    sessions: int, reserves: Reserves, training: Training
) -> None:
    state = repeated(sessions, reserves, training=training)
    assert abs(believed(state, LN_K) - BENCH.mean_ln_k) < 0.5 * BENCH.sd_ln_k
    assert abs(believed(state, BEND) - BENCH.b) < 0.5 * BENCH.sd_b


def test_eight_repetitions_with_two_left_give_one_maximum_throughout() -> None:
    # 80 kg x 8 with 2 in reserve is about 10 to 11 to failure: 106 to 113 kg on this class's curve.
    assert all(106.0 < maximum(repeated(n, (2.0,) * 4)) < 113.0 for n in (1, FEW, 10, 30, MANY))


#: Measured over 55 visits: 109 to 103 kg. A curve on which a set's tiring costs more repetitions says the same as sets that
#: tire more.
TOLD_DRIFT = pytest.mark.xfail(reason="reserves told to fall within each session bend the curve", strict=True)


@pytest.mark.parametrize(
    ("reps", "reserves"),
    [
        ((8, 8, 8, 8), (3.0, 2.0, 1.0, 0.0)),
        pytest.param((8, 8, 8, 8), (3.0, 3.0, 2.0, 1.0), marks=TOLD_DRIFT),
        ((10, 10, 10, 8), (3.0, 2.0, 1.0, 0.0)),
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
    steady = known(repeated(30, (None,) * 4, to_failure=True))
    lost = steady.repetitions_at(80.0).median - steady.repetitions_at(80.0, hard_sets_before=3.0).median
    assert lost < 1.0


def test_an_athlete_whose_repetitions_fall_fast_is_expected_to_lose_them() -> None:
    steady, falling = (repeated(8, (None,) * 3, reps, to_failure=True) for reps in ((10, 9, 9), (10, 7, 5)))
    assert tiring(steady) < 1.0 < tiring(falling)


def test_silent_copies_tell_nothing_of_tiredness() -> None:
    assert tiring(repeated(MANY, (None,) * 4, training="novice")) == pytest.approx(1.0, abs=0.1)


def test_a_copied_report_says_less_than_one_of_its_own() -> None:
    def sd(second: float) -> float:
        visit = SessionEvidence(0.0, tuple(SetEvidence(LIFT, load, 8, 2.0) for load in (80.0, second)))
        answer = forecast(fold(begin("trained"), [visit], MODEL), LIFT, 0.0, same_session=True)
        assert answer is not None
        return answer.ln_load_for(10.0)[1]

    assert sd(80.0) > sd(80.001)


def test_a_copy_is_looked_for_in_its_own_session_and_on_its_own_side() -> None:
    def precision(second: Side) -> float:
        visit = SessionEvidence(
            0.0, tuple(SetEvidence(LIFT, 80.0, 8, 2.0, side=side) for side in ("left", second))
        )
        state = fold(begin("trained"), [visit], MODEL)
        joint = known(state).joint
        covariance = joint.covariances[0]
        assert covariance.shape[0] == joint.used + GLOBAL_COUNT
        return -float(np.linalg.slogdet(covariance)[1])

    assert precision("right") > precision("left")
