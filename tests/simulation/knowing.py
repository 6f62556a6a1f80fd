"""How far off a trend must be for one who knows everything about an athlete but what chance brings.

The curve, the gains, the losses and the tiring of a simulated athlete are known here, and of each working set its
repetitions to failure, exactly. What is left is a Gaussian process: strength wanders, days and sets differ. Its
posterior variance is the least that any reader of such a log can reach on average.
"""

from collections.abc import Iterable
from math import sqrt

import numpy as np

from tests.simulation.constants import Constants
from tests.simulation.rows import SetRow
from tests.simulation.wandering import Wandering, root_of, told_by


class Knowing:
    """What one athlete's working sets say of how strength wandered, every set seen without error."""

    def __init__(self, rows: Iterable[SetRow], c: Constants) -> None:
        counts: dict[tuple[float, str, str], int] = {}
        for row in rows:
            if row.role == "work" and not row.duplicate:
                key = (row.day, row.exercise, row.side)
                counts[key] = counts.get(key, 0) + 1
        seen = sorted(counts)
        self._wandering = Wandering(seen, c)
        noise = [c.set_noise**2 / counts[one] for one in seen]
        self._root = root_of(self._wandering.covariance() + np.diag(noise)) if seen else np.zeros((0, 0))

    def least_sd(self, lift: str, side: str, first: float, last: float) -> float:
        """Return the sd of the change between two days [d] for one who saw all sets up to the last. [ln strength]"""
        since, until = first / 7.0, last / 7.0
        seen = self._wandering.seen_until(until)
        told = told_by(self._root, self._wandering.tied(lift, side, since, until), seen)
        return sqrt(max((until - since) * self._wandering.walked(side) - told, 0.0))
