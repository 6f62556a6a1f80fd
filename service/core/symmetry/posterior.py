"""What measurements say of t = ln(right/left): readings without a prior, conditioned and pooled.

One reading is a log ratio with its error variance and no prior in it; a Gaussian prior turns it into a
posterior in closed form. Readings of several exercises are pooled with the spread between exercises
integrated out. Strength, endurance, size and joint motion are never mixed, nor are two places of a tape.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, pi, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.estimates import Reason
from service.core.symmetry.mixture import Mixture, gaussian
from service.core.units import Days, LogRatio

#: What is compared. A joint's motion is compared in degrees, right minus left; the rest as ln(right/left): of
#: the load for the repetitions that are trained, of the curve's k, of a limb's cross-section.
SideKind = Literal["strength", "endurance", "size", "joint_motion"]

#: Prior sd of t, near that of the half difference h ~ N(0, 0.03^2): its mean |t| of 4 % is near what trained
#: people show, 4.9 and 5.8 % between knee extensors [Baroni2016]_; after an injury far more (judgement).
PRIOR_SD = 0.06
PRIOR_SD_AFTER_INJURY = 0.2
#: Spread of t between the exercises of one muscle: half-normal of this scale, integrated out. Wider, and two lifts
#: that agree could never say more than one (judgement).
BETWEEN_EXERCISES_SCALE = 0.015
#: Places of which one only may be answered from: a tape's, and a joint's test.
_ONE_PLACE = frozenset({"size", "joint_motion"})
_NORMAL = NormalDist()
_SPREADS = 24


@dataclass(frozen=True, slots=True)
class SidePrior:
    """Gaussian prior of t."""

    mean: LogRatio = 0.0
    sd: LogRatio = PRIOR_SD


POPULATION = SidePrior()
AFTER_INJURY = SidePrior(sd=PRIOR_SD_AFTER_INJURY)


@dataclass(frozen=True, slots=True)
class SideReading:
    """One exercise's or place's t with its error variance, no prior in it.

    ``visit_count`` visits made it; ``effort_known`` is False where one side's reserve was not given, so that
    copied repetitions could hide a difference; ``key`` names the exercise, the tape's place or the test.
    ``visit_variance`` is the error variance of one more visit; ``visit_count`` times ``variance`` where it is
    not told.
    """

    key: str
    kind: SideKind
    t: LogRatio
    variance: float
    visit_count: int
    newest_day: Days | None = None
    effort_known: bool = True
    reasons: tuple[Reason, ...] = ()
    visit_variance: float | None = None

    @property
    def next_variance(self) -> float:
        """Error variance of one more visit."""
        return self.variance * self.visit_count if self.visit_variance is None else self.visit_variance


def condition(t: LogRatio, variance: float, prior: SidePrior = POPULATION) -> tuple[LogRatio, float]:
    """Return mean and variance of t after one reading: the conjugate normal posterior.

    Raises
    ------
    OutsideValidity
        If the variance or the prior's sd is not positive.
    """
    if variance <= 0.0 or prior.sd <= 0.0:
        raise OutsideValidity(variance=variance, prior_sd=prior.sd)
    precision = 1.0 / variance + 1.0 / prior.sd**2
    return (t / variance + prior.mean / prior.sd**2) / precision, 1.0 / precision


def reading_from_posterior(
    key: str,
    mean: LogRatio,
    variance: float,
    visit_count: int,
    *,
    prior: SidePrior = POPULATION,
    newest_day: Days | None = None,
    effort_known: bool = True,
    kind: SideKind = "strength",
) -> SideReading:
    """Take the prior out of a filter's posterior of t, so that pooling does not count it twice.

    Raises
    ------
    TooFewObservations
        If the posterior is no narrower than its prior: nothing was learned about this exercise's sides.
    """
    gained = 1.0 / variance - 1.0 / prior.sd**2
    if gained <= 1e-3 / prior.sd**2 or visit_count < 1:
        raise TooFewObservations(key=key, variance=variance, prior_variance=prior.sd**2)
    t = (mean / variance - prior.mean / prior.sd**2) / gained
    return SideReading(key, kind, t, 1.0 / gained, visit_count, newest_day, effort_known)


def pool_readings(
    readings: Sequence[SideReading],
    *,
    prior: SidePrior = POPULATION,
    between_exercises_scale: LogRatio = BETWEEN_EXERCISES_SCALE,
) -> Mixture:
    """Return the distribution of t that readings leave, pooled as `decisions.side_posterior` pools them.

    Raises ``TooFewObservations`` without a reading, ``MixedInputs`` where kinds or places are mixed.
    """
    return pooled_with_spread(readings, prior, between_exercises_scale)[0]


def pooled_with_spread(
    readings: Sequence[SideReading], prior: SidePrior, scale: LogRatio
) -> tuple[Mixture, LogRatio]:
    """Return the pooled t and the mean spread between exercises, integrated over its half-normal prior.

    The grid is the half-normal's midpoint quantiles. Raises as `pool_readings` does.
    """
    refuse_mixtures(readings)
    if len(readings) == 1:
        mean, variance = condition(readings[0].t, readings[0].variance, prior)
        return gaussian(mean, sqrt(variance)), 0.0
    spreads = [scale * _NORMAL.inv_cdf(0.5 + 0.5 * (i + 0.5) / _SPREADS) for i in range(_SPREADS)]
    parts = [_given_spread(readings, prior, spread) for spread in spreads]
    evidence = np.exp(np.array([p[2] for p in parts]) - max(p[2] for p in parts))
    weights = evidence / evidence.sum()
    mixture = Mixture(tuple(map(float, weights)), tuple(p[0] for p in parts), tuple(p[1] for p in parts))
    return mixture, float(np.dot(weights, spreads))


def _given_spread(
    readings: Sequence[SideReading], prior: SidePrior, spread: LogRatio
) -> tuple[float, float, float]:
    """Return mean, sd and log evidence of the pooled t with the spread between exercises held fixed."""
    mean, variance, evidence = prior.mean, prior.sd**2, 0.0
    for reading in readings:
        noise = reading.variance + spread**2
        total = variance + noise
        evidence -= 0.5 * (log(2.0 * pi * total) + (reading.t - mean) ** 2 / total)
        gain = variance / total
        mean, variance = mean + gain * (reading.t - mean), variance * noise / total
    return mean, sqrt(variance), evidence


def refuse_mixtures(readings: Sequence[SideReading]) -> None:
    """Raise ``TooFewObservations`` without a reading, ``MixedInputs`` where kinds or places are mixed."""
    if not readings:
        raise TooFewObservations(readings=0)
    kinds = {r.kind for r in readings}
    keys = [r.key for r in readings]
    if len(kinds) > 1 or (kinds <= _ONE_PLACE and len(set(keys)) > 1) or len(set(keys)) < len(keys):
        raise MixedInputs(kinds=sorted(kinds), keys=sorted(keys))


def newest_of(readings: Sequence[SideReading]) -> Days | None:
    """Return the newest day of some readings, None where none tells one. [d]"""
    return max((r.newest_day for r in readings if r.newest_day is not None), default=None)
