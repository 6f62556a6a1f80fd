"""How strength changed between two days: a distribution, not a difference of two estimates."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import erf, exp, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.capability import Line
from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Estimate, Interval
from service.core.trend.stretch import SETTLING_HALVES
from service.core.units import Days, LogRatio, Share

Array = NDArray[np.float64]
#: Variance below which a change is taken for known: no divisor may be zero. [1]
_LEAST_VARIANCE = 1e-12
#: Spread between the lifts of one muscle in how they change over eight weeks (judgement). [1]
BETWEEN_LIFTS_SD: Final[LogRatio] = 0.015
#: Doubt about a change that begins with the log itself (judgement). [1]
SETTLING_SD: Final[LogRatio] = 0.025
#: Doubt about a change on levels, as a share of it: a level's number is no mass, and from one to the next the mass may
#: grow by far less than the number does, or by more (judgement). [1]
LEVEL_DOUBT: Final = 0.4
_REACH_SD = 10.0
_HALVINGS = 60


@dataclass(frozen=True, slots=True)
class Change:
    """Change of ln strength [1] as a mixture of Gaussians, one for each hypothesis about the athlete.

    ``shared`` (h, g) is its covariance with what all of the athlete's lifts share, ``shared_covariance`` (h, g, g) what
    that varies by itself: two lifts' errors hang together through it. Both are empty where nothing is shared.

    Raises:
        OutsideValidity: the parts differ in number, a variance is negative, or a number is not finite.
    """

    weights: Array
    means: Array
    variances: Array
    shared: Array
    shared_covariance: Array

    def __post_init__(self) -> None:
        numbers = np.concatenate([self.weights, self.means, self.variances])
        alike = len(self.weights) == len(self.means) == len(self.variances) == len(self.shared) > 0
        if not alike or not np.isfinite(numbers).all() or (self.variances < 0.0).any():
            raise OutsideValidity(parts=len(self.weights))

    @property
    def mean(self) -> LogRatio:
        """Mean of the change. [1]"""
        return float(self.weights @ self.means)

    @property
    def sd(self) -> LogRatio:
        """Standard deviation of the change. [1]"""
        return sqrt(float(self.weights @ (self.variances + (self.means - self.mean) ** 2)))

    def probability_above(self, ratio: LogRatio) -> Share:
        """Return the chance that strength changed by more than ``ratio``. [1]"""
        scaled = (self.means - ratio) / np.sqrt(np.maximum(self.variances, _LEAST_VARIANCE))
        return float(self.weights @ [0.5 * (1.0 + erf(one / sqrt(2.0))) for one in scaled])

    def quantile(self, probability: Share) -> LogRatio:
        """Return the change that is not exceeded with this probability. [1]"""
        reach = _REACH_SD * np.sqrt(np.maximum(self.variances, _LEAST_VARIANCE))
        low, high = float((self.means - reach).min()), float((self.means + reach).max())
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (
                (middle, high) if self.probability_above(middle) > 1.0 - probability else (low, middle)
            )
        return 0.5 * (low + high)

    def percent(self, mass: Share = DEFAULT_MASS) -> Estimate:
        """Return the change in the load that can be lifted, with its credible interval. [%]"""
        tail = 0.5 * (1.0 - mass)
        low, middle, high = (_percent(self.quantile(one)) for one in (tail, 0.5, 1.0 - tail))
        return Estimate(middle, "%", 100.0 * exp(self.mean) * self.sd, Interval(low, high, mass))


def _percent(ratio: LogRatio) -> float:
    return 100.0 * (exp(ratio) - 1.0)


def change_between(line: Line, first: int, last: int) -> Change:
    """Return the change between two sessions of a line, by their place in it."""
    step = np.zeros(len(line.days))
    step[last] += 1.0
    step[first] -= 1.0
    return _along(line, step)


def change_over(line: Line, start: Days, end: Days) -> Change:
    """Return the change between two days of a line, taken straight between the sessions on either side of each. [d]

    Raises:
        OutsideValidity: a day lies before the line's first session or after its last one.
    """
    return _along(line, _reading(line.days, end) - _reading(line.days, start))


def _reading(days: Sequence[Days], day: Days) -> Array:
    """Return the weights of a line's sessions in what it reads on a day."""
    if not days[0] <= day <= days[-1]:
        raise OutsideValidity(day=day)
    after = bisect_left(days, day)
    read = np.zeros(len(days))
    read[after] = 1.0
    if days[after] > day:
        share = (days[after] - day) / (days[after] - days[after - 1])
        read[after - 1], read[after] = share, 1.0 - share
    return read


def _along(line: Line, step: Array) -> Change:
    """Return a difference of weighted sums of a line's sessions.

    Its variance is that of a difference of things that are wrong together: var(x) + var(y) - 2 cov(x, y).
    """
    variances = np.einsum("i,hij,j->h", step, line.covariances, step)
    return Change(
        line.weights,
        line.means @ step,
        np.maximum(variances, 0.0),
        np.einsum("i,hig->hg", step, line.shared),
        line.shared_covariance,
    )


def gaussian_change(mean: LogRatio, sd: LogRatio) -> Change:
    """Return a change that is one Gaussian and shares nothing with other lifts."""
    one = np.ones(1)
    return Change(one, mean * one, sd * sd * one, np.zeros((1, 0)), np.zeros((1, 0, 0)))


def strangers(changes: Sequence[Change]) -> Sequence[Change]:
    """Return changes of lifts that were each looked back on alone: they share no error, and no hypothesis with another.

    Each of several is one Gaussian of the same mean and sd; a single one stays the mixture that it is.
    """
    return [gaussian_change(one.mean, one.sd) for one in changes] if len(changes) > 1 else changes


def common_change(changes: Sequence[Change], between_lifts_sd: LogRatio) -> Change:
    """Return what several lifts tell together of the change of what they have in common, a muscle's strength.

    Generalised least squares under each hypothesis: lifts err together through what they share, and each differs from
    the common change by ``between_lifts_sd`` [1].

    Raises:
        OutsideValidity: there is no lift, or they stand under different hypotheses.
    """
    if not changes or len({len(one.weights) for one in changes}) > 1:
        raise OutsideValidity(lifts=len(changes))
    parts = [_common(changes, h, between_lifts_sd) for h in range(len(changes[0].weights))]
    means, variances = np.array(parts).T
    first = changes[0]
    return Change(first.weights, means, variances, np.zeros((len(parts), 0)), np.zeros((len(parts), 0, 0)))


def _common(changes: Sequence[Change], h: int, between_lifts_sd: LogRatio) -> tuple[float, float]:
    means = np.array([one.means[h] for one in changes])
    covariance = np.diag([one.variances[h] for one in changes]).astype(np.float64)
    tied = np.array([one.shared[h] for one in changes])
    through = tied @ np.linalg.pinv(changes[0].shared_covariance[h], hermitian=True) @ tied.T
    np.fill_diagonal(through, 0.0)
    covariance += through + (between_lifts_sd**2 + _LEAST_VARIANCE) * np.eye(len(changes))
    weights = np.linalg.solve(covariance, np.ones(len(changes)))
    precision = float(weights.sum())
    return float(weights @ means) / precision, 1.0 / precision


def settled(change: Change, log_age: Days) -> Change:
    """Return a change with the doubt of a young log added; ``log_age`` [d] is that of `stretch.age_of_log` where it begins."""
    return replace(change, variances=change.variances + settling_variance(log_age))


def settling_variance(log_age: Days) -> float:
    """Return the variance that a young log adds to a change. [1]

    In the first weeks it is still being learnt how someone reports, where their sets stop and how many repetitions a
    load allows. All of that moves with the loads and looks like strength.
    """
    doubt: float = SETTLING_SD * 0.5 ** (max(log_age, 0.0) / SETTLING_HALVES)
    return doubt * doubt


def on_levels(change: Change) -> Change:
    """Return a change read off the numbers of levels with the doubt that these are no masses: its sign is what it tells."""
    return replace(change, variances=change.variances + (LEVEL_DOUBT * change.means) ** 2)
