"""The filter against brute force: three sets of one session, the posterior of strength and ln k on a grid.

Of the athlete's shared numbers and the day nothing is in doubt here, so that two dimensions are the whole posterior;
each set's own noise is integrated by quadrature. Written out again from the model, without the filter's code.
"""

from dataclasses import dataclass, replace
from math import exp, log, nan, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from service.core.capability.absorbing import absorb
from service.core.capability.hub import join
from service.core.capability.layout import (
    BEND,
    C_LIKENESS,
    C_LN_LOAD,
    C_REPS,
    C_RESERVE,
    C_REST,
    C_TO_FAILURE,
    COLUMN_COUNT,
    GLOBAL_COUNT,
    JOINT_COUNT,
    LN_K,
    LOCAL_COUNT,
    LOCALS_BOTH,
    SETUP_SLOTS,
    STRENGTH,
)
from service.core.capability.parameters import TRAINED, table_of
from service.core.capability.stepping import begin_globals, begin_series

pytestmark = pytest.mark.quick

Array = NDArray[np.float64]
CERTAIN = replace(
    TRAINED, day_sd=0.0, bias_sd=0.0, habit_sd=0.0, person_ln_k_sd=0.0, tiring_sd=0.0, own_tiring_sd=0.0,
    trend_sd=0.0, drift_sd=0.0, stop_sd=0.0,
)  # fmt: skip
MEAN, MEAN_SD, MEAN_LN_K, LN_K_SD, CURVE_BEND = log(100.0), 0.10, log(32.0), 0.235, 0.7
#: A report that repeats an earlier set's load and repetitions: where one stops is not asked again.
REPEATED = 1.0


@dataclass(frozen=True)
class Set:
    load_kg: float
    reps: float
    told: float | None = None
    tired: float = 0.0

    def likelihood(self, n: Array) -> Array:
        if self.told is None:
            edges = [norm.cdf((n - self.reps - more) / CERTAIN.count_sd) for more in (0.0, 1.0)]
            return np.asarray(edges[0] - edges[1])
        reserve = np.maximum(n - self.reps, 0.0)
        mean = (1.0 - CERTAIN.report_share) * reserve + CERTAIN.bias * (1.0 - np.exp(-0.5 * reserve))
        sd = np.sqrt(CERTAIN.report_sd_at_failure**2 + (CERTAIN.report_sd_slope * reserve) ** 2)
        below = norm.cdf((self.told - 0.5 - mean) / sd) if self.told > 0.0 else 0.0
        return np.asarray(norm.cdf((self.told + 0.5 - mean) / sd) - below)

    def row(self) -> Array:
        row = np.zeros(COLUMN_COUNT)
        row[C_LN_LOAD], row[C_REPS], row[C_REST] = log(self.load_kg), self.reps, nan
        row[C_RESERVE], row[C_TO_FAILURE] = (nan, 1.0) if self.told is None else (self.told, 0.0)
        row[C_LIKENESS] = REPEATED
        return row


@dataclass(frozen=True)
class Belief:
    """Means and sds of the log strength, ln k and the log of the load for five and for ten repetitions."""

    means: Array
    sds: Array


def filtered(sets: list[Set]) -> Belief:
    constants = table_of([CERTAIN])[0]
    g, p = np.zeros(GLOBAL_COUNT), np.zeros((GLOBAL_COUNT, GLOBAL_COUNT))
    a, b, c = (
        np.zeros(LOCAL_COUNT),
        np.zeros((LOCAL_COUNT, GLOBAL_COUNT)),
        np.zeros((LOCAL_COUNT, LOCAL_COUNT)),
    )
    begin_globals(constants, g, p, 0.0)
    prior = np.array([MEAN_LN_K, LN_K_SD, CURVE_BEND, 0.0, 0.0, 0.0, nan, nan])
    begin_series(MEAN, MEAN_SD, prior, np.zeros((SETUP_SLOTS, 2)), constants, 0.0, a, b, c)
    mean, cov = np.zeros(JOINT_COUNT), np.zeros((JOINT_COUNT, JOINT_COUNT))
    h, tied = np.zeros(JOINT_COUNT), np.zeros(JOINT_COUNT)
    join(LOCALS_BOTH, a, b, c, g, p, mean, cov)
    for item in sets:
        absorb(LOCALS_BOTH, item.row(), item.tired, 0.0, 0.0, 0.0, False, constants, mean, cov, h, tied)
    assert mean[BEND] == CURVE_BEND
    two = np.ix_([STRENGTH, LN_K], [STRENGTH, LN_K])
    nodes, weights = np.polynomial.hermite_e.hermegauss(15)
    spots = np.array([(x, y) for x in nodes for y in nodes]) @ np.linalg.cholesky(cov[two]).T
    strength, ln_k = (mean[[STRENGTH, LN_K]] + spots).T
    return belief(strength, ln_k, np.outer(weights, weights).ravel())


def belief(strength: Array, ln_k: Array, weight: Array) -> Belief:
    loads = [strength - np.log1p(CURVE_BEND * (n - 1.0) * np.exp(-ln_k)) / CURVE_BEND for n in (5.0, 10.0)]
    values = np.array([np.broadcast_to(v, weight.shape).ravel() for v in (strength, ln_k, *loads)])
    share = weight.ravel() / weight.sum()
    means = values @ share
    return Belief(means, np.sqrt((values - means[:, None]) ** 2 @ share))


def brute_force(sets: list[Set]) -> Belief:
    strength = np.linspace(MEAN - 0.6, MEAN + 0.6, 481)[:, None]
    ln_k = np.linspace(MEAN_LN_K - 1.2, MEAN_LN_K + 1.2, 161)[None, :]
    log_weight = norm.logpdf(strength, MEAN, MEAN_SD) + norm.logpdf(ln_k, MEAN_LN_K, LN_K_SD)
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(9)
    for item in sets:
        z = strength - item.tired - log(item.load_kg)
        total = CERTAIN.outlier * np.ones(log_weight.shape)
        for x, w in zip(nodes, node_weights / node_weights.sum(), strict=True):
            n = 1.0 + np.exp(ln_k) * np.expm1(CURVE_BEND * (z + CERTAIN.set_sd * x)) / CURVE_BEND
            total = total + w * item.likelihood(n)
        log_weight = log_weight + np.log(total)
    return belief(strength, ln_k, np.exp(log_weight - log_weight.max()))


CASES = {
    "three failures with one load": [Set(80.0, 10), Set(80.0, 9, tired=0.024), Set(80.0, 8, tired=0.048)],
    "failures with three loads": [Set(90.0, 4), Set(80.0, 9, tired=0.024), Set(65.0, 16, tired=0.048)],
    "failures of a lifter of much endurance": [
        Set(90.0, 6),
        Set(80.0, 13, tired=0.024),
        Set(65.0, 24, tired=0.048),
    ],
    "reports of three, two and one": [Set(75.0, 8, 3.0), Set(75.0, 8, 2.0, 0.024), Set(75.0, 8, 1.0, 0.048)],
    "a report, a failure, a report": [
        Set(75.0, 8, 3.0),
        Set(80.0, 9, None, 0.024),
        Set(70.0, 12, 2.0, 0.048),
    ],
}


ENDURANCE = "failures of a lifter of much endurance"
#: What moment matching on a curve linearised at the expected repetitions reaches, in posterior sds and as a share.
MEAN_OFF, SD_OFF = 0.45, 0.20
NAMES = ("strength", "ln_k", "load for 5", "load for 10")


@pytest.mark.parametrize("name", [name for name in CASES if name != ENDURANCE])
def test_strength_curve_and_loads_agree_with_the_grid(name: str) -> None:
    own, exact = filtered(CASES[name]), brute_force(CASES[name])
    off = (own.means - exact.means) / exact.sds
    assert np.abs(off).max() < MEAN_OFF, dict(zip(NAMES, off, strict=True))
    np.testing.assert_allclose(own.sds, exact.sds, rtol=SD_OFF)


@pytest.mark.xfail(
    reason="the curve is linearised where the class expects the set, two sds of ln k away", strict=True
)
def test_much_endurance_is_seen_as_the_grid_sees_it() -> None:
    # Measured: ln k 0.37 sd low, the load for 10 repetitions 1.1 sd (1.2 %) high.
    own, exact = filtered(CASES[ENDURANCE]), brute_force(CASES[ENDURANCE])
    assert np.abs((own.means - exact.means) / exact.sds).max() < MEAN_OFF


def test_much_endurance_is_seen_at_least_to_two_percent_of_the_load() -> None:
    own, exact = filtered(CASES[ENDURANCE]), brute_force(CASES[ENDURANCE])
    assert abs(exp(own.means[3] - exact.means[3]) - 1.0) < 0.02
    assert own.means[1] > MEAN_LN_K + LN_K_SD


def test_sets_narrow_what_was_believed_of_strength() -> None:
    for sets in CASES.values():
        assert filtered(sets).sds[0] < sqrt(0.5) * MEAN_SD
