"""From looking back on strength to readings of how it changed: what a filter believed beforehand is taken out again."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.core.units import Days

Array = NDArray[np.float64]
#: A direction whose doubt was not narrowed to this share of what was believed before tells next to nothing.
_MOST_LEFT = 0.98
_LEAST_LEFT = 1e-6
#: What a pause took comes back in about as long as it lasted, and in so long at most (judgement). [d]
MOST_REGAIN: Days = 56.0


@dataclass(frozen=True, slots=True)
class Readings:
    """Changes (k) [1] and the covariance (k, k) of their errors, no belief in them."""

    changes: Array
    covariance: Array


def without_belief(mean: Array, covariance: Array, believed: Array, believed_covariance: Array) -> Readings:
    """Return the readings that turn a Gaussian belief into a Gaussian posterior; all are of k changes.

    Conjugate algebra in the directions in which the belief is white: with a share q of its variance left, a reading
    has error q / (1 - q). Directions of which nothing was seen get a wide error, and no shift: where doubt is left whole or
    grew, what moved is no reading, and would be told many times over.
    """
    low = np.linalg.cholesky(believed_covariance)
    inverse = np.linalg.inv(low)
    left, turned = np.linalg.eigh(inverse @ covariance @ inverse.T)
    told = np.clip((1.0 - left) / (1.0 - _MOST_LEFT), 0.0, 1.0)
    left = np.clip(left, _LEAST_LEFT, _MOST_LEFT)
    onto = low @ turned
    seen = turned.T @ (inverse @ (mean - believed))
    noise = left / (1.0 - left)
    return Readings(believed + onto @ (told * seen / (1.0 - left)), (onto * noise) @ onto.T)


def mixed(weights: Array, readings: Sequence[Readings]) -> Readings:
    """Return one mean and covariance for readings of the same changes under hypotheses of some weights."""
    changes = np.array([one.changes for one in readings])
    mean = weights @ changes
    off = changes - mean
    within = np.einsum("h,hij->ij", weights, np.array([one.covariance for one in readings]))
    return Readings(mean, within + np.einsum("h,hi,hj->ij", weights, off, off))


def stretches_of(days: tuple[Days, ...], length: Days, least: Days) -> tuple[int, ...]:
    """Return the places of the days between which changes are read: about ``length`` apart, the last at least ``least``."""
    places = [0] if days else []
    for place, day in enumerate(days):
        if day - days[places[-1]] >= length:
            places.append(place)
    if places and days[-1] - days[places[-1]] >= least:
        places.append(len(days) - 1)
    return tuple(places)


def regain_after(pause: Days) -> Days:
    """Return for how long after a pause strength may come back, which is no growth. [d]"""
    return min(pause, MOST_REGAIN)


def stretches_between_breaks(
    runs: Sequence[tuple[Days, ...]], length: Days, least: Days
) -> tuple[tuple[Days, ...], tuple[bool, ...]]:
    """Return the days between which changes are read, and which of these changes lie in one of the ``runs`` of sessions. [d]"""
    days: list[Days] = []
    within: list[bool] = []
    for run in runs:
        places = stretches_of(run, length, least)
        if len(places) > 1:
            within += [*([False] if days else []), *[True] * (len(places) - 1)]
            days += [run[place] for place in places]
    return tuple(days), tuple(within)
