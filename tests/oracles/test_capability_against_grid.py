"""The capability filter against brute force: the whole posterior on a grid, written out again without the filter.

One session, so that drift plays no part and strength and the day's effect enter as their sum. The grid runs over that
sum, ln k and the habit of leaving more in reserve; each set's own noise is integrated by quadrature.
"""

from dataclasses import dataclass
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from service.core.capability import CapabilityPrior, SetEvidence, fold, predict
from service.core.capability.forecast import EXTRAPOLATION_SD
from service.core.curve import CurvePrior, log_ratio_at

pytestmark = pytest.mark.quick

BEND = 0.7
CURVE = CurvePrior(log(32.0), 0.235, BEND, sd_b=0.0)
FIRST = (log(100.0), 0.10)
PRIOR = CapabilityPrior(CURVE, "trained", ln_one_rep_max=FIRST)
SESSION_SD, SET_SD, FATIGUE, FATIGUE_SD = 0.037, 0.014, 0.016 + 0.06 * np.exp(-2.0), 0.010


@dataclass(frozen=True)
class Posterior:
    weight: NDArray[np.float64]
    strength: NDArray[np.float64]
    ln_k: NDArray[np.float64]

    def ln_load(self, repetitions: float) -> tuple[float, float]:
        z = np.log1p(BEND * (repetitions - 1.0) * np.exp(-self.ln_k)) / BEND
        values = self.strength - z
        mean = float(np.sum(self.weight * values))
        return mean, float(np.sqrt(np.sum(self.weight * (values - mean) ** 2)))


def chance(item: SetEvidence, n: NDArray[np.float64], habit: NDArray[np.float64]) -> NDArray[np.float64]:
    if item.to_failure:
        return np.asarray(norm.cdf((n - item.reps) / 0.35) - norm.cdf((n - item.reps - 1.0) / 0.35))
    standardised = (n - habit - item.reps - 2.5) / (1.73 / np.sqrt(2.0))
    usual = (1.0 + standardised**2 / 4.0) ** -2.5
    if item.reps_in_reserve is None:
        return np.asarray(usual)
    reserve = np.maximum(n - item.reps, 0.0)
    share = 1.0 - np.exp(-0.5 * reserve)
    mean, sd = reserve - share, np.sqrt(0.25 + (0.3 * reserve) ** 2 + (0.5 * share) ** 2)
    q = item.reps_in_reserve
    below = 0.0 if q <= 0 else norm.cdf((q - 0.5 - mean) / sd)
    return np.asarray(usual * norm.cdf((n - item.reps) / 0.35) * (norm.cdf((q + 0.5 - mean) / sd) - below))


def brute_force(sets: list[SetEvidence]) -> Posterior:
    strength = np.linspace(FIRST[0] - 0.5, FIRST[0] + 0.5, 201)[:, None, None]
    ln_k = np.linspace(CURVE.mean_ln_k - 1.0, CURVE.mean_ln_k + 1.0, 61)[None, :, None]
    short_of_failure = any(not item.to_failure for item in sets)
    habit = (np.linspace(-7.0, 7.0, 43) if short_of_failure else np.zeros(1))[None, None, :]
    log_weight = norm.logpdf(strength, FIRST[0], np.hypot(FIRST[1], SESSION_SD))
    log_weight = log_weight + norm.logpdf(ln_k, CURVE.mean_ln_k, CURVE.sd_ln_k)
    log_weight = log_weight + (norm.logpdf(habit, 0.0, 1.8) if short_of_failure else 0.0)
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(9)
    for item in sets:
        noise = np.hypot(SET_SD, FATIGUE_SD * item.hard_sets_before)
        z0 = strength - FATIGUE * item.hard_sets_before - log(item.load_kg)
        likelihood = sum(
            w * chance(item, 1.0 + np.exp(ln_k) * np.expm1(BEND * (z0 + noise * x)) / BEND, habit)
            for x, w in zip(nodes, node_weights, strict=True)
        )
        log_weight = log_weight + np.log(likelihood + 1e-300)
    weight = np.exp(log_weight - log_weight.max())
    return Posterior(weight / weight.sum(), strength, ln_k)


CASES = {
    "two sets to failure": [
        SetEvidence(0.0, 0, 80.0, 9, to_failure=True),
        SetEvidence(0.0, 0, 70.0, 13, to_failure=True, hard_sets_before=1.0),
    ],
    "three reports of reserve": [
        SetEvidence(0.0, 0, 75.0, 8, reps_in_reserve=3.0),
        SetEvidence(0.0, 0, 75.0, 8, reps_in_reserve=2.0, hard_sets_before=1.0),
        SetEvidence(0.0, 0, 75.0, 8, reps_in_reserve=1.0, hard_sets_before=2.0),
    ],
    "one report among silent sets": [
        SetEvidence(0.0, 0, 75.0, 8),
        SetEvidence(0.0, 0, 75.0, 8, hard_sets_before=1.0),
        SetEvidence(0.0, 0, 75.0, 8, reps_in_reserve=1.0, hard_sets_before=2.0),
    ],
    "a silent set": [SetEvidence(0.0, 0, 75.0, 8)],
}


@pytest.mark.parametrize("name", list(CASES))
@pytest.mark.parametrize("repetitions", [5.0, 10.0])
def test_load_for_repetitions_agrees_with_the_grid(name: str, repetitions: float) -> None:
    state = fold(CASES[name], PRIOR)
    assert state is not None
    forecast = predict(state, 0.0, session=0)
    mean, sd = forecast.ln_load_for(repetitions, "next_set")
    # The doubt about the curve's family is added by the forecast; the grid knows one family.
    way = log_ratio_at(repetitions, CURVE.mean_ln_k, BEND) - log_ratio_at(
        state.failure_repetitions, CURVE.mean_ln_k, BEND
    )
    added = SET_SD**2 + (EXTRAPOLATION_SD * way) ** 2
    exact_mean, exact_sd = brute_force(CASES[name]).ln_load(repetitions)
    # What moment matching and a linearised curve reach, a third of the uncertainty at most.
    assert abs(mean - exact_mean) < 0.3 * exact_sd
    assert np.sqrt(sd**2 - added) == pytest.approx(exact_sd, rel=0.15)
