"""Posteriors of the difference between sides from trials, against derived values that were checked by quadrature.

Derived from conjugate normal algebra (from memory) and checked with scipy's quadrature where they were worked; the second
test here checks them again by a quadrature of its own.
"""

from math import log, sqrt

import pytest
from scipy.integrate import quad
from scipy.stats import norm

from service.core.symmetry.posterior import SidePrior
from service.core.symmetry.trials import SideTrials, compare_trials, p_beyond, with_prior

pytestmark = [pytest.mark.quick, pytest.mark.from_memory]
_PRIOR = SidePrior(sd=0.08)


def _found(left_count: int, right_count: int, left_sd: float, right_sd: float):
    return compare_trials(
        SideTrials((20.0,) * left_count, left_sd), SideTrials((25.0,) * right_count, right_sd)
    )


def test_right_25_left_20_under_a_prior_of_eight_hundredths() -> None:
    """s = 0.05, three right and two left trials: mean 0.168344054, sd 0.039644788."""
    posterior = with_prior(_found(2, 3, 0.05, 0.05), _PRIOR)
    assert posterior.mean() == pytest.approx(0.168344054, abs=0.5e-8)
    assert posterior.sd() == pytest.approx(0.039644788, abs=0.5e-8)
    assert posterior.above(0.0) == pytest.approx(0.9999891, abs=0.5e-7)
    assert p_beyond(posterior, log(1.10)) == pytest.approx(0.967278, abs=0.5e-6)
    assert [posterior.quantile(p) for p in (0.025, 0.975)] == pytest.approx(
        [log(1.094877), log(1.278959)], abs=1e-5
    )


def test_the_same_posterior_by_quadrature() -> None:
    """An independent check: likelihood times prior, integrated."""
    found = _found(2, 3, 0.05, 0.05)
    error = 0.05 * sqrt(1 / 2 + 1 / 3)

    def weight(t: float) -> float:
        return float(norm.pdf(log(25 / 20), t, error) * norm.pdf(t, 0, 0.08))

    total = quad(weight, -1, 1, points=[0.17])[0]
    mean = quad(lambda t: t * weight(t), -1, 1, points=[0.17])[0] / total
    ahead = quad(weight, 0, 1, points=[0.17])[0] / total
    posterior = with_prior(found, _PRIOR)
    assert posterior.mean() == pytest.approx(mean, abs=1e-9)
    assert posterior.above(0.0) == pytest.approx(ahead, abs=1e-9)


def test_unequal_precision_of_the_sides() -> None:
    """sR = 0.04 over four, sL = 0.08 once: v 0.0068, mean 0.108190813, sd 0.057419245."""
    found = _found(1, 4, 0.08, 0.04)
    assert found.variance == pytest.approx(0.0068, abs=1e-12)
    posterior = with_prior(found, _PRIOR)
    assert posterior.mean() == pytest.approx(0.108190813, abs=0.5e-8)
    assert posterior.sd() == pytest.approx(0.057419245, abs=0.5e-8)
