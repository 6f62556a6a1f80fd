"""The weeks that built: those in which a muscle was trained."""

import numpy as np
import pytest

from service.core.volume.building import BREAK_WEEKS, BUILDING_WEEKS, weeks_that_built

pytestmark = pytest.mark.quick


def built(*weekly: float) -> list[float]:
    return list(weeks_that_built(np.array(weekly, dtype=float)))


def test_weeks_before_the_first_and_after_the_last_trained_one_built_nothing() -> None:
    assert built(0, 0, 8, 7, 0, 0, 0, 0, 0) == [8, 7]
    assert built(0, 0) == []
    assert built() == []


def test_a_break_is_left_out_and_a_week_off_is_not() -> None:
    assert built(8, 0, 8, 0, 0, 8) == [8, 0, 8, 0, 0, 8]
    assert built(8, *[0] * BREAK_WEEKS, 6) == [8, 6]


def test_no_more_than_the_last_of_them_count() -> None:
    assert built(*[20] * 5, *[8] * BUILDING_WEEKS, 0, 0, 0, 0) == [8] * BUILDING_WEEKS
