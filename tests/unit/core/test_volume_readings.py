"""Readings of changes: a belief comes out of a posterior again, and where nothing was seen nothing is told."""

import numpy as np
import pytest

from service.core.volume.readings import (
    MOST_REGAIN,
    Readings,
    mixed,
    regain_after,
    stretches_between_breaks,
    without_belief,
)

pytestmark = pytest.mark.quick
BELIEVED = np.array([0.002, 0.001, 0.001])
SPREAD = np.array([[4.0, 1.0, 0.5], [1.0, 3.0, 1.0], [0.5, 1.0, 3.0]]) * 1e-4


def test_readings_are_those_that_the_posterior_was_made_of() -> None:
    changes, errors = np.array([-0.05, -0.06, -0.04]), np.diag([2e-3, 1e-3, 3e-3])
    covariance = np.linalg.inv(np.linalg.inv(SPREAD) + np.linalg.inv(errors))
    mean = covariance @ (np.linalg.solve(SPREAD, BELIEVED) + np.linalg.solve(errors, changes))
    found = without_belief(mean, covariance, BELIEVED, SPREAD)
    assert found.changes == pytest.approx(changes, rel=1e-6)
    np.testing.assert_allclose(found.covariance, errors, rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("grown", [1.0, 1.3, 2.3])
def test_where_doubt_was_not_narrowed_what_moved_is_no_reading(grown: float) -> None:
    """A change by one sd of the belief was told as one by fifty."""
    found = without_belief(BELIEVED - 0.02, grown * SPREAD, BELIEVED, SPREAD)
    assert found.changes == pytest.approx(BELIEVED)
    assert (np.diag(found.covariance) > 40.0 * np.diag(SPREAD)).all()


def test_hypotheses_that_read_apart_widen_the_error() -> None:
    one, other = (Readings(np.array([at]), np.array([[1e-4]])) for at in (-0.02, 0.02))
    found = mixed(np.array([0.5, 0.5]), [one, other])
    assert found.changes == pytest.approx([0.0])
    assert found.covariance[0, 0] == pytest.approx(1e-4 + 4e-4)


def test_changes_are_read_within_runs_and_never_across_a_break() -> None:
    before, after = tuple(range(0, 60, 4)), tuple(range(100, 150, 4))
    days, within = stretches_between_breaks([before, after], 28.0, 14.0)
    assert days == (0, 28, 56, 100, 128, 148)
    assert within == (True, True, False, True, True)
    # A run too short to read parts nothing.
    assert stretches_between_breaks([before, (80, 84), after], 28.0, 14.0) == (days, within)
    assert stretches_between_breaks([(80, 84), after], 28.0, 14.0) == (days[3:], (True, True))
    assert stretches_between_breaks([(), (80, 84)], 28.0, 14.0) == ((), ())


def test_strength_comes_back_for_as_long_as_a_pause_lasted_up_to_eight_weeks() -> None:
    assert [regain_after(pause) for pause in (0.0, 11.0, 39.0, 56.0, 120.0)] == [
        0.0,
        11.0,
        39.0,
        56.0,
        MOST_REGAIN,
    ]
    assert MOST_REGAIN == 56.0
