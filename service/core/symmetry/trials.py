"""The difference between sides from the trials of one visit: t = ln(right / left), its variance, and what follows.

The estimator is the mean of ln over the trials, or the ratio of means, or the ratio of best trials, as the test defines
it. Its variance comes from the spread of the trials or from a known measurement error, with the covariance of trials
that were done in pairs. Without a prior t has a Student distribution about the estimate (known error: a normal one).
Trials of one visit cannot show how t differs from visit to visit: that is added where it is known.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, inf, log, pi, sqrt
from statistics import NormalDist, fmean, median
from typing import Final, Literal, Protocol

import numpy as np
from scipy.special import chdtri, ndtr, stdtr, stdtrit

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.estimates import DEFAULT_MASS, Estimate, Interval
from service.core.symmetry.decisions import AHEAD_PROBABILITY, BEYOND_PROBABILITY, MOST_VISITS
from service.core.symmetry.index_catalogue import Side
from service.core.symmetry.indices import TrialDefinition, minimal_detectable_change
from service.core.symmetry.mixture import Mixture
from service.core.symmetry.posterior import SidePrior
from service.core.units import LogRatio, Share

Summary = Literal["geometric_mean_of_trials", "mean_of_trials", "best_of_trials"]
#: A trial so many times another of its own side, or its inverse, is taken for a slip of the decimal (judgement).
SLIP_FACTOR: Final = 4.0
_SPREADS, _POINTS = 64, 41


@dataclass(frozen=True, slots=True)
class SideTrials:
    """The trials of one side, in one unit, in the order in which they were done.

    ``trial_sd`` is the known sd of ln of one trial, near its coefficient of variation; None lets the trials tell it.
    """

    values: tuple[float, ...]
    trial_sd: LogRatio | None = None


@dataclass(frozen=True, slots=True)
class TrialFault:
    """What is wrong with a trial, by side and place from 0; ``trial`` None means the side as a whole."""

    side: Side
    trial: int | None
    code: str
    expected: str


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


@dataclass(frozen=True, slots=True)
class TrialComparison:
    """What the trials of one visit say of t, with no prior in it.

    ``t`` is None where a side measured nothing at all; ``variance`` and ``belief`` are None where nothing tells the error.
    ``trial_variance`` is the part of the variance that more trials lessen; ``pair_covariance`` that of ln of two trials
    done as a pair. ``definition`` says how the trials became one value a side.
    """

    left: float
    right: float
    t: LogRatio | None
    definition: TrialDefinition
    variance: float | None
    degrees_of_freedom: float
    visit_variance: float
    trial_variance: float
    pair_covariance: float | None
    belief: Belief | None


@dataclass(frozen=True, slots=True)
class _Error:
    """Variance of the estimate from the trials, and how many degrees of freedom estimated it."""

    variance: float
    degrees_of_freedom: float
    covariance: float | None


def faults_of(
    left: SideTrials, right: SideTrials, *, paired: bool, summary: Summary
) -> tuple[TrialFault, ...]:
    """Return what keeps trials from being compared: which side, which trial, and what was expected."""
    found: list[TrialFault] = []
    sides: tuple[tuple[Side, SideTrials], ...] = (("left", left), ("right", right))
    for side, trials in sides:
        found += _faults_of_side(side, trials)
    counts = len(left.values), len(right.values)
    if counts[0] != counts[1] and (paired or summary == "best_of_trials"):
        longer: Side = "left" if counts[0] > counts[1] else "right"
        code = "trial_without_pair" if paired else "unequal_trials"
        found.append(TrialFault(longer, min(counts), code, f"{min(counts)} trials, as on the other side"))
    if (left.trial_sd is None) != (right.trial_sd is None):
        lacking: Side = "left" if left.trial_sd is None else "right"
        found.append(
            TrialFault(lacking, None, "one_error_given", "a `trial_sd` for both sides or for neither")
        )
    return tuple(found)


def _faults_of_side(side: Side, trials: SideTrials) -> list[TrialFault]:
    values = trials.values
    positive = [value for value in values if value > 0.0]
    if not positive:
        return []
    middle = median(positive)
    found = []
    for place, value in enumerate(values):
        if value <= 0.0:
            found.append(TrialFault(side, place, "trial_of_nothing", "above 0: leave a failed trial out"))
        elif len(values) > 2 and not middle / SLIP_FACTOR < value < middle * SLIP_FACTOR:
            expected = f"between {middle / SLIP_FACTOR:g} and {middle * SLIP_FACTOR:g}, a quarter to four times the median"
            found.append(TrialFault(side, place, "trial_far_off", expected))
    if len(positive) == len(values) == 2 and max(values) >= SLIP_FACTOR * min(values):
        expected = f"less than {SLIP_FACTOR:g} times the side's other trial"
        found.append(TrialFault(side, values.index(max(values)), "trial_far_off", expected))
    return found


def summarised(values: Sequence[float], summary: Summary) -> float:
    """Return one value for the trials of a side, in their unit."""
    if summary == "best_of_trials":
        return max(values)
    if summary == "mean_of_trials" or min(values) <= 0.0:
        return fmean(values)
    return exp(fmean(log(value) for value in values))


def best_of_spread(count: int) -> float:
    """Return the variance of the largest of so many standard normal values; 1 for one, 0.6817 for two."""
    x = np.linspace(-9.0, 9.0, 6001)
    density = count * ndtr(x) ** (count - 1) * np.exp(-0.5 * x**2) / sqrt(2.0 * pi)
    mean = float(np.trapezoid(x * density, x))
    return float(np.trapezoid((x - mean) ** 2 * density, x))


def compare_trials(
    left: SideTrials,
    right: SideTrials,
    *,
    summary: Summary = "geometric_mean_of_trials",
    paired: bool = False,
    trial_covariance: float | None = None,
    visit_sd: LogRatio = 0.0,
) -> TrialComparison:
    """Return t = ln(right / left) of one visit's trials with its variance.

    Parameters
    ----------
    left, right
        The trials of each side, above 0 and in one unit; a side may also be 0 in all its trials.
    summary
        What the test takes of a side's trials. The variance of ln of a mean is that of the mean of ln to the first order
        (delta method: of order CV^4 apart); that of the best is the spread of the largest of n normal values.
    paired
        Whether the n-th left and the n-th right trial were done together, so that their errors are correlated. The
        difference of best trials is taken without it.
    trial_covariance
        Known covariance of ln of the two trials of a pair, beside known ``trial_sd``.
    visit_sd
        Known sd of t from visit to visit, which the trials of one visit cannot show.

    Raises
    ------
    OutsideValidity
        For faulty trials (``faults_of`` names them) or a covariance beyond the product of the sds.
    TooFewObservations
        Without a trial on a side.

    References
    ----------
    v = sR^2/nR + sL^2/nL - 2 cov/n, from memory (normal theory); the spread is pooled over both sides, for it belongs to the
    test and not to the limb (judgement), so that t is Student's with nL + nR - 2 degrees of freedom, pairs with n - 1.
    """
    if not (left.values and right.values):
        raise TooFewObservations(left=len(left.values), right=len(right.values))
    if faults := faults_of(left, right, paired=paired, summary=summary):
        raise OutsideValidity(faults=faults)
    ends = summarised(left.values, summary), summarised(right.values, summary)
    definition: TrialDefinition = "one_trial" if len(left.values) == len(right.values) == 1 else summary
    if min(ends) <= 0.0:
        return TrialComparison(*ends, None, definition, None, inf, visit_sd**2, 0.0, None, None)
    t = log(ends[1]) - log(ends[0])
    error = _error(left, right, summary, paired, trial_covariance)
    if error is None:
        return TrialComparison(*ends, t, definition, None, inf, visit_sd**2, 0.0, None, None)
    belief = _belief(t, error, visit_sd)
    return TrialComparison(
        *ends, t, definition, error.variance + visit_sd**2, error.degrees_of_freedom, visit_sd**2, error.variance,
        error.covariance, belief,
    )  # fmt: skip


def _error(
    left: SideTrials, right: SideTrials, summary: Summary, paired: bool, covariance: float | None
) -> _Error | None:
    """Return the error variance of the estimate, None where nothing tells it."""
    counts = len(left.values), len(right.values)
    best = summary == "best_of_trials"
    shares = [best_of_spread(count) if best else 1.0 / count for count in counts]
    if left.trial_sd is not None and right.trial_sd is not None:
        if covariance is not None and abs(covariance) > left.trial_sd * right.trial_sd:
            raise OutsideValidity(trial_covariance=covariance, at_most=left.trial_sd * right.trial_sd)
        shared = covariance if paired and covariance is not None and not best else 0.0
        variance = left.trial_sd**2 * shares[0] + right.trial_sd**2 * shares[1] - 2.0 * shared / counts[0]
        return _Error(variance, inf, shared if paired else None) if variance > 0.0 else None
    logs = [np.log(np.array(side.values)) for side in (left, right)]
    if paired and not best:
        return _error_of_pairs(logs[0], logs[1])
    freedom = sum(counts) - 2
    squares = float(sum(((one - one.mean()) ** 2).sum() for one in logs))
    if freedom < 1 or squares <= 0.0:
        return None
    return _Error(squares / freedom * sum(shares), float(freedom), None)


def _error_of_pairs(left: np.ndarray, right: np.ndarray) -> _Error | None:
    count = len(left)
    if count < 2:
        return None
    variance = float(np.var(right - left, ddof=1)) / count
    covariance = float(np.cov(left, right, ddof=1)[0, 1])
    return _Error(variance, float(count - 1), covariance) if variance > 0.0 else None


def _belief(t: LogRatio, error: _Error, visit_sd: LogRatio) -> Belief:
    """Return t's distribution with no prior: Student's, or a mixture where something known adds to an estimated error."""
    if visit_sd == 0.0 or error.degrees_of_freedom == inf:
        return StudentBelief(t, sqrt(error.variance + visit_sd**2), error.degrees_of_freedom)
    variances = _variances(error, visit_sd)
    return Mixture((1.0 / _SPREADS,) * _SPREADS, (t,) * _SPREADS, tuple(map(float, np.sqrt(variances))))


def _variances(error: _Error, visit_sd: LogRatio) -> np.ndarray:
    """Return what the variance of the estimate may be, in equal shares: a scaled inverse chi-square plus what is known."""
    df = error.degrees_of_freedom
    if df == inf:
        return np.array([error.variance + visit_sd**2])
    middles = (np.arange(_SPREADS) + 0.5) / _SPREADS
    spreads: np.ndarray = error.variance * df / chdtri(df, middles) + visit_sd**2
    return spreads


def with_prior(found: TrialComparison, prior: SidePrior) -> Mixture:
    """Return the posterior of t under a Gaussian prior.

    With a known error it is the conjugate normal one; raises TooFewObservations where nothing tells the error.
    """
    if found.t is None or found.variance is None:
        raise TooFewObservations(error=None)
    error = _Error(found.trial_variance, found.degrees_of_freedom, None)
    variances = _variances(error, sqrt(found.visit_variance))
    total = variances + prior.sd**2
    weights = np.exp(-0.5 * (found.t - prior.mean) ** 2 / total) / np.sqrt(total)
    means = prior.mean + (found.t - prior.mean) * prior.sd**2 / total
    sds = np.sqrt(variances * prior.sd**2 / total)
    shares = weights / weights.sum()
    return Mixture(tuple(map(float, shares)), tuple(map(float, means)), tuple(map(float, sds)))


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


def detectable_change(found: TrialComparison) -> LogRatio:
    """Return the change of t between two such visits that error alone exceeds once in twenty [Weir2005]_."""
    if found.variance is None:
        raise TooFewObservations(error=None)
    return minimal_detectable_change(sqrt(found.variance))


def visits_needed(
    found: TrialComparison,
    smallest_worthwhile: LogRatio,
    prior: SidePrior | None = None,
    mass: Share = DEFAULT_MASS,
) -> Estimate | None:
    """Return how many more such visits decide: a side ahead, or a difference too small to matter. [visits]

    The spread is over where t may lie. None where it is decided, where nothing tells the error, and where more than
    ``MOST_VISITS`` would be needed as likely as not.
    """
    if found.belief is None or found.variance is None:
        return None
    belief = found.belief if prior is None else with_prior(found, prior)
    ahead = max(belief.above(0.0), 1.0 - belief.above(0.0))
    if ahead >= AHEAD_PROBABILITY or p_beyond(belief, smallest_worthwhile) <= BEYOND_PROBABILITY:
        return None
    known = 0.0 if prior is None else prior.sd**-2
    points = [belief.quantile((place + 0.5) / _POINTS) for place in range(_POINTS)]
    visits = [_visits_if(t, found.variance, known, smallest_worthwhile) for t in points]
    further = [min(MOST_VISITS, max(1.0, one - 1.0)) for one in visits]
    low, middle, high = (float(np.quantile(further, p)) for p in (0.5 - mass / 2.0, 0.5, 0.5 + mass / 2.0))
    if middle >= MOST_VISITS:
        return None
    return Estimate(middle, "{visits}", float(np.std(further)), Interval(low, high, mass), "median")


def _visits_if(t: LogRatio, variance: float, known: float, smallest_worthwhile: LogRatio) -> float:
    """Return how many visits decide if t is the truth; ``known`` is the precision of the prior."""
    z_ahead, z_small = (NormalDist().inv_cdf(p) for p in (AHEAD_PROBABILITY, 1.0 - BEYOND_PROBABILITY))
    wanted = inf
    if t != 0.0:
        wanted = (z_ahead**2 + sqrt(z_ahead**4 + 4.0 * (t * z_ahead) ** 2 * known)) / (2.0 * t * t)
    if abs(t) < smallest_worthwhile:
        wanted = min(wanted, max(0.0, (z_small / (smallest_worthwhile - abs(t))) ** 2 - known))
    return variance * wanted


@dataclass(frozen=True, slots=True)
class SpreadOfGroups:
    """Variance of ln of each group's summary, and how many degrees of freedom estimated it."""

    variances: tuple[float, float, float]
    degrees_of_freedom: float


def spread_of(groups: Sequence[SideTrials], summary: Summary) -> SpreadOfGroups | None:
    """Return the variances of three groups of trials, pooled where they are not given; None where nothing tells them."""
    counts = [len(group.values) for group in groups]
    shares = [best_of_spread(n) if summary == "best_of_trials" else 1.0 / n for n in counts]
    given = [group.trial_sd for group in groups]
    if all(sd is not None for sd in given):
        known = [(sd or 0.0) ** 2 * share for sd, share in zip(given, shares, strict=True)]
        return SpreadOfGroups((known[0], known[1], known[2]), inf)
    freedom = sum(counts) - len(groups)
    if freedom < 1 or min(min(group.values) for group in groups) <= 0.0:
        return None
    squares = sum(float(np.var(np.log(group.values)) * len(group.values)) for group in groups)
    pooled = [squares / freedom * share for share in shares]
    return SpreadOfGroups((pooled[0], pooled[1], pooled[2]), float(freedom)) if squares > 0.0 else None
