"""Normals cut off at zero, against scipy's and, far out in the tail, against their series."""

import numpy as np
import pytest
from scipy.stats import truncnorm

from service.core.volume.truncated import chance_above, ln_kept, moments

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("centre", [40.0, 3.0, 1.0, 0.0, -1.0, -5.0, -30.0])
def test_moments_and_chances_are_those_of_a_truncated_normal(centre: float) -> None:
    spread = 2.0
    at, width = np.array([centre * spread]), np.array([spread])
    known = truncnorm(-centre, np.inf, loc=centre * spread, scale=spread)
    mean, sd = moments(at, width)
    assert mean[0] == pytest.approx(known.mean(), rel=1e-6)
    assert sd[0] == pytest.approx(known.std(), rel=1e-6)
    for value in (0.05, 0.5, 4.0):
        assert chance_above(np.array([value]), at, width)[0] == pytest.approx(known.sf(value), rel=1e-6)
    assert chance_above(np.array([-1.0]), at, width)[0] == 1.0


def test_far_below_zero_what_is_left_is_exponential() -> None:
    centres, spreads = np.array([-100.0, -299.0, -301.0, -1e6]), np.ones(4)
    means, sds = moments(centres, spreads)
    assert means == pytest.approx(-1.0 / centres, rel=3e-4)
    assert sds == pytest.approx(-1.0 / centres, rel=3e-4)
    assert np.isfinite(ln_kept(centres, spreads)).all()
    assert chance_above(-1.0 / centres, centres, spreads) == pytest.approx(np.exp(-1.0), rel=1e-3)
