"""Sides against independent computations: mixed models of statsmodels, quadrature, brute-force grids."""

import warnings
from math import sqrt

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, stats
from statsmodels.regression.mixed_linear_model import MixedLM

from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.girths import within_sd
from service.core.symmetry.posterior import SidePrior, SideReading, condition

pytestmark = pytest.mark.quick
SCALE = 0.03
FIRST, SECOND = (62.0, 78.0, 81.0, 55.0, 66.0), (67.0, 76.0, 87.0, 55.0, 63.0)


def fitted(values: np.ndarray, *, trials: bool) -> tuple[float, float, np.ndarray]:
    """Return REML sd between and within people, and what is foretold of each beyond the mean; a row a person."""
    people, count = values.shape
    told = pd.DataFrame(
        {
            "y": values.ravel(),
            "person": np.repeat(np.arange(people), count),
            "trial": np.tile(np.arange(count), people),
        }
    )
    formula = "y ~ C(trial)" if trials else "y ~ 1"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = MixedLM.from_formula(formula, told, groups="person").fit(reml=True)
    effects = np.array([float(found.random_effects[p].iloc[0]) for p in range(people)])
    return float(np.sqrt(found.cov_re.iloc[0, 0])), float(np.sqrt(found.scale)), effects


def test_the_residual_of_a_mixed_model_is_the_typical_error_and_its_ratio_the_icc() -> None:
    """TE 2.889637, ICC(3,1) 0.938399 on Hopkins' two trials: SD of the differences over sqrt(2), by REML to 1e-3."""
    between, within, _ = fitted(np.column_stack((FIRST, SECOND)), trials=True)
    differences = np.array(SECOND) - np.array(FIRST)
    typical, _ = within_sd(zip(np.array(FIRST) + differences.mean(), SECOND, strict=True))
    assert within == pytest.approx(2.889637, abs=1e-3)
    # Five people, one shift fitted: within_sd divides by 5, the typical error by 4.
    assert typical * sqrt(5 / 4) == pytest.approx(2.889637, abs=1e-6)
    assert between**2 / (between**2 + within**2) == pytest.approx(0.938399, abs=1e-3)


def test_shrinking_a_reading_is_the_mixed_models_prediction_of_a_person() -> None:
    """The conjugate posterior with the fitted variances is the best linear unbiased prediction: -4.373255 for the first."""
    values = np.column_stack((FIRST, SECOND))
    between, within, effects = fitted(values, trials=False)
    middle = float(values.mean())
    ours = [condition(float(row.mean()) - middle, within**2 / 2, SidePrior(sd=between))[0] for row in values]
    np.testing.assert_allclose(ours, effects, atol=1e-4)
    assert ours[0] == pytest.approx(-4.373255, abs=2e-3)


def test_the_error_within_visits_is_the_mixed_models_residual() -> None:
    """Sixty visits of three tape readings with an error of 1.25 %: the pooled sd is REML's, to its own precision."""
    rng = np.random.default_rng(8)
    values = rng.normal(3.5, 0.04, (60, 1)) + rng.normal(0.0, 0.0125, (60, 3))
    pooled, freedom = within_sd(values.tolist())
    _, within, _ = fitted(values, trials=False)
    assert freedom == 120
    assert pooled == pytest.approx(within, rel=1e-4)


@pytest.mark.parametrize(
    ("t", "sd", "prior"), [(0.08, 0.03, SidePrior(0.0, 0.05)), (-0.3, 0.06, SidePrior(0.0, 0.2))]
)
def test_the_posterior_of_one_reading_agrees_with_quadrature(t: float, sd: float, prior: SidePrior) -> None:
    def density(x: float) -> float:
        return float(stats.norm.pdf(t, x, sd) * stats.norm.pdf(x, prior.mean, prior.sd))

    def mass(low: float, high: float) -> float:
        return float(integrate.quad(density, low, high, points=[t], epsabs=1e-13, limit=200)[0])

    whole = mass(-1.5, 1.5)
    mean = integrate.quad(lambda x: x * density(x), -1.5, 1.5, points=[t], epsabs=1e-13, limit=200)[0] / whole
    found = side_posterior([SideReading("a", "strength", t, sd**2, 4)], prior=prior)
    assert found.t.value == pytest.approx(mean, abs=1e-9)
    assert found.p_right_ahead == pytest.approx(mass(0.0, 1.5) / whole, abs=1e-8)
    assert found.p_left_ahead == pytest.approx(mass(-1.5, 0.0) / whole, abs=1e-8)
    inside = mass(found.t.interval.lower, found.t.interval.upper) / whole
    assert inside == pytest.approx(0.8, abs=1e-8)


def test_a_pooled_posterior_agrees_with_a_brute_force_grid_where_lifts_disagree() -> None:
    readings = [(0.14, 0.02), (0.01, 0.015), (0.05, 0.04), (-0.02, 0.03)]
    t = np.linspace(-0.4, 0.4, 3201)[:, None]
    spread = np.linspace(1e-5, 0.24, 2400)[None, :]
    ln_density = -0.5 * ((t / 0.05) ** 2 + (spread / SCALE) ** 2)
    for value, sd in readings:
        variance = sd**2 + spread**2
        ln_density = ln_density - 0.5 * ((value - t) ** 2 / variance + np.log(variance))
    density = np.exp(ln_density - ln_density.max())
    marginal = density.sum(axis=1) / density.sum()
    mean = float((marginal * t[:, 0]).sum())
    told = [SideReading(str(n), "strength", value, sd**2, 5) for n, (value, sd) in enumerate(readings)]
    found = side_posterior(told, prior=SidePrior(sd=0.05), between_exercises_scale=SCALE)
    assert found.t.value == pytest.approx(mean, abs=5e-4)
    assert found.t.sd == pytest.approx(float(np.sqrt((marginal * (t[:, 0] - mean) ** 2).sum())), abs=8e-4)
    assert found.p_beyond == pytest.approx(float(marginal[np.abs(t[:, 0]) > 0.05].sum()), abs=5e-3)
