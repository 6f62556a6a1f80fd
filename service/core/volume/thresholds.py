"""Volume landmarks: the weekly hard sets at which a stated criterion is met, from the population alone.

Growth of a muscle by a square root of its weekly hard sets, g(V) = s (sqrt V - r) a week, after the form of
[Pelland2025]_. No downturn is assumed, since no published group curve has one.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, sqrt
from statistics import NormalDist
from typing import Final, Literal

import numpy as np

from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Reason
from service.core.units import HardSets, Share
from service.core.volume.hard_sets import TrainingAge

Criterion = Literal["keeps_size", "detectable_gain", "small_next_gain"]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "dose-response/0"
#: Weeks over which a gain is judged (the length of the trials behind the slopes: 8 to 12).
HORIZON_WEEKS = 12.0
#: Gain that is worth telling over the horizon, as a share of size: a choice, not a measurement error.
DETECTABLE_GAIN = 0.004
#: Worth of one more weekly set over the horizon, as a share of size: a choice.
SMALL_NEXT_GAIN = 0.002
#: Probability with which the detectable gain must be reached.
DETECTABLE_PROBABILITY = 0.8
#: Slope a week and root weekly set, mean. 1.68 % over 12 weeks, from 0.24 % a set at 12.25 sets, gives 0.0014
#: ([Pelland2025]_, from memory); the linear 0.37 % a set of [Schoenfeld2017]_ is that curve's slope at 5.2 sets.
#: Trained lifters 0.7 of it, and who is not known near them (judgement).
SLOPE_MEAN: dict[TrainingAge, float] = {"novice": 0.0014, "unknown": 0.0011, "trained": 0.0010}
#: Coefficient of variation between people. [Hubal2005]_ saw 0.48 and 0.51 of growth, error included; wider
#: here since the slope itself is recalled (judgement).
SLOPE_CV = 0.0008 / 0.0011
#: Root of the weekly sets that hold size: log-normal, median and log-sd (judgement after [Bickel2011]_).
ROOT_TO_HOLD = 0.76
ROOT_TO_HOLD_LOG_SD = 0.45
#: One ninth of the building dose held size for 32 weeks at 20-35 years; from 60 years one third is the least.
#: [Bickel2011]_
HOLDING_SHARE = 1.0 / 9.0
HOLDING_SHARE_OLDER = 1.0 / 3.0
OLDER_FROM_YEARS = 60.0
#: Building dose where none is known: log-normal; the usual advice of about ten weekly sets (judgement on the
#: spread).
BUILDING_DOSE = 10.0
BUILDING_DOSE_LOG_SD = 0.4
#: Weekly sets beyond which nothing is claimed: the largest dose of the trials known here was 52. [Enes2024]_
#: (from memory)
LARGEST_STUDIED = 52.0
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(61)
_ROOTS = ROOT_TO_HOLD * np.exp(ROOT_TO_HOLD_LOG_SD * _NODES)
_ROOT_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class Threshold:
    """A weekly number of hard sets, the criterion it meets, and the share owed to the prior."""

    criterion: Criterion
    weekly_hard_sets: Estimate
    prior_share: Share
    reasons: tuple[Reason, ...] = ()


def volume_gain(slope: Share, weekly_sets: HardSets) -> Share:
    """Return the growth owed to volume, slope times the root of the weekly sets, in the slope's own unit."""
    return slope * sqrt(weekly_sets)


def sets_where_next_gain_is(worth: Share, slope: Share) -> HardSets:
    """Return where one more weekly set adds ``worth``: x = (b / 2m)^2, from the derivative of b sqrt(x)."""
    return (slope / (2.0 * worth)) ** 2


def probability_of_gain(weekly_sets: HardSets, gain: Share, training: TrainingAge = "unknown") -> Share:
    """Return P(growth over 12 weeks > gain) for someone of whom nothing else is known."""
    mean = SLOPE_MEAN[training]
    slope = NormalDist(mean, SLOPE_CV * mean)
    total = 0.0
    for root, weight in zip(_ROOTS, _ROOT_WEIGHTS, strict=True):
        surplus = sqrt(weekly_sets) - float(root)
        if surplus > 0.0:
            total += float(weight) * (1.0 - slope.cdf(gain / (HORIZON_WEEKS * surplus)))
    return total


def _smallest_with(probability: float, chance: Callable[[float], float]) -> HardSets:
    """Bisect a rising chance; the largest studied dose where the probability is never reached."""
    lower, upper = 0.0, LARGEST_STUDIED
    if chance(upper) < probability:
        return upper
    for _ in range(50):
        middle = 0.5 * (lower + upper)
        lower, upper = (lower, middle) if chance(middle) >= probability else (middle, upper)
    return upper


def _spread(quantile: Callable[[float], float], value: float, mass: float) -> Estimate:
    """Describe a distribution by its quantiles; sd as that of a normal with the same central mass."""
    low, high = quantile(0.5 - mass / 2.0), quantile(0.5 + mass / 2.0)
    sd = (high - low) / (2.0 * NormalDist().inv_cdf(0.5 + mass / 2.0))
    return Estimate(value, "{sets}", sd, Interval(min(low, value), max(high, value), mass), "median")


def _keeps_size(age_years: float | None, building_dose: HardSets | None, mass: float) -> Estimate:
    older = age_years is not None and age_years >= OLDER_FROM_YEARS
    share = HOLDING_SHARE_OLDER if older else HOLDING_SHARE
    centre = BUILDING_DOSE if building_dose is None else building_dose

    def quantile(p: float) -> float:
        return max(1.0, share * centre * exp(BUILDING_DOSE_LOG_SD * NormalDist().inv_cdf(p)))

    return _spread(quantile, max(1.0, share * centre), mass)


def _detectable_gain(gain: Share, training: TrainingAge, mass: float) -> Estimate:
    def quantile(p: float) -> float:
        return _smallest_with(p, lambda sets: probability_of_gain(sets, gain, training))

    return _spread(quantile, quantile(DETECTABLE_PROBABILITY), mass)


def _small_next_gain(worth: Share, training: TrainingAge, mass: float) -> Estimate:
    slope = NormalDist(SLOPE_MEAN[training], SLOPE_CV * SLOPE_MEAN[training])

    def quantile(p: float) -> float:
        b = HORIZON_WEEKS * max(0.0, slope.inv_cdf(p))
        return min(LARGEST_STUDIED, sets_where_next_gain_is(worth, b))

    return _spread(quantile, quantile(0.5), mass)


def _raised(below: Estimate, estimate: Estimate) -> Estimate:
    """Keep the thresholds ordered, whatever gains are asked for."""
    lower = max(below.interval.lower, estimate.interval.lower)
    upper = max(below.interval.upper, estimate.interval.upper)
    interval = Interval(lower, upper, estimate.interval.mass)
    return Estimate(
        max(below.value, estimate.value), estimate.unit, estimate.sd, interval, estimate.statistic
    )


def thresholds_prior(
    training: TrainingAge = "unknown",
    *,
    age_years: float | None = None,
    building_dose: HardSets | None = None,
    detectable_gain: Share = DETECTABLE_GAIN,
    next_gain: Share = SMALL_NEXT_GAIN,
    mass: float = DEFAULT_MASS,
) -> tuple[Threshold, ...]:
    """Return the three thresholds in rising order, from the population's prior alone.

    Parameters
    ----------
    training
        Chooses the slope's mean.
    age_years
        From 60 years size needs a third of the building dose, below a ninth. [years]
    building_dose
        Recent weekly hard sets while growing; about ten where none is known. [hard sets]
    detectable_gain
        Share of size that a gain over 12 weeks must exceed with probability 0.8. [1]
    next_gain
        Share of size over 12 weeks below which one more weekly set is a small gain. [1]

    Raises
    ------
    OutsideValidity
        If a gain is not positive or the building dose is negative.

    References
    ----------
    [Bickel2011]_ (keeps_size); [Pelland2025]_ (form and slope, the slope from memory); (b/2m)^2 is algebra.
    """
    if detectable_gain <= 0.0 or next_gain <= 0.0 or (building_dose or 0.0) < 0.0:
        raise OutsideValidity(
            detectable_gain=detectable_gain, next_gain=next_gain, building_dose=building_dose
        )
    keeps = _keeps_size(age_years, building_dose, mass)
    detectable = _raised(keeps, _detectable_gain(detectable_gain, training, mass))
    small = _raised(detectable, _small_next_gain(next_gain, training, mass))
    percent = 100.0
    return (
        Threshold("keeps_size", keeps, 1.0, (Reason("volume.threshold_keeps_size", {"sets": keeps.value}),)),
        Threshold(
            "detectable_gain",
            detectable,
            1.0,
            (
                Reason(
                    "volume.threshold_detectable_gain",
                    {"sets": detectable.value, "gain": percent * detectable_gain},
                ),
            ),
        ),
        Threshold(
            "small_next_gain",
            small,
            1.0,
            (Reason("volume.threshold_small_next_gain", {"sets": small.value, "gain": percent * next_gain}),),
        ),
    )
