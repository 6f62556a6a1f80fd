"""Over which days lifts are counted together, and what a line reads between its sessions."""

import numpy as np
import pytest

from service.core.capability import Line
from service.core.errors import OutsideValidity
from service.core.trend import change_between, change_over, common_span

pytestmark = pytest.mark.quick


def test_two_lifts_are_told_over_the_days_that_they_share() -> None:
    found = common_span([(0.0, 52.0), (24.0, 51.0)])
    assert (found.start, found.end, found.lifts) == (24.0, 51.0, (0, 1))


def test_days_shared_that_are_less_than_half_of_the_longer_ones_are_too_few() -> None:
    found = common_span([(0.0, 52.0), (30.0, 52.0)])
    assert (found.start, found.end, found.lifts) == (0.0, 52.0, (0,))


def test_many_lifts_outweigh_one_that_was_followed_for_longer() -> None:
    others = [(20.0 + day, 50.0 + day) for day in range(4)]
    found = common_span([(0.0, 52.0), *others])
    assert (found.start, found.end, found.lifts) == (23.0, 50.0, (0, 1, 2, 3, 4))


def test_a_lift_given_up_for_another_does_not_tell_of_the_muscle_now() -> None:
    found = common_span([(0.0, 30.0), (28.0, 52.0)])
    assert (found.start, found.end, found.lifts) == (28.0, 52.0, (1,))


def test_without_a_lift_there_are_no_days() -> None:
    with pytest.raises(OutsideValidity):
        common_span([])


def line() -> Line:
    days = (0.0, 4.0, 6.0)
    walk = np.array([[1.0, 1.0, 1.0], [1.0, 5.0, 5.0], [1.0, 5.0, 7.0]]) * 1e-4
    return Line(
        "press", "both", 8.0, days, np.array([0.6, 0.4]), np.array([[4.0, 4.04, 4.06], [4.0, 4.08, 4.1]]),
        np.array([walk, 2.0 * walk]), np.arange(6.0).reshape(2, 3, 1), np.ones((2, 1, 1)),
        lambda: (np.zeros((2, 3)), np.zeros((2, 3, 3))), np.array([0.6, 0.4, 0.0]),
    )  # fmt: skip


def test_between_sessions_a_line_is_read_straight() -> None:
    change = change_over(line(), 1.0, 5.0)
    assert change.means == pytest.approx([4.05 - 4.01, 4.09 - 4.02])
    # Weights -0.75, 0.25 and 0.5 of the three sessions, times their covariance.
    assert change.variances == pytest.approx([2.75e-4, 5.5e-4])
    assert change.shared[:, 0] == pytest.approx([1.25, 1.25])


def test_between_two_sessions_it_is_their_change() -> None:
    over, between = change_over(line(), 0.0, 6.0), change_between(line(), 0, 2)
    for name in ("means", "variances", "shared"):
        assert getattr(over, name) == pytest.approx(getattr(between, name))


@pytest.mark.parametrize(("start", "end"), [(-0.1, 6.0), (0.0, 6.1)])
def test_beyond_its_sessions_a_line_reads_nothing(start: float, end: float) -> None:
    with pytest.raises(OutsideValidity):
        change_over(line(), start, end)
