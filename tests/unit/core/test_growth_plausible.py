"""What is set aside before volume is asked for its part: changes that no sets make."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from service.core.volume.growth_series import GrowthSeries, SeriesKind, evidence_of
from service.core.volume.plausible import set_aside
from service.core.volume.response import (
    Response,
    respond,
)

pytestmark = pytest.mark.quick


def lift(
    percents: Sequence[float], sets: Sequence[float], error: float = 0.01, kind: SeriesKind = "strength"
) -> GrowthSeries:
    weeks, doses = np.full(len(sets), 4.0), np.array(sets, dtype=float)
    steps = np.diff(np.eye(len(sets) + 1), axis=0)
    changes, noise = np.log1p(np.array(percents) / 100.0), error**2 * steps @ steps.T
    return GrowthSeries(kind, changes, noise, weeks, weeks * np.sqrt(doses), weeks * doses)


def answer(series: Sequence[GrowthSeries]) -> Response:
    return respond(evidence_of(set_aside(series, "trained")), "trained")


def heard(series: Sequence[GrowthSeries]) -> list[list[bool]]:
    return [one.counts.tolist() for one in set_aside(series, "trained")]


USUAL = respond(evidence_of([]), "trained")


@pytest.mark.parametrize("percent", [-90.0, -50.0, 80.0, 900.0])
@pytest.mark.parametrize("error", [0.0001, 0.01])
def test_what_nobody_believes_leaves_other_peoples_numbers(percent: float, error: float) -> None:
    found = answer([lift([percent] * 3, [10] * 3, error)])
    assert (found.series, found.weeks) == (0, 0.0)
    assert found.slope == USUAL.slope


@pytest.mark.parametrize("percent", [-60, -40, -25, -15, -10, -7, 7, 10, 15, 25, 40, 60])
@pytest.mark.parametrize("sets", [4, 10, 20])
@pytest.mark.parametrize("lifts", [1, 3])
def test_no_single_stretch_makes_a_slope_that_nobody_has(percent: float, sets: float, lifts: int) -> None:
    found = answer([lift([0, 0, percent, 0, 0], [10, 10, sets, 10, 10])] * lifts)
    mean, sd = USUAL.slope
    assert found.slope[0] < mean + 2.0 * sd


@pytest.mark.parametrize("lifts", [1, 3])
def test_a_slip_and_its_correction_are_no_downturn(lifts: int) -> None:
    found = answer([lift([0, 0, -40, 66, 0], [12, 12, 3, 6, 12])] * lifts)
    assert found.p_downturn < 0.1
    assert found.slope[0] < USUAL.slope[0]
    assert heard([lift([0, 0, -40, 66, 0], [12, 12, 3, 6, 12])]) == [[True, True, False, False, True]]


@pytest.mark.parametrize(
    "series",
    [
        [lift([1, 2, 3, 4], [4, 8, 12, 16])],
        [lift([4, 3, 2, 1], [4, 8, 12, 16])],
        [lift([-15] * 4, [12] * 4)] * 3,
        [lift([4, 4, 4, 0, -1, -2] * 3, [6, 8, 10, 25, 30, 35] * 3, 0.003) for _ in range(4)],
        [lift([1, 0.5, 0.2], [10, 5, 2], 0.003, "girth")],
    ],
    ids=["rising", "falling with sets", "an illness", "a downturn", "a girth"],
)
def test_what_may_be_so_is_heard(series: list[GrowthSeries]) -> None:
    assert all(all(told) for told in heard(series))
    direct, found = respond(evidence_of(series), "trained"), answer(series)
    assert found.slope == direct.slope
    assert found.p_downturn == direct.p_downturn


def test_a_stretch_set_aside_counts_as_if_it_had_not_been_told() -> None:
    found = answer([lift([1, 2, 1, 60], [8, 10, 8, 12])])
    without = answer([lift([1, 2, 1], [8, 10, 8])])
    assert found.slope == pytest.approx(without.slope, rel=1e-9)
    assert (found.weeks, found.series) == (12.0, 1)


def test_a_girth_that_jumps_is_set_aside_and_the_lift_beside_it_heard() -> None:
    told = heard([lift([1, 1, 1], [10] * 3), lift([0, 12, 0], [10] * 3, 0.003, "girth")])
    assert told == [[True] * 3, [True, False, True]]


def test_the_order_of_lifts_does_not_matter() -> None:
    lifts = [lift([1, 2, -30, 1], [8, 10, 8, 12]), lift([0, 1, 2], [8, 10, 8]), lift([90, 1], [5, 6])]
    assert heard(lifts) == heard(lifts[::-1])[::-1]
    assert answer(lifts).slope == pytest.approx(answer(lifts[::-1]).slope, rel=1e-9)


def test_a_break_stays_unheard_and_vouches_for_nothing() -> None:
    """As if it had not been told, but that the errors at its ends are shared with the stretches beside it."""
    within = np.array([True, True, False, True, True])
    broken = replace(lift([2, 3, -40, 3, 2], [10, 14, 1, 14, 10]), heard=within)
    assert heard([broken]) == [within.tolist()]
    slip = replace(lift([2, 45, 40, 3, 2], [10, 14, 1, 14, 10]), heard=within)
    assert heard([slip]) == [[True, False, False, True, True]]
    assert broken.weeks_heard == 16.0
