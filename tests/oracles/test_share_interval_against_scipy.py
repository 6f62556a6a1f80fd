"""The score interval of a share against SciPy's own."""

import pytest
from scipy.stats import binomtest

from service.usecases.answers.calibration_of_plans import share_interval

pytestmark = pytest.mark.quick


@pytest.mark.parametrize(("hits", "count"), [(0, 5), (1, 12), (6, 12), (80, 100), (17, 17)])
@pytest.mark.parametrize("mass", [0.8, 0.95])
def test_a_shares_interval_is_wilsons(hits: int, count: int, mass: float) -> None:
    known = binomtest(hits, count).proportion_ci(confidence_level=mass, method="wilson")
    found = share_interval(hits / count, count, mass)
    assert (found.lower, found.upper) == pytest.approx((known.low, known.high), abs=1e-9)
