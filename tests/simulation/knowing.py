"""How far off a trend must be for one who knows everything about an athlete but what chance brings.

The curve, the gains, the losses and the tiring of a simulated athlete are known here, and of each working set its
repetitions to failure, exactly. What is left is a Gaussian process: strength wanders, days and sets differ. Its
posterior variance is the least that any reader of such a log can reach on average.
"""

from collections.abc import Iterable
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from tests.simulation.constants import Constants
from tests.simulation.day import SIGN
from tests.simulation.rows import SetRow

Array = NDArray[np.float64]
#: Of levels that nobody told: so wide that they are read off the sets. [ln strength]
_UNKNOWN_LEVEL, _UNKNOWN_GAP = 0.5, 0.1


class Knowing:
    """What one athlete's working sets say of how strength wandered, every set seen without error."""

    def __init__(self, rows: Iterable[SetRow], c: Constants) -> None:
        counts: dict[tuple[float, str, str], int] = {}
        for row in rows:
            if row.role == "work" and not row.duplicate:
                key = (row.day, row.exercise, row.side)
                counts[key] = counts.get(key, 0) + 1
        seen = sorted(counts)
        self._c = c
        self._weeks = np.array([day / 7.0 for day, _, _ in seen])
        self._lifts = np.array([lift for _, lift, _ in seen])
        self._signs = np.array([SIGN[side] for _, _, side in seen])
        noise = [c.set_noise**2 / counts[one] for one in seen]
        self._root = cholesky(self._covariance() + np.diag(noise), lower=True) if seen else np.zeros((0, 0))

    def _covariance(self) -> Array:
        """Return how the strengths shown on two occasions hang together, sets' own chance left out."""
        c, weeks = self._c, self._weeks
        together = np.minimum(weeks[:, None], weeks[None, :])
        one_day, one_lift = weeks[:, None] == weeks[None, :], self._lifts[:, None] == self._lifts[None, :]
        sides = np.outer(self._signs, self._signs)
        person = c.walk_person**2 * together + _UNKNOWN_LEVEL**2 + one_day * c.day_shared**2
        lift = c.walk_exercise**2 * together + _UNKNOWN_LEVEL**2 + one_day * c.day_own**2
        gap = c.half_gap_walk**2 * together + _UNKNOWN_GAP**2 + one_day * c.day_side**2
        return np.asarray(person + one_lift * (lift + sides * gap))

    def least_sd(self, lift: str, side: str, first: float, last: float) -> float:
        """Return the sd of the change between two days [d] for one who saw all sets up to the last. [ln strength]"""
        c, since, until = self._c, first / 7.0, last / 7.0
        seen = int(np.searchsorted(self._weeks, until + 1e-6, "right"))
        within = np.minimum(self._weeks[:seen], until) - np.minimum(self._weeks[:seen], since)
        own = self._lifts[:seen] == lift
        gap = SIGN[side] * self._signs[:seen] * c.half_gap_walk**2
        tied = within * (c.walk_person**2 + own * (c.walk_exercise**2 + gap))
        told = solve_triangular(self._root[:seen, :seen], tied, lower=True)
        walked = c.walk_person**2 + c.walk_exercise**2 + (SIGN[side] * c.half_gap_walk) ** 2
        return sqrt(max((until - since) * walked - float(told @ told), 0.0))
