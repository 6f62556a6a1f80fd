"""Volume landmarks: the weekly hard sets at which a stated criterion is met, with interval and the prior's share.

They are functions of an athlete's answer to volume (`response`); without a log they are the population's.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from math import exp, sqrt
from statistics import NormalDist
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Reason, Statistic
from service.core.units import HardSets, Share
from service.core.volume.growth import HORIZON_WEEKS, effect_is_told
from service.core.volume.growth_series import GrowthEvidence
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import DOWNTURN, PEAK, PEAK_LOG_SD, peak_ends
from service.core.volume.response import (
    Response,
    population_slope,
    respond,
)

Array = NDArray[np.float64]
Downturn = Literal["shown", "fell_with_sets", "fell_steadily", "hinted", "not_shown"]
Criterion = Literal["keeps_size", "detectable_gain", "small_next_gain"]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "dose-response/5"
#: Gain that is worth telling over the horizon, as a share of size: a choice, not a measurement error.
DETECTABLE_GAIN = 0.004
#: Worth of one more weekly set over the horizon, as a share of size: a choice.
SMALL_NEXT_GAIN = 0.002
#: Probability with which the detectable gain must be reached: its value is this quantile of the sets that it takes, no median.
DETECTABLE_PROBABILITY = 0.8
#: One ninth of the building dose held size for 32 weeks at 20-35 years; from 60 years one third is the least.
#: [Bickel2011]_
HOLDING_SHARE = 1.0 / 9.0
HOLDING_SHARE_OLDER = 1.0 / 3.0
OLDER_FROM_YEARS = 60.0
#: Building dose where none is known: log-normal; the usual advice of about ten weekly sets. A known one is of few
#: weeks, and the share itself is of one trial (judgement on the spreads). [hard sets], log
BUILDING_DOSE, BUILDING_DOSE_LOG_SD, HOLDING_SHARE_LOG_SD = 10.0, 0.4, 0.3
#: Weeks of a log that are worth as much as what is usual (judgement). [week]
BUILDING_WEEKS = 4.0
#: Weekly sets beyond which nothing is claimed: the largest dose of the trials known here was 52. [Enes2024]_
#: (from memory)
LARGEST_STUDIED = 52.0
#: A downturn is told from this probability on (judgement).
DOWNTURN_TOLD = 0.9
#: A hint of one from twice what it was before any log (judgement).
DOWNTURN_HINTED = 2.0 * DOWNTURN
#: How near the root of a dose is found. [root set]
_NEAR_ENOUGH: Final = 1e-12
#: What stands for no growth at all, to divide by. [root set]
_LEAST_FACTOR: Final = 1e-30
#: Chances nearer to 0 or 1 than this have the score of this.
_LEAST_CHANCE: Final = 1e-15
#: How many doses are asked for at once.
_AT_ONCE: Final = 4
_MEANINGS: Final[dict[Criterion, str]] = {
    "keeps_size": "volume.threshold_keeps_size",
    "detectable_gain": "volume.threshold_detectable_gain",
    "small_next_gain": "volume.threshold_small_next_gain",
}
_NOT_REACHED: Final[dict[Criterion, str]] = {
    "detectable_gain": "volume.threshold_detectable_gain_not_reached",
    "small_next_gain": "volume.threshold_small_next_gain_not_reached",
}
_KEPT_IN_ORDER: Final[dict[Criterion, str]] = {
    "keeps_size": "volume.threshold_raised_to_keeps_size",
    "detectable_gain": "volume.threshold_raised_to_detectable_gain",
}
_EFFECT_NOT_TOLD: Final = Reason("volume.threshold_effect_not_told")


@dataclass(frozen=True, slots=True)
class Threshold:
    """A weekly number of hard sets, the criterion it meets, and the share owed to the prior.

    ``reached`` is False where the criterion is met at no number up to the largest studied, which then stands as the value.
    """

    criterion: Criterion
    weekly_hard_sets: Estimate
    prior_share: Share
    reasons: tuple[Reason, ...] = ()
    reached: bool = True


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of the thresholds.

    ``age_years`` from 60 on size needs a third of the building dose; ``building_dose`` is the mean of the last
    ``building_weeks`` weeks, None where none is known; ``detectable_gain`` and ``next_gain`` are shares of size over 12
    weeks; ``mass`` that of the intervals.

    Raises:
        OutsideValidity: a gain is not positive, or a dose or its weeks are negative.
    """

    age_years: float | None = None
    building_dose: HardSets | None = None
    building_weeks: float = 12.0
    detectable_gain: Share = DETECTABLE_GAIN
    next_gain: Share = SMALL_NEXT_GAIN
    mass: float = DEFAULT_MASS

    def __post_init__(self) -> None:
        if self.detectable_gain <= 0.0 or self.next_gain <= 0.0 or (self.building_dose or 0.0) < 0.0:
            raise OutsideValidity(
                detectable_gain=self.detectable_gain,
                next_gain=self.next_gain,
                building_dose=self.building_dose,
            )


def volume_gain(slope: Share, weekly_sets: HardSets) -> Share:
    """Return the growth owed to volume, slope times the root of the weekly sets, in the slope's own unit."""
    return slope * sqrt(weekly_sets)


def sets_where_next_gain_is(worth: Share, slope: Share) -> HardSets:
    """Return where one more weekly set adds ``worth``: x = (b / 2m)^2, from the derivative of b sqrt(x)."""
    return (slope / (2.0 * worth)) ** 2


def probability_of_gain(weekly_sets: HardSets, gain: Share, response: Response) -> Share:
    """Return P(growth over 12 weeks > gain) at so many weekly sets. [1]"""
    return float(probabilities_of_gain(np.array([weekly_sets]), gain, response)[0])


def probabilities_of_gain(weekly_sets: Array, gain: Share, response: Response) -> Array:
    """Return the same at several weekly numbers of sets (k). [1]"""
    sets, finer = weekly_sets[:, None], response.finer
    factor = np.sqrt(sets) - finer.roots
    factor -= finer.falls * sets
    # Where nothing grows no slope is enough.
    needed = gain / HORIZON_WEEKS / np.maximum(factor, _LEAST_FACTOR)
    chances: Array = finer.normals.chance_above(needed) @ finer.weights
    return chances


def probability_small_by(weekly_sets: HardSets, worth: Share, response: Response) -> Share:
    """Return P(one more weekly set adds less than ``worth`` over 12 weeks), at so many weekly sets. [1]"""
    root = sqrt(weekly_sets)
    slope_there = HORIZON_WEEKS * (0.5 / root - response.falls)
    rising = slope_there > 0.0
    more = response.normals.chance_above(worth / np.where(rising, slope_there, 1.0))
    return float(response.weights @ np.where(rising, 1.0 - more, 1.0))


def _smallest_with(probability: float, chance: Callable[[float], float]) -> HardSets | None:
    """Return where a rising chance is enough; None where it is not by the largest studied dose."""
    if chance(LARGEST_STUDIED) < probability:
        return None
    return _where(probability, chance, 0.0, LARGEST_STUDIED)


class _Chances:
    """Chances of a gain at weekly sets, each worked out once; those of whole numbers are, some at once."""

    def __init__(self, gain: Share, response: Response) -> None:
        self._gain, self._response = gain, response
        self._known: dict[HardSets, Share] = {}

    def at(self, sets: HardSets) -> Share:
        """Return the chance at so many weekly sets. [1]"""
        if sets not in self._known:
            self._work_out(np.array([sets]))
        return self._known[sets]

    def first_with(self, probability: Share) -> HardSets | None:
        """Return the first dose whose chance is enough, also where it falls again: a downturn takes gains away."""
        for whole in np.arange(1.0, LARGEST_STUDIED + 1.0).tolist():
            if whole not in self._known:
                self._work_out(np.arange(whole, min(whole + _AT_ONCE, LARGEST_STUDIED + 1.0)))
            if self._known[whole] >= probability:
                return _where(probability, self.at, whole - 1.0, whole)
        return None

    def _work_out(self, sets: Array) -> None:
        chances = probabilities_of_gain(sets, self._gain, self._response)
        self._known.update(zip(sets.tolist(), chances.tolist(), strict=True))


def _where(
    probability: float, chance: Callable[[float], float], lower: HardSets, upper: HardSets
) -> HardSets:
    """Return where the chance is what it is to be, between two doses of which the upper one has it.

    By roots of sets and a normal's scores of chances, which are nearly a line.

    References:
        Brent (1973), as in scipy; to a part in a million million of a root set.
    """
    if chance(lower) >= probability:
        return lower
    wanted, ends = _score(probability), {sqrt(lower): lower, sqrt(upper): upper}

    def sets_at(root: float) -> HardSets:
        # The square of a root is seldom what it is the root of.
        return ends.get(root, root * root)

    def lacking(root: float) -> float:
        return _score(chance(sets_at(root))) - wanted

    root: float = brentq(lacking, sqrt(lower), sqrt(upper), xtol=_NEAR_ENOUGH)
    return sets_at(root)


def _score(chance: Share) -> float:
    return NormalDist().inv_cdf(min(max(chance, _LEAST_CHANCE), 1.0 - _LEAST_CHANCE))


def _spread(quantile: Callable[[float], float], at: float, value: float, mass: float) -> Estimate:
    """Describe a distribution by its quantile ``at`` and an interval; sd as that of a normal with the same central mass.

    The interval has equal tails, unless these left the value out: then it ends there, and has its mass below.
    """
    end = max(0.5 + mass / 2.0, at)
    low, high = quantile(end - mass), quantile(end)
    interval = Interval(min(low, value), max(high, value), mass)
    statistic: Statistic = "median" if at == 0.5 else "criterion"
    return Estimate(value, "{sets}", _sd_of(low, high, mass), interval, statistic)


def _sd_of(low: float, high: float, mass: float) -> float:
    return (high - low) / (2.0 * NormalDist().inv_cdf(0.5 + mass / 2.0))


def _keeps_size(wanted: Wanted) -> tuple[Estimate, Share]:
    older = wanted.age_years is not None and wanted.age_years >= OLDER_FROM_YEARS
    share = HOLDING_SHARE_OLDER if older else HOLDING_SHARE
    known = wanted.building_dose is not None
    centre = BUILDING_DOSE if wanted.building_dose is None else wanted.building_dose
    kept = BUILDING_WEEKS / (BUILDING_WEEKS + wanted.building_weeks) if known else 1.0
    variance = HOLDING_SHARE_LOG_SD**2 + kept * BUILDING_DOSE_LOG_SD**2

    def quantile(p: float) -> float:
        return max(1.0, share * centre * exp(sqrt(variance) * NormalDist().inv_cdf(p)))

    prior_share = variance / (HOLDING_SHARE_LOG_SD**2 + BUILDING_DOSE_LOG_SD**2)
    return _spread(quantile, 0.5, max(1.0, share * centre), wanted.mass), prior_share


def _detectable_gain(response: Response, wanted: Wanted) -> tuple[Estimate, bool]:
    chances = _Chances(wanted.detectable_gain, response)
    return _as_far_as_studied(chances.first_with, DETECTABLE_PROBABILITY, wanted.mass)


def _small_next_gain(response: Response, wanted: Wanted) -> tuple[Estimate, bool]:
    @cache
    def chance(sets: HardSets) -> Share:
        return probability_small_by(max(sets, 1e-9), wanted.next_gain, response)

    return _as_far_as_studied(lambda p: _smallest_with(p, chance), 0.5, wanted.mass)


def _as_far_as_studied(
    quantile: Callable[[float], float | None], probability: float, mass: float
) -> tuple[Estimate, bool]:
    """Return the dose at a probability, the largest studied in place of what lies beyond, and whether it was reached."""
    value = quantile(probability)

    def studied(p: float) -> float:
        found = quantile(p)
        return LARGEST_STUDIED if found is None else found

    return _spread(studied, probability, LARGEST_STUDIED if value is None else value, mass), value is not None


def _in_order(below: Threshold, threshold: Threshold) -> Threshold:
    """Keep the thresholds ordered, whatever gains are asked for; one that is raised says so.

    The greater of two quantities that rise and fall together has the greater of their quantiles: that moves the interval,
    and the sd with it. Where the value is that of the threshold below, so is what it rests on. One that is not reached has
    no place in the order.
    """
    if not (below.reached and threshold.reached):
        return threshold
    lower_one, own = below.weekly_hard_sets, threshold.weekly_hard_sets
    lower = max(lower_one.interval.lower, own.interval.lower)
    upper = max(lower_one.interval.upper, own.interval.upper)
    value = max(lower_one.value, own.value)
    if (lower, upper, value) == (own.interval.lower, own.interval.upper, own.value):
        return threshold
    mass = own.interval.mass
    statistic = own.statistic if value == own.value else lower_one.statistic
    raised = Estimate(value, own.unit, _sd_of(lower, upper, mass), Interval(lower, upper, mass), statistic)
    if value == own.value:
        return replace(threshold, weekly_hard_sets=raised)
    reason = Reason(_KEPT_IN_ORDER[below.criterion], {"sets": value, "own_sets": own.value})
    return Threshold(threshold.criterion, raised, below.prior_share, (reason, *threshold.reasons[1:]))


def _prior_share(response: Response, training: TrainingAge) -> Share:
    """Return how much of the doubt about the slope before any log is left: a ratio of variances.

    Before the cut at zero, which takes doubt off a low slope that nothing was learned of, and adds to that of a high one.
    """
    left = (response.uncut[1] / population_slope(training).spread) ** 2
    # Weights come to one but for their last digit: where nothing was learned all is left.
    return min(round(left, 12), 1.0)


def thresholds_of(
    response: Response, training: TrainingAge = "unknown", wanted: Wanted | None = None
) -> tuple[Threshold, ...]:
    """Return the three thresholds in rising order, for an answer to volume as it is known.

    References
    ----------
    [Bickel2011]_ (keeps_size); [Pelland2025]_ (form and slope, the slope from memory); (b/2m)^2 is algebra.
    """
    asked = wanted or Wanted()
    share = _prior_share(response, training)
    unsure = (_EFFECT_NOT_TOLD,) if effect_is_open(response, asked.mass) else ()
    sets, keeps_share = _keeps_size(asked)
    keeps = _threshold("keeps_size", (sets, True), keeps_share, None)
    gain, worth = asked.detectable_gain, asked.next_gain
    detectable = _threshold("detectable_gain", _detectable_gain(response, asked), share, gain, unsure)
    small = _threshold("small_next_gain", _small_next_gain(response, asked), share, worth, unsure)
    detectable = _in_order(keeps, detectable)
    return keeps, detectable, _in_order(detectable if detectable.reached else keeps, small)


def effect_is_open(response: Response, mass: Share) -> bool:
    """Whether something was seen, of this muscle or of the person's others, and left open whether sets do anything."""
    seen = response.series > 0 or response.prior != response.population
    return seen and not effect_is_told(response, mass)


def _threshold(
    criterion: Criterion,
    found: tuple[Estimate, bool],
    prior_share: Share,
    gain: Share | None,
    unsure: tuple[Reason, ...] = (),
) -> Threshold:
    """Say what a threshold means, and where it is reached only if sets do anything at all, that too."""
    sets, reached = found
    params: dict[str, float] = {"sets": sets.value}
    if gain is not None:
        params["gain"] = 100.0 * gain
    if criterion == "detectable_gain":
        params["chance"] = 100.0 * DETECTABLE_PROBABILITY
    meaning = Reason((_MEANINGS if reached else _NOT_REACHED)[criterion], params)
    return Threshold(criterion, sets, prior_share, (meaning, *(unsure if reached else ())), reached)


def downturn_of(response: Response) -> Downturn:
    """Return what the log says of more giving less.

    ``fell_with_sets`` is a log in which less came the more sets were done: no curve that rises explains it. In one that
    ``fell_steadily`` it fell, and no more where more sets were done; gains where hardly any were done are no fall.
    ``hinted`` is also an expected curve that falls anywhere up to the largest studied dose.
    """
    if response.p_downturn >= DOWNTURN_TOLD:
        return "shown"
    if response.uncut[0] < 0.0 and response.apart < 0.0:
        return "fell_with_sets"
    if response.uncut[0] < 0.0 and response.fell:
        return "fell_steadily"
    rise_at_most = (response.weights * response.slopes) @ (0.5 / sqrt(LARGEST_STUDIED) - response.falls)
    return "hinted" if response.p_downturn >= DOWNTURN_HINTED or rise_at_most < 0.0 else "not_shown"


def peak_of(response: Response, mass: float = DEFAULT_MASS) -> Estimate | None:
    """Return the weekly sets beyond which growth falls, None until this athlete's own log shows a downturn. [hard sets]"""
    if response.p_downturn < DOWNTURN_TOLD:
        return None
    falling = response.falls > 0.0
    # A node stands for all peaks between it and its neighbours': one that is left alone is no peak known exactly.
    _, at = np.unique(response.peaks[falling], return_inverse=True)
    ends = peak_ends()
    weights = np.bincount(at, response.weights[falling], len(ends) - 1)
    reached = np.concatenate([[0.0], np.cumsum(weights) / weights.sum()])

    def quantile(p: float) -> float:
        below = float(np.interp(p, reached, ends))
        return PEAK * exp(PEAK_LOG_SD * NormalDist().inv_cdf(below))

    return _spread(quantile, 0.5, quantile(0.5), mass)


def thresholds_prior(
    training: TrainingAge = "unknown", wanted: Wanted | None = None
) -> tuple[Threshold, ...]:
    """Return the three thresholds from the population's prior alone."""
    return thresholds_of(respond(GrowthEvidence(), training), training, wanted)
