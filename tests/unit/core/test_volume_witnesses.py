"""What each lift and girth changed of the growth that is expected: with all of them, less without the one."""

import numpy as np
import pytest

from service.core.volume.growth import growth_at
from service.core.volume.growth_series import GrowthSeries, evidence_of
from service.core.volume.response import (
    population_slope,
    respond,
)
from service.core.volume.witnesses import sways_of

pytestmark = pytest.mark.quick
USUAL = population_slope("unknown")


def lift(gain: float) -> GrowthSeries:
    """Six stretches of four weeks whose gains go with the sets done, as many as ``gain`` says. [1]"""
    weekly = np.array([4.0, 16.0, 4.0, 16.0, 4.0, 16.0])
    roots = 4.0 * np.sqrt(weekly)
    steps = np.diff(np.eye(7), axis=0)
    changes = gain * (roots / roots.mean())
    return GrowthSeries("strength", changes, 0.01**2 * steps @ steps.T, np.full(6, 4.0), roots, 4.0 * weekly)


def test_a_lift_alone_changed_what_lies_between_the_prior_and_the_answer() -> None:
    series = [lift(0.05)]
    (sway,) = sways_of(series, "unknown", USUAL, 10.0)
    before, after = (growth_at(10.0, respond(evidence_of(one), "unknown", USUAL))[0] for one in ([], series))
    assert sway == pytest.approx(after - before)
    assert sway > 0.0


def test_one_that_rose_raises_and_one_that_stood_lowers() -> None:
    rose, stood = sways_of([lift(0.06), lift(0.0)], "unknown", USUAL, 10.0)
    assert rose > 0.0 > stood


def test_two_that_say_the_same_change_less_each_than_one_alone() -> None:
    (alone,) = sways_of([lift(0.05)], "unknown", USUAL, 10.0)
    twice = sways_of([lift(0.05), lift(0.05)], "unknown", USUAL, 10.0)
    assert all(0.0 < one < alone for one in twice)


def test_nothing_seen_changed_nothing() -> None:
    assert sways_of([], "unknown", USUAL, 10.0) == ()
