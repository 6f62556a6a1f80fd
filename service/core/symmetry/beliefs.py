"""Distributions of t = ln(right / left), and what is read from them: intervals and chances."""

from dataclasses import dataclass
from math import inf
from statistics import NormalDist
from typing import Protocol

from scipy.special import ndtr, stdtr, stdtrit

from service.core.estimates import DEFAULT_MASS, Interval
from service.core.units import LogRatio, Share


class Belief(Protocol):
    """A distribution of t."""

    def above(self, x: float) -> float:
        """Return the probability that t is greater."""

    def quantile(self, p: float) -> float:
        """Return the value that t does not exceed with this probability."""


@dataclass(frozen=True, slots=True)
class StudentBelief:
    """t about an estimate with a standard error that was itself estimated; infinite degrees of freedom: a normal."""

    centre: LogRatio
    standard_error: LogRatio
    degrees_of_freedom: float

    def above(self, x: float) -> float:
        """Return the probability that t is greater."""
        z = (self.centre - x) / self.standard_error
        df = self.degrees_of_freedom
        return float(ndtr(z) if df == inf else stdtr(df, z))

    def quantile(self, p: float) -> float:
        """Return the value that t does not exceed with this probability."""
        df = self.degrees_of_freedom
        z = NormalDist().inv_cdf(p) if df == inf else float(stdtrit(df, p))
        return self.centre + self.standard_error * z


def central(belief: Belief, mass: Share = DEFAULT_MASS) -> Interval:
    """Return the interval of t with equal tails."""
    return Interval(belief.quantile(0.5 - mass / 2.0), belief.quantile(0.5 + mass / 2.0), mass)


def size_interval(belief: Belief, mass: Share = DEFAULT_MASS) -> Interval:
    """Return the interval of |t|: from 0 where t's own holds 0, with exactly the asked mass; else t's own without its sign."""
    ends = central(belief, mass)
    if not ends.lower <= 0.0 <= ends.upper:
        low, high = sorted((abs(ends.lower), abs(ends.upper)))
        return Interval(low, high, mass)
    low, high = 0.0, max(-ends.lower, ends.upper)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if belief.above(-middle) - belief.above(middle) < mass else (low, middle)
    return Interval(0.0, 0.5 * (low + high), mass)


def p_beyond(belief: Belief, smallest_worthwhile: LogRatio) -> Share:
    """Return the probability that |t| is larger than the smallest worthwhile difference."""
    return belief.above(smallest_worthwhile) + 1.0 - belief.above(-smallest_worthwhile)
