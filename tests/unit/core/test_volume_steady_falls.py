"""Strength that falls steadily, by illness, a diet or misreported effort: a drift bears it, no end of what sets may do."""

from dataclasses import replace

import numpy as np
import pytest

from service.core.volume.growth import growth_at, slope_interval
from service.core.volume.growth_series import (
    GrowthEvidence,
    GrowthSeries,
    SeriesKind,
    evidence_of,
)
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import PEAK
from service.core.volume.response import (
    Response,
    population_slope,
    respond,
)
from service.core.volume.thresholds import (
    Wanted,
    downturn_of,
    peak_of,
    thresholds_of,
)

pytestmark = pytest.mark.quick
TRAINING: tuple[TrainingAge, ...] = ("novice", "trained", "unknown")


def falling(percent: float, weekly: list[float], error: float = 0.01) -> GrowthSeries:
    """A lift that loses so much every four weeks [%], with the weekly hard sets done meanwhile."""
    sets, weeks = np.array(weekly), np.full(len(weekly), 4.0)
    steps = np.diff(np.eye(len(weekly) + 1), axis=0)
    changes = np.full(len(weekly), np.log1p(-percent / 100.0))
    return GrowthSeries(
        "strength", changes, error**2 * steps @ steps.T, weeks, weeks * np.sqrt(sets), weeks * sets
    )


def width(response: Response) -> float:
    told = slope_interval(response, 0.8)
    return told.upper - told.lower


@pytest.mark.parametrize("training", TRAINING)
@pytest.mark.parametrize("percent", [5.0, 8.0, 15.0])
@pytest.mark.parametrize("sets", [4.0, 10.0, 20.0])
def test_a_steady_fall_at_one_dose_leaves_the_answer_near_what_was_believed(
    sets: float, percent: float, training: TrainingAge
) -> None:
    """At 8 % one node of a root to hold of some 20 weekly sets took the weight: a slope of twice the usual, a downturn of 69 %
    at a dose that never changed, and -3.6 % of growth at ten sets where one set was said to hold size."""
    response = respond(evidence_of([falling(percent, [sets] * 4)]), training)
    usual = respond(GrowthEvidence(), training)
    assert 0.3 * usual.slope[0] < response.slope[0] < 1.05 * usual.slope[0]
    assert 0.4 * width(usual) < width(response) < 1.1 * width(usual)
    assert response.weights.max() < 0.15
    assert response.p_downturn < 0.15
    assert peak_of(response) is None
    keeps, detectable, _ = thresholds_of(response, training, Wanted(building_dose=10.0))
    assert keeps.weekly_hard_sets.value < 2.0
    assert growth_at(6.0, response)[0] > 0.0
    interval = detectable.weekly_hard_sets.interval
    assert interval.upper > 3.0 * interval.lower


@pytest.mark.parametrize("sets", [4.0, 10.0, 20.0])
def test_the_faster_a_fall_at_one_dose_the_less_it_is_put_down_to_sets(sets: float) -> None:
    found = [respond(evidence_of([falling(percent, [sets] * 4)]), "trained") for percent in (5.0, 8.0, 15.0)]
    centre = population_slope("trained").moments[0]
    assert all(abs(one.slope[0] - centre) < 0.5 * centre for one in found)
    flat = respond(evidence_of([falling(0.0, [sets] * 4)]), "trained")
    assert found[-1].p_downturn < flat.p_downturn + 0.01


@pytest.mark.parametrize("training", TRAINING)
def test_a_fall_at_doses_that_vary_is_a_drift_too(training: TrainingAge) -> None:
    response = respond(evidence_of([falling(8.0, [6.0, 14.0, 10.0, 8.0, 14.0])]), training)
    usual = respond(GrowthEvidence(), training)
    assert 0.3 * usual.slope[0] < response.slope[0] < 1.05 * usual.slope[0]
    assert width(response) > 0.4 * width(usual)
    assert response.p_downturn < 0.15
    assert growth_at(10.0, response)[0] > 0.0


@pytest.mark.parametrize("training", TRAINING)
@pytest.mark.parametrize("percent", [2.0, 5.0, 8.0])
def test_a_steady_fall_is_not_said_to_go_with_the_sets(percent: float, training: TrainingAge) -> None:
    """It began before the sets rose, and went on as fast."""
    for weekly in ([8.0, 8.0, 8.0, 14.0, 14.0, 14.0], [10.0] * 5, [14.0, 12.0, 10.0, 8.0, 6.0]):
        for kind in ("strength", "girth"):
            fall = replace(falling(percent, weekly), kind=kind)
            assert downturn_of(respond(evidence_of([fall]), training)) != "fell_with_sets"
    assert downturn_of(respond(evidence_of([falling(percent, [10.0] * 5)]), training)) == "fell_steadily"


@pytest.mark.parametrize("training", TRAINING)
def test_a_fall_that_began_with_more_sets_goes_with_them(training: TrainingAge) -> None:
    later = falling(5.0, [8.0, 8.0, 8.0, 14.0, 14.0, 14.0])
    changes = np.where(np.arange(6) < 3, 0.01, later.changes)
    for kind in ("strength", "girth"):
        seen = replace(later, changes=changes, kind=kind)
        assert downturn_of(respond(evidence_of([seen]), training)) == "fell_with_sets"


def test_a_peak_of_one_node_is_not_known_exactly() -> None:
    """One that took all weight was told as 22 [22, 22]."""
    usual = respond(GrowthEvidence(), "unknown")
    alone = np.where(usual.peaks == usual.peaks[np.argmin(abs(usual.peaks - PEAK))], usual.weights, 0.0)
    peak = peak_of(replace(usual, weights=alone / alone.sum()))
    assert peak is not None
    assert peak.value == pytest.approx(PEAK, rel=1e-6)
    assert peak.interval.lower < 0.85 * PEAK
    assert peak.interval.upper > 1.15 * PEAK


def test_what_is_believed_of_a_peak_before_any_log_is_the_priors() -> None:
    usual = respond(GrowthEvidence(), "unknown")
    some = np.where(usual.falls > 0.0, usual.weights, 0.0)
    peak = peak_of(replace(usual, weights=some / some.sum()))
    assert peak is not None
    # 80 % of a log-normal lie within 1.28 of its sd, 0.30.
    low, high = PEAK * np.exp([-1.2816 * 0.30, 1.2816 * 0.30])
    assert (peak.interval.lower, peak.interval.upper) == pytest.approx((low, high), rel=1e-3)


@pytest.mark.parametrize("kind", ["strength", "girth"])
@pytest.mark.parametrize("sets", [0.0, 0.5, 1.0])
def test_gains_where_hardly_any_sets_were_done_are_no_fall(sets: float, kind: SeriesKind) -> None:
    rising = replace(falling(-3.0, [sets] * 6), kind=kind)
    response = respond(evidence_of([rising]), "trained")
    assert not response.fell
    assert downturn_of(response) == "not_shown"


def test_of_a_lift_that_rises_and_a_girth_that_falls_one_fell() -> None:
    thinner = replace(falling(3.0, [10.0] * 5), kind="girth")
    assert respond(evidence_of([falling(-3.0, [10.0] * 5), thinner]), "trained").fell
