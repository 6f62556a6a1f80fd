"""The smoother behind trends against statsmodels and against one large Gaussian that holds all days at once."""

from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from statsmodels.datasets import nile
from statsmodels.regression.linear_model import GLS
from statsmodels.tsa.statespace.structural import UnobservedComponents

from service.core.capability.retrospect import Passage, Smoothed, smooth_jointly
from service.core.trend import Change, common_change

pytestmark = pytest.mark.quick

Array = NDArray[np.float64]
NOISE, LEVEL, SLOPE = 15099.0, 1469.1, 40.0
CARRY = np.array([[1.0, 1.0], [0.0, 1.0]])
WALK = np.diag([LEVEL, SLOPE])
START = np.diag([1e5, 1e3])
LEVEL_ONLY = np.array([1.0, 0.0])


def flow() -> Array:
    return np.asarray(nile.load_pandas().data["volume"], dtype=np.float64)[:40]


def smoothed(seen: Array) -> Smoothed:
    """Filter a local linear trend by hand, and smooth it as trends are."""
    mean, covariance = np.array([1000.0, 0.0]), START
    passages, held = [], []
    for value in seen:
        gain = covariance @ LEVEL_ONLY / (covariance[0, 0] + NOISE)
        mean = mean + gain * (value - mean[0])
        covariance = covariance - np.outer(gain, LEVEL_ONLY @ covariance)
        held.append((mean, covariance))
        mean, covariance = CARRY @ mean, CARRY @ covariance @ CARRY.T + WALK
    for before, _ in pairwise(held):
        expected = CARRY @ before[1] @ CARRY.T + WALK
        passages.append(Passage(*before, CARRY, CARRY @ before[0], expected))
    return smooth_jointly(passages, *held[-1])


def reference(seen: Array) -> object:
    model = UnobservedComponents(seen, "lltrend")
    model.ssm.initialize_known(np.array([1000.0, 0.0]), START)
    return model.smooth([NOISE, LEVEL, SLOPE])


def one_gaussian(seen: Array) -> tuple[Array, Array]:
    """Return mean and covariance of all levels given all flows, by conditioning one joint Gaussian."""
    count = len(seen)
    powers = [np.linalg.matrix_power(CARRY, n) for n in range(count)]
    joint = np.zeros((2 * count, 2 * count))
    covariance = START
    for early in range(count):
        for later in range(early, count):
            block = powers[later - early] @ covariance
            joint[2 * later : 2 * later + 2, 2 * early : 2 * early + 2] = block
            joint[2 * early : 2 * early + 2, 2 * later : 2 * later + 2] = block.T
        covariance = CARRY @ covariance @ CARRY.T + WALK
    levels = joint[::2, ::2]
    gain = levels @ np.linalg.inv(levels + NOISE * np.eye(count))
    prior = np.array([(power @ [1000.0, 0.0])[0] for power in powers])
    return prior + gain @ (seen - prior), levels - gain @ levels


def test_means_covariances_and_ties_between_days_are_those_of_statsmodels() -> None:
    seen = flow()
    own, theirs = smoothed(seen), reference(seen)
    np.testing.assert_allclose(own.means.T, theirs.smoothed_state, rtol=1e-8)  # type: ignore[attr-defined]
    np.testing.assert_allclose(
        own.covariances.transpose(1, 2, 0),
        theirs.smoothed_state_cov,  # type: ignore[attr-defined]
        rtol=1e-8,
    )
    lagged = own.across(LEVEL_ONLY)
    tied = theirs.smoother_results.smoothed_state_autocovariance(1)[0, 0, 1:]  # type: ignore[attr-defined]
    np.testing.assert_allclose(lagged[range(1, 40), range(39)], tied, rtol=1e-8)


def test_a_change_has_the_variance_of_one_gaussian_over_all_days() -> None:
    seen = flow()
    own, (mean, covariance) = smoothed(seen), one_gaussian(seen)
    between = own.across(LEVEL_ONLY)
    np.testing.assert_allclose(own.means[:, 0], mean, rtol=1e-8)
    np.testing.assert_allclose(between, covariance, rtol=1e-7)
    change = between[0, 0] + between[-1, -1] - 2.0 * between[0, -1]
    assert change == pytest.approx(covariance[0, 0] + covariance[-1, -1] - 2.0 * covariance[0, -1], rel=1e-8)


def test_neighbouring_days_taken_for_independent_would_be_wrong_by_a_third() -> None:
    between = smoothed(flow()).across(LEVEL_ONLY)
    joint = between[20, 20] + between[22, 22] - 2.0 * between[20, 22]
    assert joint < 0.67 * (between[20, 20] + between[22, 22])


def test_the_tie_with_the_last_day_is_the_last_column() -> None:
    own = smoothed(flow())
    tied = own.with_end(LEVEL_ONLY)
    np.testing.assert_allclose(tied @ LEVEL_ONLY, own.across(LEVEL_ONLY)[:, -1], rtol=1e-9)


def test_lifts_are_pooled_as_generalised_least_squares_does() -> None:
    means, variances, spread = np.array([0.03, 0.01, 0.05]), np.array([4e-4, 1e-4, 9e-4]), 0.015
    shared, through = np.array([[0.010], [0.006], [0.014]]), np.array([[1.5]])
    changes = [Change(np.ones(1), means[[n]], variances[[n]], shared[[n]], through[None]) for n in range(3)]
    found = common_change(changes, spread)
    covariance = shared @ np.linalg.inv(through) @ shared.T
    np.fill_diagonal(covariance, variances + spread**2)
    fit = GLS(means, np.ones(3), sigma=covariance).fit(cov_type="fixed scale", cov_kwds={"scale": 1.0})
    assert found.mean == pytest.approx(float(fit.params[0]), rel=1e-6)
    assert found.sd == pytest.approx(float(fit.bse[0]), rel=1e-6)
