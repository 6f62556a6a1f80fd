"""How the strength shown in a log's sets hangs together when it wanders by chance: what readers of the log reckon with."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from tests.simulation.constants import Constants
from tests.simulation.day import SIGN

Array = NDArray[np.float64]
#: Of levels that nobody told: so wide that they are read off the sets. [ln strength]
_UNKNOWN_LEVEL, _UNKNOWN_GAP = 0.5, 0.1


class Wandering:
    """Strength that walks, and days that differ, at given (day, lift, side) in the order of their days [d]."""

    def __init__(self, seen: Iterable[tuple[float, str, str]], c: Constants) -> None:
        seen = list(seen)
        self._c = c
        self.weeks = np.array([day / 7.0 for day, _, _ in seen])
        self.lifts = np.array([lift for _, lift, _ in seen])
        self.signs = np.array([SIGN[side] for _, _, side in seen])
        self.one_day = self.weeks[:, None] == self.weeks[None, :]
        number = np.unique(self.lifts, return_inverse=True)[1]
        self.one_lift = number[:, None] == number[None, :]
        self.sides = np.outer(self.signs, self.signs)
        self.together = np.minimum(self.weeks[:, None], self.weeks[None, :])

    def covariance(self) -> Array:
        """Return how the strengths shown hang together, sets' own chance left out. [ln strength, squared]"""
        c = self._c
        person = c.walk_person**2 * self.together + _UNKNOWN_LEVEL**2 + self.one_day * c.day_shared**2
        lift = c.walk_exercise**2 * self.together + _UNKNOWN_LEVEL**2 + self.one_day * c.day_own**2
        gap = c.half_gap_walk**2 * self.together + _UNKNOWN_GAP**2 + self.one_day * c.day_side**2
        return np.asarray(person + self.one_lift * (lift + self.sides * gap))

    def seen_until(self, week: float) -> int:
        """Return how many were seen up to a week."""
        return int(np.searchsorted(self.weeks, week + 1e-6, "right"))

    def within(self, since: float, until: float) -> Array:
        """Return what of a stretch of weeks lies before each. [wk]"""
        return np.asarray(np.minimum(self.weeks, until) - np.minimum(self.weeks, since))

    def tied(self, lift: str, side: str, since: float, until: float) -> Array:
        """Return how each hangs together with the walk of a lift's side over a stretch of weeks."""
        c, own = self._c, self.lifts == lift
        gap = SIGN[side] * self.signs * c.half_gap_walk**2
        a_week = c.walk_person**2 + own * (c.walk_exercise**2 + gap)
        return np.asarray(self.within(since, until) * a_week)

    def walked(self, side: str) -> float:
        """Return the variance of a week's walk."""
        c = self._c
        return c.walk_person**2 + c.walk_exercise**2 + (SIGN[side] * c.half_gap_walk) ** 2


def root_of(covariance: Array) -> Array:
    """Return the lower root of a covariance, which is spent."""
    return np.asarray(cholesky(covariance, lower=True, overwrite_a=True, check_finite=False))


def told_by(root: Array, tied: Array, seen: int) -> float:
    """Return how much variance the first so many observations take away, of a lower ``root`` of all their covariance.

    What is solved for the first does not hang on later ones, so that the root need not be cut and copied.
    """
    if not seen:
        return 0.0
    told = solve_triangular(root, tied, lower=True, check_finite=False)[:seen]
    return float(told @ told)
