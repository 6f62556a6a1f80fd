"""One set's posterior against quadrature on a fine grid, for every kind of set and many priors.

The likelihoods are written out again here from their definitions. Errors of the mean are in posterior standard
deviations, those of the standard deviation relative.
"""

from dataclasses import dataclass
from functools import cache
from itertools import product
from math import log, pi, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

from service.core.capability.athlete import CONSTANTS
from service.core.capability.likelihood import (
    AT_LEAST,
    FAILED,
    STOPPED,
    TOLD,
    TOLD_MOST,
    ln_ratio,
    posterior,
    reserve_behind,
)
from service.core.capability.parameters import TRAINED

pytestmark = pytest.mark.quick

Array = NDArray[np.float64]
K, BEND, BIAS, LN_LOAD = 32.0, 0.7, -1.0, log(80.0)
#: Spread of the prior, and how many of these it lies above what the set suggests.
WIDTHS, SHIFTS = (0.02, 0.04, 0.08, 0.15, 0.25), (-2.5, -1.0, 0.0, 1.0, 2.5)


def bell(at: Array) -> Array:
    """Density of the standard normal."""
    return np.asarray(np.exp(-0.5 * at**2) / sqrt(2.0 * pi))


@dataclass(frozen=True)
class Set:
    kind: int
    reps: float
    value: float = 0.0
    power: float = 1.0

    def suggested(self) -> float:
        """Return the repetitions to failure that the set suggests by itself."""
        if self.kind in (TOLD, TOLD_MOST):
            return self.reps + reserve_behind(self.value, BIAS, TRAINED.report_share)
        if self.kind == STOPPED:
            return self.value
        return self.reps + (0.5 if self.kind == FAILED else 0.0)

    def likelihood(self, n: Array) -> Array:
        if self.kind == STOPPED:
            spread = TRAINED.stop_within * sqrt(1.0 - 2.0 / TRAINED.stop_tail)
            tail = TRAINED.stop_tail
            return np.asarray(
                (1.0 + ((n - self.value) / spread) ** 2 / tail) ** (-0.5 * self.power * (tail + 1.0))
            )
        edge = ndtr((n - self.reps) / TRAINED.count_sd)
        if self.kind == FAILED:
            return np.asarray(edge - ndtr((n - self.reps - 1.0) / TRAINED.count_sd))
        if self.kind == AT_LEAST:
            return np.asarray(edge**self.power)
        reserve = np.maximum(n - self.reps, 0.0)
        mean = (1.0 - TRAINED.report_share) * reserve + BIAS * (1.0 - np.exp(-0.5 * reserve))
        sd = np.sqrt(TRAINED.report_sd_at_failure**2 + (TRAINED.report_sd_slope * reserve) ** 2)
        below = ndtr((self.value - 0.5 - mean) / sd) if self.value > 0.0 else 0.0
        short = np.minimum(n - self.reps, 0.0)
        above = 1.0 if self.kind == TOLD_MOST else ndtr((self.value + 0.5 - mean) / sd)
        chance = (above - below) * np.exp(-0.5 * short**2)
        return np.asarray(chance**self.power)


@dataclass(frozen=True)
class Errors:
    mean: float
    sd: float
    evidence: float


@cache
def errors(item: Set, width: float, shift: float) -> Errors:
    centre = LN_LOAD + ln_ratio(max(item.suggested(), 0.5), K, BEND) + shift * width
    strength = np.linspace(centre - 9.0 * width, centre + 9.0 * width, 20001)
    n = 1.0 + K / BEND * np.expm1(BEND * (strength - LN_LOAD))
    density = bell((strength - centre) / width) / width * (item.likelihood(n) + TRAINED.outlier)
    total = float(density.sum())
    mean = float((density * strength).sum() / total)
    sd = sqrt(float((density * (strength - mean) ** 2).sum() / total))
    evidence = total * float(strength[1] - strength[0])
    own_mean, own_variance, own_evidence, _ = posterior(
        centre, width**2, item.kind, LN_LOAD, K, BEND, item.reps, item.value, item.power, BIAS, CONSTANTS[0]
    )
    return Errors((own_mean - mean) / sd, sqrt(own_variance) / sd - 1.0, own_evidence / evidence - 1.0)


def worst(items: list[Set], widths: tuple[float, ...], shifts: tuple[float, ...]) -> Errors:
    found = [errors(*case) for case in product(items, widths, shifts)]
    return Errors(*(max(abs(getattr(e, name)) for e in found) for name in ("mean", "sd", "evidence")))


FAILURES = [Set(FAILED, reps) for reps in (0.0, 3.0, 9.0, 20.0)]
STOPS = [Set(STOPPED, 8.0, 10.5, power) for power in (1.0, 0.25)]
REPORTS = [Set(TOLD, reps, told) for reps in (8.0, 15.0) for told in (2.0, 3.0, 4.0)]
COPIES = [Set(TOLD, reps, told, 0.25) for reps in (8.0, 15.0) for told in (0.0, 1.0, 2.0, 4.0)]
MOST = [Set(TOLD_MOST, reps, told) for reps in (8.0, 15.0) for told in (4.0, 6.0)]
NEAR_FAILURE = [Set(TOLD, reps, told) for reps in (8.0, 15.0) for told in (0.0, 1.0)]
BOUNDS = [Set(AT_LEAST, reps) for reps in (5.0, 12.0)]


def test_a_set_to_failure_is_weighed_exactly() -> None:
    found = worst(FAILURES, WIDTHS, SHIFTS)
    assert found.mean < 2e-3
    assert found.sd < 2e-3
    assert found.evidence < 1e-3


def test_where_one_stops_is_weighed_to_a_tenth_of_the_doubt() -> None:
    found = worst(STOPS, WIDTHS, SHIFTS)
    assert found.mean < 0.1
    assert found.sd < 0.1
    assert found.evidence < 0.15


#: What is believed of a series that has some sessions behind it.
USUAL_WIDTHS = WIDTHS[:3]


@pytest.mark.parametrize(
    ("items", "off"),
    [(REPORTS, 0.10), (COPIES, 0.10), (MOST, 0.10), (NEAR_FAILURE, 0.30)],
    ids=["reports", "copies", "the most ever told", "near failure"],
)
def test_a_report_is_weighed_well_once_a_series_is_known(items: list[Set], off: float) -> None:
    found = worst(items, USUAL_WIDTHS, SHIFTS)
    assert found.mean < off
    assert found.sd < off
    assert found.evidence < off


def test_a_report_is_weighed_to_half_its_doubt_however_little_was_known() -> None:
    found = worst([*REPORTS, *NEAR_FAILURE], WIDTHS, SHIFTS)
    assert found.mean < 0.5
    assert found.sd < 0.5


def test_a_copied_report_is_weighed_to_half_its_doubt_however_little_was_known() -> None:
    assert worst(COPIES, WIDTHS, SHIFTS).mean < 0.5


def test_a_bound_is_weighed_exactly_wherever_it_lies() -> None:
    found = worst(BOUNDS, WIDTHS, SHIFTS)
    assert found.mean < 0.02
    assert found.sd < 0.02
    assert found.evidence < 0.02


@pytest.mark.parametrize("width", WIDTHS)
def test_a_weakened_bound_moves_part_of_the_way(width: float) -> None:
    centre = LN_LOAD + ln_ratio(8.0, K, BEND) - width
    part, full = (
        posterior(centre, width**2, AT_LEAST, LN_LOAD, K, BEND, 8.0, 0.0, power, BIAS, CONSTANTS[0])[0]
        for power in (0.25, 1.0)
    )
    assert centre < part < full


@pytest.mark.parametrize("item", [*FAILURES, *STOPS, *REPORTS, *COPIES, *BOUNDS])
def test_the_grid_itself_is_fine_enough(item: Set) -> None:
    centre, width = LN_LOAD + ln_ratio(max(item.suggested(), 0.5), K, BEND), 0.08
    moments = []
    for count in (20001, 5001):
        strength = np.linspace(centre - 9.0 * width, centre + 9.0 * width, count)
        n = 1.0 + K / BEND * np.expm1(BEND * (strength - LN_LOAD))
        density = bell((strength - centre) / width) / width * (item.likelihood(n) + TRAINED.outlier)
        moments.append(float((density * strength).sum() / density.sum()))
    assert moments[0] == pytest.approx(moments[1], abs=1e-6)


@pytest.mark.parametrize("item", [*FAILURES, *REPORTS, *BOUNDS])
@pytest.mark.parametrize("width", WIDTHS)
def test_a_set_that_was_expected_narrows(item: Set, width: float) -> None:
    centre = LN_LOAD + ln_ratio(max(item.suggested(), 0.5), K, BEND)
    left = posterior(
        centre, width**2, item.kind, LN_LOAD, K, BEND, item.reps, item.value, item.power, BIAS, CONSTANTS[0]
    )[1]
    assert left < width**2
