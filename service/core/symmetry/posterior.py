"""Which side is ahead, by how much, and is it real: the posterior of t = ln(right/left).

One reading is a log ratio with its error variance and no prior in it; a Gaussian prior turns it into a
posterior in closed form. Readings of several exercises are pooled with the spread between exercises
integrated out. An imbalance is a measurement with an interval, and is never read as a danger [Afonso2022]_.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import erfc, inf, log, pi, sqrt
from statistics import NormalDist
from typing import Final, Literal

import numpy as np

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.estimates import DEFAULT_MASS, Basis, Caution, Estimate, Interval, Reason
from service.core.units import Days, LogRatio, Share

SideKind = Literal["strength", "size"]
SideState = Literal["right_ahead", "left_ahead", "too_small_to_matter", "not_decided", "undetermined"]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "imbalance/0"
#: Smallest difference worth acting on, as |t|: a choice, exposed.
SMALLEST_WORTHWHILE = 0.05
#: Prior sd of t, twice that of the half difference h ~ N(0, 0.025^2): its mean |t| of 4 % is near what trained
#: people show, 4.9 and 5.8 % between knee extensors [Baroni2016]_; after an injury far more (judgement).
PRIOR_SD = 0.05
PRIOR_SD_AFTER_INJURY = 0.2
#: Spread of t between the exercises of one muscle: half-normal of this scale, integrated out (judgement).
BETWEEN_EXERCISES_SCALE = 0.03
#: A side is called ahead from this probability on: with the usual prior about 3 false calls in 100 equal
#: pairs.
AHEAD_PROBABILITY = 0.98
#: A difference is called too small to matter up to this probability of lying beyond the smallest worthwhile.
BEYOND_PROBABILITY = 0.05
#: Visits beyond which a number is no longer useful.
MOST_VISITS = 60.0
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
    """One exercise's or girth site's t with its error variance, no prior in it.

    ``visit_count`` visits made it; ``effort_known`` is False where one side's reserve was not given, so that
    copied repetitions could hide a difference; ``key`` names the exercise or the site.
    """

    key: str
    kind: SideKind
    t: LogRatio
    variance: float
    visit_count: int
    newest_day: Days | None = None
    effort_known: bool = True
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class SidePosterior:
    """What is known of t.

    ``minimal_detectable_change`` is the change of t between two visits that error alone exceeds once in
    twenty; ``expected_next_reading`` what another visit should read with no training between;
    ``visits_needed`` how many more until it is decided, None where nothing more is needed or visits alone
    cannot decide.
    """

    t: Estimate
    p_right_ahead: Share
    p_beyond: Share
    smallest_worthwhile: LogRatio
    minimal_detectable_change: LogRatio
    visits_needed: Estimate | None
    expected_next_reading: Estimate
    between_exercises_sd: LogRatio | None
    state: SideState
    basis: Basis
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Mixture:
    """Gaussian mixture: weights, means and standard deviations of t."""

    weights: tuple[float, ...]
    means: tuple[float, ...]
    sds: tuple[float, ...]

    def mean(self) -> float:
        """Return the mean of t."""
        return sum(w * m for w, m in zip(self.weights, self.means, strict=True))

    def sd(self) -> float:
        """Return the standard deviation of t."""
        centre = self.mean()
        parts = zip(self.weights, self.means, self.sds, strict=True)
        return sqrt(sum(w * (s**2 + (m - centre) ** 2) for w, m, s in parts))

    def above(self, x: float) -> float:
        """Return the probability that t is greater."""
        parts = zip(self.weights, self.means, self.sds, strict=True)
        return sum(w * 0.5 * erfc((x - m) / (s * sqrt(2.0))) for w, m, s in parts)

    def quantile(self, p: float) -> float:
        """Return the value that t does not exceed with this probability."""
        reach = 12.0 * max(self.sds)
        lower, upper = min(self.means) - reach, max(self.means) + reach
        for _ in range(60):
            middle = 0.5 * (lower + upper)
            lower, upper = (middle, upper) if 1.0 - self.above(middle) < p else (lower, middle)
        return 0.5 * (lower + upper)


@dataclass(frozen=True, slots=True)
class _VisitNoise:
    """Error variance of one more visit to every exercise, and what no number of visits takes away."""

    variance: float
    floor: float


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
    return SideReading(key, "strength", t, 1.0 / gained, visit_count, newest_day, effort_known)


def pool_readings(
    readings: Sequence[SideReading],
    *,
    prior: SidePrior = POPULATION,
    between_exercises_scale: LogRatio = BETWEEN_EXERCISES_SCALE,
) -> Mixture:
    """Return the distribution of t that readings leave, pooled as `side_posterior` pools them.

    Raises ``TooFewObservations`` without a reading, ``MixedInputs`` where strength and size or sites are mixed.
    """
    _refuse_mixtures(readings)
    return _mixture_of(readings, prior, between_exercises_scale)[0]


def combine_visits(readings: Sequence[SideReading]) -> SideReading:
    """Join several visits of one exercise or site by precision.

    Raises
    ------
    TooFewObservations
        If there is no reading.
    MixedInputs
        If the readings are of different exercises, sites or kinds.
    """
    if not readings:
        raise TooFewObservations(readings=0)
    if len({(r.key, r.kind) for r in readings}) > 1:
        raise MixedInputs(keys=sorted({r.key for r in readings}))
    precision = sum(1.0 / r.variance for r in readings)
    return SideReading(
        readings[0].key,
        readings[0].kind,
        sum(r.t / r.variance for r in readings) / precision,
        1.0 / precision,
        sum(r.visit_count for r in readings),
        _newest(readings),
        all(r.effort_known for r in readings),
        tuple({reason.code: reason for r in readings for reason in r.reasons}.values()),
    )


def _newest(readings: Sequence[SideReading]) -> Days | None:
    return max((r.newest_day for r in readings if r.newest_day is not None), default=None)


def _mixture_of(readings: Sequence[SideReading], prior: SidePrior, scale: LogRatio) -> tuple[Mixture, float]:
    """Integrate the spread between exercises over a grid of the half-normal's midpoint quantiles."""
    if len(readings) == 1:
        mean, variance = condition(readings[0].t, readings[0].variance, prior)
        return Mixture((1.0,), (mean,), (sqrt(variance),)), 0.0
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


def _visits_to_decide(t: LogRatio, noise: _VisitNoise, prior: SidePrior, delta: LogRatio) -> float:
    """Return how many visits decide if t is the truth: a side ahead, or a gap too small to matter."""
    ahead = abs(t) / _NORMAL.inv_cdf(AHEAD_PROBABILITY)
    small = (delta - abs(t)) / _NORMAL.inv_cdf(1.0 - BEYOND_PROBABILITY)
    wanted = max(ahead, small)
    if wanted >= prior.sd:
        return 0.0
    spare = 1.0 / (1.0 / wanted**2 - 1.0 / prior.sd**2) - noise.floor if wanted > 0.0 else 0.0
    return noise.variance / spare if spare > 0.0 else inf


def _visits_needed(
    mixture: Mixture, noise: _VisitNoise, visits: int, prior: SidePrior, delta: LogRatio, mass: float
) -> Estimate:
    centre, sd = mixture.mean(), mixture.sd()
    points = [centre + sd * _NORMAL.inv_cdf((i + 0.5) / 41) for i in range(41)]
    needed = [min(MOST_VISITS, max(1.0, _visits_to_decide(t, noise, prior, delta) - visits)) for t in points]
    low, middle, high = (float(np.quantile(needed, p)) for p in (0.5 - mass / 2.0, 0.5, 0.5 + mass / 2.0))
    return Estimate(middle, "{visits}", float(np.std(needed)), Interval(low, high, mass), "median")


def _state(p_right: float, p_beyond: float, effort_known: bool) -> SideState:
    if not effort_known:
        return "undetermined"
    if p_right >= AHEAD_PROBABILITY:
        return "right_ahead"
    if p_right <= 1.0 - AHEAD_PROBABILITY:
        return "left_ahead"
    return "too_small_to_matter" if p_beyond <= BEYOND_PROBABILITY else "not_decided"


def _reasons(
    readings: Sequence[SideReading], state: SideState, p_right: float, p_beyond: float, delta: LogRatio
) -> tuple[Reason, ...]:
    found: list[Reason] = [reason for r in readings for reason in r.reasons]
    lacking = [r.key for r in readings if not r.effort_known]
    if lacking:
        found.append(Reason("sides.effort_missing", {"exercise": lacking[0], "count": len(lacking)}))
    params = {
        "probability": 100.0 * max(p_right, 1.0 - p_right),
        "beyond": 100.0 * p_beyond,
        "smallest": 100.0 * delta,
    }
    return (*found, Reason(f"sides.{state}", params))


def side_posterior(
    readings: Sequence[SideReading],
    *,
    prior: SidePrior = POPULATION,
    smallest_worthwhile: LogRatio = SMALLEST_WORTHWHILE,
    between_exercises_scale: LogRatio = BETWEEN_EXERCISES_SCALE,
    mass: float = DEFAULT_MASS,
) -> SidePosterior:
    """Return what one exercise's reading says of t, or what several say of a muscle's.

    One reading gives the conjugate posterior. Several are pooled by precision with the spread between
    exercises integrated out: the t of the muscle, not of any one lift.

    Parameters
    ----------
    readings
        One per exercise, or one per girth site (one site only); join visits first with ``combine_visits``.
    prior
        Gaussian prior of t; ``AFTER_INJURY`` for a side that was hurt or operated on.
    smallest_worthwhile
        |t| below which a difference is not worth acting on. [ln(1)]
    between_exercises_scale
        Scale of the half-normal prior of the spread between exercises. [ln(1)]
    mass
        Mass of the intervals. [1]

    Raises
    ------
    TooFewObservations
        If there is no reading.
    MixedInputs
        If strength and size, or different girth sites, are mixed.

    References
    ----------
    Conjugate normal algebra; random effects with an integrated between-unit variance. [Weir2005]_ for the
    minimal detectable change, 1.96 sqrt(2) SEM.
    """
    _refuse_mixtures(readings)
    mixture, between = _mixture_of(readings, prior, between_exercises_scale)
    p_right = mixture.above(0.0)
    p_beyond = mixture.above(smallest_worthwhile) + 1.0 - mixture.above(-smallest_worthwhile)
    state = _state(p_right, p_beyond, all(r.effort_known for r in readings))
    visits = max(r.visit_count for r in readings)
    noise = _VisitNoise(
        1.0 / sum(1.0 / (r.variance * r.visit_count) for r in readings), between**2 / len(readings)
    )
    value, sd = mixture.mean(), mixture.sd()
    undecided = state == "not_decided"
    return SidePosterior(
        t=Estimate(value, "1", sd, _central(mixture, mass), "mean"),
        p_right_ahead=p_right,
        p_beyond=p_beyond,
        smallest_worthwhile=smallest_worthwhile,
        minimal_detectable_change=1.96 * sqrt(2.0 * noise.variance),
        visits_needed=_visits_needed(mixture, noise, visits, prior, smallest_worthwhile, mass)
        if undecided
        else None,
        expected_next_reading=_next_reading(value, sqrt(sd**2 + noise.floor + noise.variance), mass),
        between_exercises_sd=between if len(readings) > 1 else None,
        state=state,
        basis=Basis(sum(r.visit_count for r in readings), _newest(readings), min(1.0, (sd / prior.sd) ** 2)),
        reasons=_reasons(readings, state, p_right, p_beyond, smallest_worthwhile),
        cautions=(Caution("imbalance_is_measurement_not_risk"),),
    )


def _refuse_mixtures(readings: Sequence[SideReading]) -> None:
    if not readings:
        raise TooFewObservations(readings=0)
    kinds = {r.kind for r in readings}
    keys = [r.key for r in readings]
    if len(kinds) > 1 or (kinds == {"size"} and len(set(keys)) > 1) or len(set(keys)) < len(keys):
        raise MixedInputs(kinds=sorted(kinds), keys=sorted(keys))


def _central(mixture: Mixture, mass: float) -> Interval:
    return Interval(mixture.quantile(0.5 - mass / 2.0), mixture.quantile(0.5 + mass / 2.0), mass)


def _next_reading(value: LogRatio, sd: LogRatio, mass: float) -> Estimate:
    """Return the reading to expect with no training: an extreme reading is part luck."""
    reach = _NORMAL.inv_cdf(0.5 + mass / 2.0) * sd
    return Estimate(value, "1", sd, Interval(value - reach, value + reach, mass, "prediction"), "mean")
