"""The capability filter against brute force: the whole posterior on a grid, written out again without the filter.

One session, so that drift plays no part and strength and the day's effect enter as their sum. The grid runs over that
sum, ln k, the habit of leaving more in reserve and what a hard set costs; each set's own noise is integrated by
quadrature.
"""

from dataclasses import dataclass
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from service.core.capability.former import LAYOUT, CapabilityPrior, SetEvidence, fold, predict
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
    fatigue: NDArray[np.float64]

    def of_fatigue(self) -> tuple[float, float]:
        mean = float(np.sum(self.weight * self.fatigue))
        return mean, float(np.sqrt(np.sum(self.weight * (self.fatigue - mean) ** 2)))

    def ln_load(self, repetitions: float) -> tuple[float, float]:
        z = np.log1p(BEND * (repetitions - 1.0) * np.exp(-self.ln_k)) / BEND
        values = self.strength - z
        mean = float(np.sum(self.weight * values))
        return mean, float(np.sqrt(np.sum(self.weight * (values - mean) ** 2)))


def alike(item: SetEvidence, earlier: list[SetEvidence]) -> list[SetEvidence]:
    return [other for other in earlier if (other.load_kg, other.reps) == (item.load_kg, item.reps)]


def chance(
    item: SetEvidence, earlier: list[SetEvidence], n: NDArray[np.float64], habit: NDArray[np.float64]
) -> NDArray[np.float64]:
    repeated = alike(item, earlier)
    effort = (item.reps_in_reserve, item.to_failure)
    power = 0.25 if effort in [(other.reps_in_reserve, other.to_failure) for other in repeated] else 1.0
    if item.to_failure:
        return np.asarray(norm.cdf((n - item.reps) / 0.35) - norm.cdf((n - item.reps - 1.0) / 0.35)) ** power
    standardised = (n - habit - item.reps - 2.5) / (1.73 / np.sqrt(2.0))
    usual = np.ones(np.broadcast(n, habit).shape) if repeated else (1.0 + standardised**2 / 4.0) ** -2.5
    if item.reps_in_reserve is None:
        return np.asarray(usual)
    reserve = np.maximum(n - item.reps, 0.0)
    share = 1.0 - np.exp(-0.5 * reserve)
    mean, sd = reserve - share, np.sqrt(0.25 + (0.3 * reserve) ** 2 + (0.5 * share) ** 2)
    q = item.reps_in_reserve
    below = 0.0 if q <= 0 else norm.cdf((q - 0.5 - mean) / sd)
    told = norm.cdf((n - item.reps) / 0.35) * (norm.cdf((q + 0.5 - mean) / sd) - below)
    return np.asarray(usual * np.maximum(told, 0.0) ** power)


def brute_force(sets: list[SetEvidence]) -> Posterior:
    short_of_failure = any(not item.to_failure for item in sets)
    tired = any(item.hard_sets_before for item in sets)
    strength = np.linspace(FIRST[0] - 0.45, FIRST[0] + 0.45, 91)[:, None, None, None]
    ln_k = np.linspace(CURVE.mean_ln_k - 0.9, CURVE.mean_ln_k + 0.9, 31)[None, :, None, None]
    habit = (np.linspace(-6.0, 6.0, 19) if short_of_failure else np.zeros(1))[None, None, :, None]
    fatigue = (np.linspace(-0.6, 2.6, 17) if tired else np.ones(1))[None, None, None, :]
    log_weight = norm.logpdf(strength, FIRST[0], np.hypot(FIRST[1], SESSION_SD))
    log_weight = log_weight + norm.logpdf(ln_k, CURVE.mean_ln_k, CURVE.sd_ln_k)
    log_weight = log_weight + norm.logpdf(habit, 0.0, 1.8) + norm.logpdf(fatigue, 1.0, FATIGUE_SD / 0.024)
    nodes, node_weights = np.polynomial.hermite_e.hermegauss(5)
    for position, item in enumerate(sets):
        z0 = strength - FATIGUE * fatigue * item.hard_sets_before - log(item.load_kg)
        likelihood = sum(
            w
            * chance(
                item, sets[:position], 1.0 + np.exp(ln_k) * np.expm1(BEND * (z0 + SET_SD * x)) / BEND, habit
            )
            for x, w in zip(nodes, node_weights, strict=True)
        )
        log_weight = log_weight + np.log(likelihood + 1e-300)
    weight = np.exp(log_weight - log_weight.max())
    return Posterior(weight / weight.sum(), strength, ln_k, fatigue)


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
    "one report copied twice": [
        SetEvidence(0.0, 0, 75.0, 8, reps_in_reserve=2.0, hard_sets_before=float(i)) for i in range(3)
    ],
    "repetitions to failure that fall fast": [
        SetEvidence(0.0, 0, 80.0, reps, to_failure=True, hard_sets_before=float(i))
        for i, reps in enumerate((11, 9, 7))
    ],
    "repetitions to failure that hardly fall": [
        SetEvidence(0.0, 0, 80.0, reps, to_failure=True, hard_sets_before=float(i))
        for i, reps in enumerate((9, 9, 8))
    ],
}


FALLING = "repetitions to failure that fall fast"
#: A fall of two repetitions a set says that k is large, too; the curve, linearised at the fall that was predicted,
#: hears less of it: 1 % of the load for five repetitions is missed here.
MISSED = pytest.mark.xfail(reason="linearised at the predicted fall", strict=True)


@pytest.mark.parametrize(
    ("name", "repetitions"),
    [
        pytest.param(name, repetitions, marks=[MISSED] if (name, repetitions) == (FALLING, 5.0) else [])
        for name in CASES
        for repetitions in (5.0, 10.0)
    ],
)
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


TIRED = [name for name, sets in CASES.items() if name != "one report among silent sets" and len(sets) > 1]


@pytest.mark.parametrize("name", TIRED)
def test_what_a_hard_set_costs_agrees_with_the_grid(name: str) -> None:
    state = fold(CASES[name], PRIOR)
    assert state is not None
    exact_mean, exact_sd = brute_force(CASES[name]).of_fatigue()
    fatigue = LAYOUT.index("fatigue")
    assert abs(state.mean[fatigue] - exact_mean) < 0.3 * exact_sd
    assert np.sqrt(state.covariance[fatigue, fatigue]) == pytest.approx(exact_sd, rel=0.15)
