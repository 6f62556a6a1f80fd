"""The answer to weekly volume against a grid over everything it integrates, a sampler, and on invented athletes."""

import csv
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import block_diag, solve_triangular
from scipy.special import ndtr, ndtri
from scipy.stats import norm

from service.core.volume.growth import slope_interval
from service.core.volume.growth_series import (
    SHARED_WALK,
    WALK,
    GrowthEvidence,
    GrowthSeries,
    SeriesKind,
    evidence_of,
    learning_of,
)
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import (
    DOWNTURN,
    PEAK,
    PEAK_LOG_SD,
    ROOT_TO_HOLD,
    ROOT_TO_HOLD_LOG_SD,
    SIZE_SHARE,
    SIZE_SHARE_LOG_SD,
)
from service.core.volume.response import (
    LEARNING_DRIFT,
    STEADY_DRIFT,
    STEADY_TAILS,
    Response,
    SlopePrior,
    population_slope,
    respond,
    slope_prior_from,
    uncut_slope,
)

pytestmark = pytest.mark.quick
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Truth:
    """An invented muscle: slope, root of the sets that hold size, share of strength that is size, a peak or none, and a
    drift of strength that no sets cause. [1/week]"""

    slope: float
    root: float = 0.76
    share: float = 0.35
    peak: float | None = None
    drift: float = 0.0


def slope_at(score: Array | float) -> Array:
    """The population's slope at a standard normal's score: its quantiles, none below zero."""
    usual = population_slope("unknown")
    # What lies above a quantile is so much of what lies above zero.
    above = ndtr(usual.centre / usual.spread) * ndtr(-np.asarray(score))
    slopes: Array = usual.centre - usual.spread * ndtri(above)
    return slopes


def doses_of(rng: np.random.Generator, stretches: int) -> Array:
    """Weekly hard sets (stretches, 4) that vary from stretch to stretch and from week to week."""
    return rng.uniform(2.0, 18.0, (stretches, 1)) * rng.uniform(0.8, 1.2, (stretches, 4))


def seen(
    truth: Truth,
    rng: np.random.Generator,
    stretches: int = 6,
    error: float = 0.010,
    kind: SeriesKind = "strength",
    common: Array | None = None,
    alike: float = SHARED_WALK,
    weekly: Array | None = None,
) -> GrowthSeries:
    """Four-week stretches with doses that vary, and levels read with an error at each end: neighbours share it.

    ``common`` is a walk that this lift has part of, ``alike`` the part of its variance that is;
    ``weekly`` the hard sets (stretches, 4), where other lifts got the same.
    """
    if weekly is None:
        weekly = doses_of(rng, stretches)
    roots, doses = np.sqrt(weekly).sum(axis=1), weekly.sum(axis=1)
    falls = 0.0 if truth.peak is None else 0.5 / sqrt(truth.peak)
    share = truth.share if kind == "strength" else 2.0
    grown = truth.slope * (roots - 4.0 * truth.root - falls * doses) / share
    grown = grown + (4.0 * truth.drift if kind == "strength" else 0.0)
    walk = rng.normal(size=stretches)
    if common is not None:
        walk = sqrt(1.0 - alike) * walk + sqrt(alike) * common
    walk = WALK[kind] * 2.0 * walk
    ends = error * rng.normal(size=stretches + 1)
    steps = np.diff(np.eye(stretches + 1), axis=0)
    return GrowthSeries(
        kind, grown + walk + np.diff(ends), error**2 * steps @ steps.T, np.full(stretches, 4.0), roots, doses
    )


@dataclass(frozen=True)
class Whitened:
    """Changes of one kind, less their drift, and what the slope makes of roots, weeks and doses (k, 3), both in units of
    their noise; the logarithm of that noise's density at no error, and how often it is this one."""

    changes: Array
    columns: Array
    ln_peak: float
    often: float

    def likely(self, slopes: Array, root: float, falls: float, size: float) -> Array:
        """Density of the changes at each slope, as often as the noise is this one."""
        off = self.changes - slopes[:, None] * (self.columns @ np.array([1.0, -root, -falls]) / size)
        density: Array = self.often * np.exp(self.ln_peak - 0.5 * (off**2).sum(axis=1))
        return density


def whitened(told: list[GrowthSeries], training: TrainingAge, times: float, often: float) -> Whitened:
    changes, drift, noise = together(told, training, times)
    lower = np.linalg.cholesky(noise)
    columns = np.concatenate([np.column_stack([one.roots, one.weeks, one.doses]) for one in told])
    ln_peak = -float(np.log(np.diag(lower)).sum()) - 0.5 * len(changes) * np.log(2.0 * np.pi)
    return Whitened(
        solve_triangular(lower, changes - drift, lower=True),
        solve_triangular(lower, columns, lower=True),
        ln_peak,
        often,
    )


def by_grid(series: list[GrowthSeries], training: TrainingAge = "unknown") -> tuple[float, float, float]:
    """Mean and sd of the slope and the chance of a downturn, by sums over a fine grid of all four numbers."""
    believed = population_slope(training)
    # The middles of steps above zero: sets do not shrink a muscle.
    slopes = (believed.centre + 5.0 * believed.spread) * (np.arange(160) + 0.5) / 160
    steps = np.linspace(-3.2, 3.2, 21)
    total = np.zeros((2, len(slopes)))
    prior = norm.pdf(slopes, believed.centre, believed.spread)
    dense = norm.pdf(steps)
    by_kind = whitened_by_kind(series, training)
    for at_root, often_root in zip(steps, dense, strict=True):
        root = ROOT_TO_HOLD * np.exp(ROOT_TO_HOLD_LOG_SD * at_root)
        for at_share, often_share in zip(steps, dense, strict=True):
            share = SIZE_SHARE[training] * np.exp(SIZE_SHARE_LOG_SD * at_share)
            weight = often_root * often_share
            total[0] += (1.0 - DOWNTURN) * weight * prior * _likelihood(by_kind, slopes, root, share, 0.0)
            for at_peak, often_peak in zip(steps[::4], dense[::4], strict=True):
                falls = 0.5 / np.sqrt(PEAK * np.exp(PEAK_LOG_SD * at_peak))
                more = often_peak / dense[::4].sum()
                total[1] += (
                    DOWNTURN * more * weight * prior * _likelihood(by_kind, slopes, root, share, falls)
                )
    density = total.sum(axis=0) / total.sum()
    mean = float(density @ slopes)
    return mean, float(np.sqrt(density @ (slopes - mean) ** 2)), float(total[1].sum() / total.sum())


def whitened_by_kind(series: list[GrowthSeries], training: TrainingAge) -> dict[str, list[Whitened]]:
    found = {}
    for kind in ("strength", "girth"):
        told = [one for one in series if one.kind == kind]
        tails = STEADY_TAILS if kind == "strength" else ((1.0, 1.0),)
        if told:
            found[kind] = [whitened(told, training, times, often) for times, often in tails]
    return found


def _likelihood(
    by_kind: dict[str, list[Whitened]], slopes: Array, root: float, share: float, falls: float
) -> Array:
    value: Array = np.ones(len(slopes))
    for kind, noises in by_kind.items():
        size = share if kind == "strength" else 2.0
        value = value * sum(noise.likely(slopes, root, falls, size) for noise in noises)
    return value


def together(
    series: list[GrowthSeries], training: TrainingAge, times: float = 1.0
) -> tuple[Array, Array, Array]:
    """Changes of several series of one kind, what drifts are expected in them, and their noise with the drifts they share,
    the steady one so many times as wide."""
    changes, weeks = (np.concatenate([getattr(one, name) for one in series]) for name in ("changes", "weeks"))
    own = 1.0 - SHARED_WALK
    noise = block_diag(*(one.covariance + own * WALK[one.kind] ** 2 * np.diag(one.weeks) for one in series))
    # Which of the weeks, one by one, each stretch lasted: a walk of all lifts moves all that were under way.
    under_way = np.concatenate([np.kron(np.eye(len(one.weeks)), np.ones((1, 4))) for one in series])
    noise = noise + SHARED_WALK * WALK[series[0].kind] ** 2 * under_way @ under_way.T
    if series[0].kind == "girth":
        return changes, np.zeros(len(changes)), noise
    learning = np.concatenate([learning_of(one.weeks) for one in series])
    (steady, steady_sd), (learnt, learnt_sd) = STEADY_DRIFT[training], LEARNING_DRIFT[training]
    shared = (times * steady_sd) ** 2 * np.outer(weeks, weeks) + learnt_sd**2 * np.outer(learning, learning)
    return changes, steady * weeks + learnt * learning, noise + shared


CASES: dict[str, list[tuple[SeriesKind, float]]] = {
    "a usual muscle": [("strength", 0.0011)],
    "a fast one, two lifts": [("strength", 0.0025), ("strength", 0.0025)],
    "none": [("strength", 0.0)],
    "a lift and a girth": [("strength", 0.0015), ("girth", 0.0015)],
}
#: Where more sets went with less, which the cut at zero has to bear. Not in the sampler's file.
FALLING: dict[str, list[tuple[SeriesKind, float]]] = {
    "one falls": [("strength", -0.0015)],
    "two fall": [("strength", -0.003), ("strength", -0.003)],
    "a girth falls": [("girth", -0.0015)],
}
#: Where strength drifts down whatever is done. [1/week]
DRIFTING = {"falls steadily": -0.015, "falls fast": -0.03}


@pytest.mark.parametrize("case", [*CASES, *FALLING])
def test_the_posterior_agrees_with_a_grid_to_a_twentieth_of_its_doubt(case: str) -> None:
    told = CASES | FALLING
    rng = np.random.default_rng(list(told).index(case))
    series = [seen(Truth(slope), rng, kind=kind) for kind, slope in told[case]]
    mean, sd, downturn = by_grid(series)
    found = respond(evidence_of(series), "unknown")
    assert found.slope[0] == pytest.approx(mean, abs=0.05 * sd)
    assert found.slope[1] == pytest.approx(sd, rel=0.05)
    assert found.p_downturn == pytest.approx(downturn, abs=0.01)


@pytest.mark.parametrize("case", DRIFTING)
def test_a_steady_fall_agrees_with_the_grid_too(case: str) -> None:
    rng = np.random.default_rng(21)
    series = [seen(Truth(0.0011, drift=DRIFTING[case]), rng)]
    mean, sd, downturn = by_grid(series)
    found = respond(evidence_of(series), "unknown")
    assert found.slope[0] == pytest.approx(mean, abs=0.05 * sd)
    assert found.slope[1] == pytest.approx(sd, rel=0.05)
    assert found.p_downturn == pytest.approx(downturn, abs=0.01)


#: Drawn by `growth_by_nuts.py` with a no-U-turn sampler, 20,000 draws a case; their own error is a hundredth of the sd.
#: Its slope is a whole normal, so that it holds the answer to what it is before the cut at zero; the grid holds the cut one.
SAMPLED_PRIOR = SlopePrior(0.0011, 0.0008)
SAMPLED = {
    row["case"]: row
    for row in csv.DictReader((Path(__file__).parent / "growth_by_nuts.csv").read_text("utf-8").splitlines())
}


@pytest.mark.parametrize("case", CASES)
def test_the_posterior_agrees_with_a_sampler_of_the_whole_model(
    case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The sampler's steady drift is a normal without a tail; the grid's has it.
    monkeypatch.setattr("service.core.volume.response.STEADY_TAILS", ((1.0, 1.0),))
    rng, row = np.random.default_rng(list(CASES).index(case)), SAMPLED[case]
    series = [seen(Truth(slope), rng, kind=kind) for kind, slope in CASES[case]]
    found, sd = uncut_slope(evidence_of(series), "unknown", SAMPLED_PRIOR), float(row["slope_sd"])
    assert float(row["effective_size"]) > 5000.0
    assert found[0] == pytest.approx(float(row["slope_mean"]), abs=0.05 * sd)
    assert found[1] == pytest.approx(sd, rel=0.05)


USUAL_MEAN, USUAL_SD = population_slope("unknown").moments


def held(slope: float, found: Response) -> bool:
    """Whether the interval of 80 % that an answer tells holds a slope."""
    interval = slope_interval(found, 0.8)
    return interval.lower <= slope <= interval.upper


@pytest.mark.parametrize("drift", [0.0, 0.0015, 0.004])
def test_where_volume_does_nothing_no_drift_is_taken_for_an_effect(drift: float) -> None:
    rng = np.random.default_rng(4)
    truth = Truth(0.0, drift=drift)
    found = [respond(evidence_of([seen(truth, rng) for _ in range(2)]), "unknown") for _ in range(200)]
    assert np.mean([slope_interval(one, 0.95).lower < 0.0002 for one in found]) > 0.9
    assert np.mean([one.slope[0] for one in found]) < 0.85 * USUAL_MEAN
    assert max(one.p_downturn for one in found) < 0.9


def test_a_dose_that_never_changed_teaches_less_than_one_that_did() -> None:
    rng = np.random.default_rng(8)
    varied = [seen(Truth(0.0011), rng) for _ in range(2)]
    still = [
        GrowthSeries(
            "strength", one.changes, one.covariance, one.weeks, np.full(6, 4.0 * sqrt(10.0)), np.full(6, 40.0)
        )
        for one in varied
    ]
    assert respond(evidence_of(still), "unknown").slope[1] > respond(evidence_of(varied), "unknown").slope[1]


def test_a_peak_is_seldom_told_where_there_is_none() -> None:
    rng = np.random.default_rng(5)
    found = [
        respond(evidence_of([seen(Truth(0.0015), rng) for _ in range(3)]), "unknown") for _ in range(200)
    ]
    assert np.mean([one.p_downturn > 0.9 for one in found]) < 0.01


def test_other_muscles_move_the_prior_part_of_the_way_only() -> None:
    rng, usual = np.random.default_rng(6), population_slope("unknown")
    others = evidence_of([seen(Truth(0.0030), rng, stretches=24) for _ in range(6)])
    moved = slope_prior_from(others, "unknown")
    assert usual.centre < moved.centre < 0.0030
    assert sqrt(1.0 - 0.6) * usual.spread < moved.spread < usual.spread
    nothing = slope_prior_from(GrowthEvidence(), "unknown")
    assert (nothing.centre, nothing.spread) == pytest.approx((usual.centre, usual.spread))


def test_no_change_of_the_order_of_series_moves_the_answer() -> None:
    rng = np.random.default_rng(7)
    series = [seen(Truth(0.0012), rng) for _ in range(4)]
    there, back = (respond(evidence_of(one), "trained").slope for one in (series, series[::-1]))
    assert there == pytest.approx(back, rel=1e-9)
