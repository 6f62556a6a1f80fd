"""Changes that are no answer to sets: too great for growth, drifts and errors of reading together.

A slip of the pen, another machine, an illness or a new way of lifting moves a reading by more than any of these. Errors
are Gaussian in `response`, which would sooner believe a slope many times anybody's than such an error: what nobody's sets do
is set aside before it is asked.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.volume.growth_series import GIRTH_SHARE, GrowthSeries, noise_of
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import ROOT_TO_HOLD, SIZE_SHARE, SIZE_SHARE_LOG_SD
from service.core.volume.response import (
    LEARNING_DRIFT,
    SLOPE_CV,
    SLOPE_MEAN,
    STEADY_DRIFT,
    STEADY_TAILS,
)

Array = NDArray[np.float64]
#: So many sd from what was believed, or from what all other stretches say, a change is set aside (judgement).
MOST_SD: Final = 4.0


def set_aside(series: Sequence[GrowthSeries], training: TrainingAge) -> list[GrowthSeries]:
    """Return the series in their order, the stretches that are no answer to sets marked as not heard, as breaks are already.

    First goes what nobody believes beforehand, the widest tail of the drift counted; then, one at a time and the furthest
    first, what lies too far from what the other stretches of the same series say. What falls or rises steadily is a drift and
    stays. Each series is judged alone: lifts that jump together, after an illness, would vouch for each other.

    References:
        Gaussian leave-one-out residuals from the precision matrix (from memory: Rasmussen and Williams 2006, 5.4.2); the
        limit is judgement.
    """
    return [replace(one, heard=_heard(one, training)) if len(one.changes) else one for one in series]


def _heard(one: GrowthSeries, training: TrainingAge) -> NDArray[np.bool_]:
    design, mean, sd = _believed(one, training)
    off = one.changes - design @ mean
    spread = noise_of([one]) + (design * sd**2) @ design.T
    heard = one.counts.copy()
    precision = np.asarray(np.linalg.inv(spread), dtype=np.float64)
    for place in np.flatnonzero(~heard):
        _forget(precision, heard, int(place))
    for place in np.flatnonzero(heard & (np.abs(off) > MOST_SD * np.sqrt(np.diag(spread)))):
        _forget(precision, heard, int(place))
    while heard.any():
        far = np.zeros(len(off))
        far[heard] = np.abs(precision @ off)[heard] / np.sqrt(np.diag(precision)[heard])
        furthest = int(far.argmax())
        if far[furthest] <= MOST_SD:
            break
        _forget(precision, heard, furthest)
    return heard


def _forget(precision: Array, heard: NDArray[np.bool_], place: int) -> None:
    """Take one change out of the precision of all, as if it had never been read."""
    heard[place] = False
    column = precision[:, place].copy()
    precision -= np.outer(column, column) / column[place]
    precision[place] = precision[:, place] = 0.0


def _believed(one: GrowthSeries, training: TrainingAge) -> tuple[Array, Array, Array]:
    """Return what slope and drifts are multiplied with, and their means and sds, before anything was seen."""
    design, slope, cv = one.design, SLOPE_MEAN[training], SLOPE_CV
    growing = design[:, 0] - ROOT_TO_HOLD * design[:, 1]
    if one.kind == "girth":
        mean = slope / GIRTH_SHARE
        return growing[:, None], np.array([mean]), np.array([cv * mean])
    of_strength = slope / SIZE_SHARE[training]
    cv = float(np.hypot(cv, SIZE_SHARE_LOG_SD))
    (steady, steady_sd), (learning, learning_sd) = STEADY_DRIFT[training], LEARNING_DRIFT[training]
    widest = max(times for times, _ in STEADY_TAILS)
    columns = np.column_stack([growing, design[:, 1], design[:, 3]])
    return (
        columns,
        np.array([of_strength, steady, learning]),
        np.array([cv * of_strength, widest * steady_sd, learning_sd]),
    )
