"""Normals cut off at zero, against scipy's and, far out in the tail, against their series."""

import numpy as np
import pytest
from scipy.stats import norm, truncnorm

from service.core.volume.truncated import CutNormals

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("centre", [40.0, 3.0, 1.0, 0.0, -1.0, -5.0, -30.0])
def test_moments_and_chances_are_those_of_a_truncated_normal(centre: float) -> None:
    spread = 2.0
    known = truncnorm(-centre, np.inf, loc=centre * spread, scale=spread)
    cut = CutNormals(np.array([centre]), np.array([spread]))
    mean, sd = cut.means, cut.sds
    assert cut.density_at_nothing[0] == pytest.approx(known.pdf(0.0), rel=1e-9)
    assert mean[0] == pytest.approx(known.mean(), rel=1e-6)
    assert sd[0] == pytest.approx(known.std(), rel=1e-6)
    for value in (0.05, 0.5, 4.0):
        assert cut.chance_above(np.array([value]))[0] == pytest.approx(known.sf(value), rel=1e-6)
    assert cut.chance_above(np.array([-1.0]))[0] == 1.0


def test_far_below_zero_what_is_left_is_exponential() -> None:
    centres, spreads = np.array([-100.0, -299.0, -301.0, -1e6]), np.ones(4)
    cut = CutNormals(centres, spreads)
    assert cut.means == pytest.approx(-1.0 / centres, rel=3e-4)
    assert cut.sds == pytest.approx(-1.0 / centres, rel=3e-4)
    assert (cut.kept_over_density > 0.0).all()
    assert cut.chance_above(-1.0 / centres) == pytest.approx(np.exp(-1.0), rel=1e-3)


@pytest.mark.parametrize("most", [20.0, 35.9, 36.1, 500.0])
def test_what_is_kept_over_the_density_at_the_cut_is_that_up_to_a_factor(most: float) -> None:
    at = np.array([most - 1.0, most - 0.5, most])
    cut = CutNormals(at, np.full(3, 2.0))
    ln_found = np.log(cut.kept_over_density)
    ln_known = norm.logcdf(at) - norm.logpdf(at)
    assert ln_found - ln_found[-1] == pytest.approx(ln_known - ln_known[-1], rel=1e-9, abs=1e-9)
    assert cut.means[-1] == pytest.approx(2.0 * most)
    assert np.isfinite(cut.density_at_nothing).all()
