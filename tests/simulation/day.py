"""The day's effect: shared by a session's exercises, own to each, and between the sides; and who can know it."""

import math
from random import Random

from tests.simulation.constants import Constants

SIGN = {"right": 1.0, "left": -1.0, "both": 0.0}


class Day:
    """Draws the effects of one session and keeps the exact Gaussian posterior an ideal observer would hold."""

    def __init__(self, c: Constants, rng: Random) -> None:
        self._c, self._rng = c, rng
        self._shared = rng.gauss(0.0, c.day_shared)
        self._own = self._between_sides = 0.0
        self._mean = [0.0, 0.0, 0.0]
        self._cov = [[0.0] * 3 for _ in range(3)]
        self._cov[0][0] = c.day_shared**2

    def next_exercise(self) -> None:
        """New effects for the exercise; what is known of the shared one stays."""
        c = self._c
        self._own = self._rng.gauss(0.0, c.day_own)
        self._between_sides = self._rng.gauss(0.0, c.day_side)
        self._mean[1] = self._mean[2] = 0.0
        shared = self._cov[0][0]
        self._cov = [[shared, 0.0, 0.0], [0.0, c.day_own**2, 0.0], [0.0, 0.0, c.day_side**2]]

    def prior_sd(self, side: str) -> float:
        """Of day's effect and set noise together, before the session [ln]."""
        c = self._c
        return math.sqrt(c.day_shared**2 + c.day_own**2 + (SIGN[side] * c.day_side) ** 2 + c.set_noise**2)

    def expected(self, side: str) -> tuple[float, float]:
        """Mean and sd of the next set's effect for one who saw the session's earlier sets exactly."""
        mean, variance, _ = self._project(side)
        return mean, math.sqrt(variance)

    def draw(self, side: str, *, seen: bool) -> float:
        """The set's effect; the ideal observer sees it, unless the set was too light to show anything."""
        effect = (
            self._shared
            + self._own
            + SIGN[side] * self._between_sides
            + self._rng.gauss(0.0, self._c.set_noise)
        )
        if not seen:
            return effect
        mean, variance, cross = self._project(side)
        for i in range(3):
            self._mean[i] += cross[i] / variance * (effect - mean)
        self._cov = [[self._cov[i][j] - cross[i] * cross[j] / variance for j in range(3)] for i in range(3)]
        return effect

    def _project(self, side: str) -> tuple[float, float, list[float]]:
        h = (1.0, 1.0, SIGN[side])
        cross = [sum(row[j] * h[j] for j in range(3)) for row in self._cov]
        variance = sum(h[i] * cross[i] for i in range(3)) + self._c.set_noise**2
        return sum(h[i] * self._mean[i] for i in range(3)), variance, cross
