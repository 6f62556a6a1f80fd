"""A Gaussian mixture of t whose figures mirror: turned round, every one is exactly the other side's."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, exp, pi, sqrt
from statistics import NormalDist

from service.core.units import LogRatio, Share

_STEPS = 60
_CLOSE = 1e-12
_NORMAL = NormalDist()
_ROOT_TWO_PI = sqrt(2.0 * pi)


@dataclass(frozen=True, slots=True)
class Mixture:
    """Weights, means and standard deviations of t = ln(right/left)."""

    weights: tuple[Share, ...]
    means: tuple[LogRatio, ...]
    sds: tuple[LogRatio, ...]

    @property
    def mirrored(self) -> "Mixture":
        """The same with left and right swapped."""
        return Mixture(self.weights, tuple(-m for m in self.means), self.sds)

    def mean(self) -> LogRatio:
        """Return the mean of t."""
        return sum(w * m for w, m in zip(self.weights, self.means, strict=True))

    def sd(self) -> LogRatio:
        """Return the standard deviation of t."""
        centre = self.mean()
        parts = zip(self.weights, self.means, self.sds, strict=True)
        return sqrt(sum(w * (s**2 + (m - centre) ** 2) for w, m, s in parts))

    def above(self, x: LogRatio) -> Share:
        """Return the probability that t is greater. [1]"""
        parts = zip(self.weights, self.means, self.sds, strict=True)
        # Weights that add up to one do so to rounding, and a chance may not be more than one by that.
        return min(sum(w * 0.5 * erfc((x - m) / (s * sqrt(2.0))) for w, m, s in parts), 1.0)

    def below(self, x: LogRatio) -> Share:
        """Return the probability that t is less. [1]"""
        return self.mirrored.above(-x)

    def beyond(self, size: LogRatio) -> Share:
        """Return the probability that t is further from equality than ``size``, either way. [1]"""
        return min(self.above(size) + self.below(-size), 1.0)

    def upper(self, tail: Share) -> LogRatio:
        """Return the value that t exceeds with this probability."""
        if len(self.means) == 1:
            return self.means[0] + self.sds[0] * _NORMAL.inv_cdf(1.0 - tail)
        reach = 12.0 * max(self.sds)
        lower, upper = min(self.means) - reach, max(self.means) + reach
        x = self.mean() + self.sd() * _NORMAL.inv_cdf(1.0 - tail)
        for _ in range(_STEPS):
            over = self.above(x) - tail
            lower, upper = (x, upper) if over > 0.0 else (lower, x)
            step = over / max(self._density(x), 1e-300)
            if abs(step) <= _CLOSE:
                return x
            x = x + step if lower < x + step < upper else 0.5 * (lower + upper)
        return x

    def _density(self, x: LogRatio) -> float:
        parts = zip(self.weights, self.means, self.sds, strict=True)
        return sum(w * exp(-0.5 * ((x - m) / s) ** 2) / (s * _ROOT_TWO_PI) for w, m, s in parts)

    def lower(self, tail: Share) -> LogRatio:
        """Return the value below which t lies with this probability."""
        return -self.mirrored.upper(tail)

    def quantile(self, p: Share) -> LogRatio:
        """Return the value that t does not exceed with this probability."""
        return self.lower(p) if p < 0.5 else self.upper(1.0 - p)


def gaussian(mean: LogRatio, sd: LogRatio) -> Mixture:
    """Return one Gaussian as a mixture."""
    return Mixture((1.0,), (mean,), (sd,))


def weighed(parts: Sequence[tuple[float, float]], weights: Sequence[float]) -> tuple[float, float]:
    """Return mean and variance of a mixture of parts that are told as mean and variance."""
    mean = sum(w * m for w, (m, _) in zip(weights, parts, strict=True))
    return mean, sum(w * (v + (m - mean) ** 2) for w, (m, v) in zip(weights, parts, strict=True))


def symmetric_nodes(count: int, inv_cdf: Callable[[float], float]) -> tuple[float, ...]:
    """Return an odd number of equally likely points of a symmetric distribution, exact mirrors of each other."""
    upper = [inv_cdf((i + 0.5) / count) for i in range(count // 2 + 1, count)]
    return (*(-z for z in reversed(upper)), 0.0, *upper)
