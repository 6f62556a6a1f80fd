"""How good the predictions were: coverage, calibration, CRPS and error against what a log tells.

A log tells repetitions to failure only within a range. A set of r repetitions to failure says that the
continuous number lay between r and r + 1; a set of r with q reported in reserve says r + q, to the nearest
whole one, as well as people can tell. A range counts towards coverage by its share inside the interval,
and its middle is taken as the value for errors and the CRPS. Sets without either are not scored.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.units import Repetitions, Share
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_rows import LogRow
from service.usecases.backtest.predictions import Prediction

Vector = NDArray[np.float64]
Told = Literal["to failure", "reported reserve"]

#: Standard normal scores of the quantiles that a prediction has: 0.025, 0.1, 0.5, 0.9, 0.975.
_SCORES: Final = np.array([-1.959963985, -1.281551566, 0.0, 1.281551566, 1.959963985])
#: Levels at which the quantile score is averaged: twice its mean is the CRPS.
_LEVELS: Final = (np.arange(40) + 0.5) / 40.0
_BANDS: Final = ((0.0, 5.0), (5.0, 8.0), (8.0, 12.0), (12.0, 16.0), (16.0, 25.0), (25.0, float("inf")))
PIT_BINS: Final = 10
#: Sets to failure from which on groups are scored by them alone (judgement).
ENOUGH_FAILURES: Final = 200
_NORMAL: Final = NormalDist()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a set told of its repetitions to failure: between ``low`` and ``high``. [repetitions]"""

    row: LogRow
    told: Told
    low: Repetitions
    high: Repetitions
    prediction: Prediction


@dataclass(frozen=True, slots=True)
class Score:
    """How a group of predictions fared.

    ``covered_80`` and ``covered_95`` are shares of outcomes inside the intervals [1]; ``bias`` is the mean of expected
    minus seen, ``error`` the mean distance of the median, ``width_80`` the mean width, ``crps`` the mean continuous
    ranked probability score [repetitions]; ``pit`` is the share of outcomes by tenth of the prediction [1].
    """

    count: int
    covered_80: Share
    covered_95: Share
    bias: Repetitions
    error: Repetitions
    width_80: Repetitions
    crps: Repetitions
    pit: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Scores:
    """Scores of everything, and by group; groups are in a fixed order, the largest first where none is natural.

    ``groups_of`` says which sets the bands, exercises and athletes are scored by: sets to failure where there are
    enough, since a told reserve mixes in how well people tell it.
    """

    overall: Score | None
    by_told: Mapping[str, Score]
    groups_of: str
    by_band: Mapping[str, Score]
    by_exercise: Mapping[str, Score]
    by_athlete: Mapping[str, Score]


def outcome_of(row: LogRow, prediction: Prediction | None) -> Outcome | None:
    """Return what a row tells of its own prediction, None where it tells nothing or was not predicted."""
    if prediction is None or row.reps is None or row.purpose == "warm_up":
        return None
    if row.to_failure:
        return Outcome(row, "to failure", row.reps, row.reps + 1.0, prediction)
    if row.reps_in_reserve is None or row.reps == 0:
        return None
    told = row.reps + row.reps_in_reserve
    return Outcome(row, "reported reserve", max(told - 0.5, float(row.reps)), told + 0.5, prediction)


def outcomes_of(rows: Iterable[LogRow], predictions: Mapping[int, Prediction | None]) -> list[Outcome]:
    """Return the outcomes of all rows that tell one, in file order."""
    found = (outcome_of(row, predictions.get(row.index)) for row in rows)
    return [outcome for outcome in found if outcome is not None]


def score_all(outcomes: Sequence[Outcome], book: LiftBook) -> Scores:
    """Return the scores of all outcomes and of their groups."""
    arrays = _Arrays.of(outcomes)
    failures = [outcome for outcome in outcomes if outcome.told == "to failure"]
    by_failure = len(failures) >= ENOUGH_FAILURES
    chosen = failures if by_failure else outcomes
    grouped = _Arrays.of(chosen)
    return Scores(
        overall=arrays.score() if outcomes else None,
        by_told=_grouped(outcomes, arrays, lambda one: one.told),
        groups_of="sets to failure" if by_failure else "all scored sets",
        by_band=_in_bands(grouped),
        by_exercise=_grouped(chosen, grouped, lambda one: _named(one.row.exercise, book)),
        by_athlete=_grouped(chosen, grouped, lambda one: one.row.athlete or "(not named)"),
    )


def _named(written: str, book: LiftBook) -> str:
    exercise = book.find(written).exercise
    return written if exercise is None else exercise.name


@dataclass(frozen=True, slots=True)
class _Arrays:
    """Outcomes and predictions as arrays: the ranges, means, and five quantiles a row."""

    low: Vector
    high: Vector
    mean: Vector
    quantiles: Vector

    @classmethod
    def of(cls, outcomes: Sequence[Outcome]) -> "_Arrays":
        told = np.array(
            [
                (o.low, o.high, p.mean, p.q025, p.q10, p.q50, p.q90, p.q975)
                for o in outcomes
                for p in (o.prediction,)
            ],
            dtype=np.float64,
        ).reshape(-1, 8)
        return cls(told[:, 0], told[:, 1], told[:, 2], told[:, 3:])

    def chosen(self, rows: Sequence[int]) -> "_Arrays":
        return _Arrays(self.low[rows], self.high[rows], self.mean[rows], self.quantiles[rows])

    def score(self) -> Score:
        seen = 0.5 * (self.low + self.high)
        return Score(
            count=len(seen),
            covered_80=self._covered(1, 3),
            covered_95=self._covered(0, 4),
            bias=float(np.mean(self.mean - seen)),
            error=float(np.mean(np.abs(self.quantiles[:, 2] - seen))),
            width_80=float(np.mean(self.quantiles[:, 3] - self.quantiles[:, 1])),
            crps=float(np.mean(crps(self.quantiles, seen))),
            pit=self._pit(),
        )

    def _covered(self, lower: int, upper: int) -> Share:
        inside = np.minimum(self.high, self.quantiles[:, upper]) - np.maximum(
            self.low, self.quantiles[:, lower]
        )
        return float(np.mean(np.clip(inside, 0.0, None) / (self.high - self.low)))

    def _pit(self) -> tuple[Share, ...]:
        """Return how outcomes fall into the tenths of their predictions; a range is spread evenly over what it spans."""
        edges = np.array([quantile_scores(p) for p in np.arange(1, PIT_BINS) / PIT_BINS])
        at = _quantiles_at(self.quantiles, edges)
        below = np.clip((at - self.low[:, None]) / (self.high - self.low)[:, None], 0.0, 1.0)
        cumulated = np.concatenate([[0.0], below.mean(axis=0), [1.0]])
        return tuple(float(share) for share in np.diff(cumulated))


def quantile_scores(probability: float) -> float:
    """Return the standard normal score of a probability."""
    return _NORMAL.inv_cdf(probability)


def crps(quantiles: Vector, seen: Vector) -> Vector:
    """Return the continuous ranked probability score of each row.

    Twice the mean quantile score over forty levels, with the prediction's quantiles joined by straight lines in normal
    scores; the outer pieces are carried on. [Gneiting2007]_, eq. 21 in quantile form.
    """
    at = _quantiles_at(quantiles, np.array([quantile_scores(float(p)) for p in _LEVELS]))
    short = seen[:, None] - at
    loss: Vector = 2.0 * np.mean(np.where(short >= 0.0, _LEVELS, _LEVELS - 1.0) * short, axis=1)
    return loss


def _quantiles_at(quantiles: Vector, scores: Vector) -> Vector:
    """Return quantiles at other normal scores, on straight lines between the known ones."""
    piece = np.clip(np.searchsorted(_SCORES, scores) - 1, 0, len(_SCORES) - 2)
    along = (scores - _SCORES[piece]) / (_SCORES[piece + 1] - _SCORES[piece])
    found: Vector = quantiles[:, piece] * (1.0 - along) + quantiles[:, piece + 1] * along
    return found


def _grouped(outcomes: Sequence[Outcome], arrays: _Arrays, key: Callable[[Outcome], str]) -> dict[str, Score]:
    rows: dict[str, list[int]] = {}
    for place, outcome in enumerate(outcomes):
        rows.setdefault(key(outcome), []).append(place)
    largest = sorted(rows.items(), key=lambda pair: -len(pair[1]))
    return {name: arrays.chosen(chosen).score() for name, chosen in largest}


def _in_bands(arrays: _Arrays) -> dict[str, Score]:
    """Group by what was expected, never by what was seen, which would sort luck into the bands."""
    middle = arrays.quantiles[:, 2]
    found = {}
    for low, high in _BANDS:
        chosen = np.flatnonzero((middle >= low if low > 0.0 else middle < high) & (middle < high))
        if len(chosen):
            name = f"{low:g} and more" if high == float("inf") else f"{low:g} to {high:g}"
            found[name if low > 0.0 else f"under {high:g}"] = arrays.chosen(chosen.tolist()).score()
    return found
