"""A turn of all lifts at once: what is believed of each lift stays as it is, only what comes is freed."""

import numpy as np
import pytest
from numpy.typing import NDArray

from service.core.capability import (
    AthleteModel,
    AthleteState,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    fold,
)
from service.core.capability.layout import DRIFT, LOCAL_COUNT, TREND
from service.core.capability.looking_back import LOOKING_BACK, OF_BOTH_LIMBS, begin_looking_back, split
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick
BENCH = CURVE_PRIORS["bench"]


def test_a_freed_trend_leaves_what_is_believed_of_every_lift_as_it_was() -> None:
    model = AthleteModel(lambda _: SeriesPrior(BENCH), lambda *_: 0.0, "trained")
    sessions = [
        SessionEvidence(3.5 * number, (SetEvidence("press", 70.0 + number, 8, 2.0),)) for number in range(10)
    ]
    state = fold(begin_looking_back("trained"), sessions, model, LOOKING_BACK)
    apart = split(state, OF_BOTH_LIMBS)
    for at, one in enumerate(OF_BOTH_LIMBS):
        before, after = joint_of_series(state, one.before), joint_of_series(apart, at)
        free = after[1] - before[1]
        assert after[0] == pytest.approx(before[0], abs=1e-12)
        assert free[DRIFT, DRIFT] == pytest.approx(one.new_drift_sd**2, abs=1e-12)
        assert free[LOCAL_COUNT + TREND, LOCAL_COUNT + TREND] >= one.new_trend_sd**2 * (1.0 - 1e-9)
        free[DRIFT, DRIFT] = free[LOCAL_COUNT + TREND, LOCAL_COUNT + TREND] = 0.0
        assert np.abs(free).max() < 1e-10


def joint_of_series(state: AthleteState, hypothesis: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return joint mean and covariance of a state's first series and the globals under a hypothesis."""
    g, p = state.globals_mean[hypothesis], state.globals_covariance[hypothesis]
    offset, slope, spread = (getattr(state, name)[hypothesis, 0] for name in ("offset", "slope", "spread"))
    crossing = slope @ p
    cov = np.block([[spread + crossing @ slope.T, crossing], [crossing.T, p]])
    return np.concatenate([offset + slope @ g, g]), cov
