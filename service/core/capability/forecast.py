"""What the state says about a day: loads for repetitions, repetitions at loads, each with its interval."""

from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np

from service.core.capability.dynamics import advance
from service.core.capability.evidence import Side
from service.core.capability.filtering import (
    BEND_RANGE,
    LINEAR_RANGE,
    SET_SD,
    SIDE_SESSION_SD,
    SIDE_SIGN,
    fatigue_per_hard_set,
)
from service.core.capability.observation import normal_cdf
from service.core.capability.state import (
    BEND,
    FATIGUE,
    HALF_GAP,
    LN_K,
    SESSION,
    STRENGTH,
    CapabilityState,
    Vector,
)
from service.core.curve import curve_point, log_ratio_at
from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.units import Days, Kilograms, LogRatio, Repetitions, Seconds, Share

#: ``capability``: what the athlete can lift, the day's ups and downs averaged out (a credible interval).
#: ``next_set``: what the next set will show, those ups and downs included (a prediction interval).
Of = Literal["capability", "next_set"]

#: Doubt about the curve's family, as a share of the way along it from the repetitions trained: at 10
#: repetitions published formulas give 122 to 135 kg for 100 kg, an sd of about 0.035 on a way of 0.25. [1]
EXTRAPOLATION_SD = 0.14
#: Distance from the repetitions trained beyond which a load is called an extrapolation. (judgement)
EXTRAPOLATED: Repetitions = 4.0
#: Spread beyond which a load is unknown for any purpose (a factor of 20 either way); it also keeps exponentials finite.
#: (judgement)
WIDEST_LN_SD: LogRatio = 3.0
#: Share of the prior above which the answer says so. (judgement)
MOSTLY_PRIOR = 0.5
#: Works behind the filter itself; a curve's prior adds its own.
MODEL_SOURCES = ("Halperin2022", "Senna2011")

_STANDARD = NormalDist()
#: Repetitions between which quantiles are looked for.
_FEWEST, _MOST = -2.0, 400.0


@dataclass(frozen=True, slots=True)
class RepetitionForecast:
    """Distribution of the repetitions to failure of the next set at one load.

    Continuous: ``probability_at_least(n)`` is the chance that n repetitions can be done; below 1 the load
    cannot be lifted once.
    """

    forecast: "CapabilityForecast"
    load_kg: Kilograms
    hard_sets_before: float = 0.0
    rest_s: Seconds | None = None

    def probability_at_least(self, repetitions: Repetitions) -> Share:
        """Return the chance that at least so many repetitions can be done. [1]"""
        mean, sd = self._ln_load(repetitions)
        return normal_cdf((mean - log(self.load_kg)) / sd)

    def quantile(self, probability: Share) -> Repetitions:
        """Return the repetitions that are not exceeded with this probability. [repetitions]"""
        low, high = _FEWEST, _MOST
        for _ in range(40):
            middle = 0.5 * (low + high)
            if 1.0 - self.probability_at_least(middle) < probability:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)

    @property
    def median(self) -> Repetitions:
        """Median of the repetitions to failure. [repetitions]"""
        return self.quantile(0.5)

    @property
    def mean(self) -> Repetitions:
        """Mean of the repetitions to failure. [repetitions]"""
        return self._moments()[0]

    @property
    def sd(self) -> Repetitions:
        """Standard deviation of the repetitions to failure. [repetitions]"""
        return self._moments()[1]

    def interval(self, mass: Share = DEFAULT_MASS) -> Interval:
        """Return the equal-tailed prediction interval of the repetitions to failure. [repetitions]"""
        tail = 0.5 * (1.0 - mass)
        return Interval(self.quantile(tail), self.quantile(1.0 - tail), mass, "prediction")

    def _ln_load(self, repetitions: Repetitions) -> tuple[float, float]:
        return self.forecast.ln_load_for(repetitions, "next_set", self.hard_sets_before, self.rest_s)

    def _moments(self) -> tuple[float, float]:
        levels = [self.quantile((i + 0.5) / 25.0) for i in range(25)]
        mean = sum(levels) / 25.0
        return mean, sqrt(sum((level - mean) ** 2 for level in levels) / 25.0)


@dataclass(frozen=True, slots=True)
class CapabilityForecast:
    """Strength on one day and side, from everything logged before."""

    state: CapabilityState
    mean: Vector
    covariance: Vector
    day: Days
    side: Side
    same_session: bool

    @property
    def basis(self) -> Basis:
        """What the forecast rests on; the prior's share is that of the precision of ln 1RM."""
        share = float(self.state.covariance[STRENGTH, STRENGTH]) / self.state.prior_strength_variance
        prior_share = min(share, 1.0) if self.state.observation_count else 1.0
        return Basis(self.state.observation_count, self.state.newest_day, prior_share)

    @property
    def trained_repetitions(self) -> Repetitions:
        """Repetitions that this athlete trains: where capability is known best. [repetitions]"""
        return self.state.trained_repetitions

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Keys of the works that the forecast rests on."""
        curve = (key for key in self.state.prior.curve.basis if key != "judgement")
        return tuple(sorted({*curve, *MODEL_SOURCES}))

    def reasons_for(self, repetitions: Repetitions) -> tuple[Reason, ...]:
        """Return what limits the trust in a load for so many repetitions."""
        reasons = []
        trained, unreported = self.trained_repetitions, self.state.unreported_count
        if abs(repetitions - trained) > EXTRAPOLATED:
            reasons.append(
                Reason(
                    "capability.extrapolated", {"repetitions": repetitions, "trained_repetitions": trained}
                )
            )
        if 2 * unreported > self.state.observation_count:
            reasons.append(Reason("capability.effort_assumed", {"sets": unreported}))
        if self.basis.prior_share > MOSTLY_PRIOR:
            reasons.append(
                Reason("capability.mostly_prior", {"prior_percent": 100.0 * self.basis.prior_share})
            )
        return tuple(reasons)

    def load_for(
        self, repetitions: Repetitions, mass: Share = DEFAULT_MASS, of: Of = "capability"
    ) -> Estimate:
        """Return the effective load that so many repetitions to failure are possible with. [kg]"""
        mean, sd = self.ln_load_for(repetitions, of)
        sd = min(sd, WIDEST_LN_SD)
        reach = _STANDARD.inv_cdf(0.5 + 0.5 * mass) * sd
        kind: Literal["credible", "prediction"] = "credible" if of == "capability" else "prediction"
        interval = Interval(exp(mean - reach), exp(mean + reach), mass, kind)
        return Estimate(exp(mean), "kg", exp(mean + 0.5 * sd * sd) * sqrt(exp(sd * sd) - 1.0), interval)

    def one_rep_max(self, mass: Share = DEFAULT_MASS) -> Estimate:
        """Return the one-repetition maximum, an extrapolation where more repetitions are trained. [kg]"""
        return self.load_for(1.0, mass)

    def repetitions_at(
        self, load_kg: Kilograms, hard_sets_before: float = 0.0, rest_s: Seconds | None = None
    ) -> RepetitionForecast:
        """Return the distribution of the repetitions to failure of the next set at an effective load.

        Raises:
            OutsideValidity: the load is not positive.
        """
        if not load_kg > 0.0:
            raise OutsideValidity(load_kg=load_kg)
        return RepetitionForecast(self, load_kg, hard_sets_before, rest_s)

    def ln_load_for(
        self,
        repetitions: Repetitions,
        of: Of = "capability",
        hard_sets_before: float = 0.0,
        rest_s: Seconds | None = None,
    ) -> tuple[LogRatio, LogRatio]:
        """Return mean and sd of the log of the load that so many repetitions are possible with. [ln kg]"""
        ln_k, bend = float(self.mean[LN_K]), float(self.mean[BEND])
        bend = min(max(bend, BEND_RANGE[0]), BEND_RANGE[1])
        fewest = 1.0 - 0.9 * exp(ln_k) / max(bend, 1.0)
        point = curve_point(min(max(repetitions, fewest), LINEAR_RANGE[1]), ln_k, bend)
        sign = SIDE_SIGN[self.side]
        direction = np.array([1.0, 0.0, -point.by_ln_k, -point.by_bend, sign, 0.0, 0.0, 0.0])
        log_ratio = log_ratio_at(max(repetitions, fewest), ln_k, bend)
        doubt = point.curvature(float(self.covariance[LN_K, LN_K]), float(self.covariance[BEND, BEND]))
        mean = float(self.mean[STRENGTH] + sign * self.mean[HALF_GAP]) - log_ratio - doubt
        trained = curve_point(max(self.state.failure_repetitions, fewest), ln_k, bend)
        variance = (EXTRAPOLATION_SD * (log_ratio - trained.log_ratio)) ** 2
        if of == "next_set":
            tiredness = fatigue_per_hard_set(rest_s) * hard_sets_before
            direction[SESSION], direction[FATIGUE] = 1.0, -tiredness
            mean += float(self.mean[SESSION] - tiredness * self.mean[FATIGUE])
            variance += SET_SD**2 + (SIDE_SESSION_SD * sign) ** 2
        return mean, sqrt(variance + float(direction @ self.covariance @ direction))


def predict(
    state: CapabilityState, day: Days, side: Side = "both", session: int | None = None
) -> CapabilityForecast:
    """Return the forecast for a day and a side.

    With ``session`` equal to the state's own, the running session's effect is kept: the next set of today.
    Otherwise the forecast is for the first set of a new session.

    Raises:
        OutsideValidity: the day lies before the newest set.
    """
    if session is not None and session == state.session:
        return CapabilityForecast(state, state.mean, state.covariance, day, side, same_session=True)
    if state.observation_count and day < state.day:
        raise OutsideValidity(day=day, newest=state.day)
    days = day - state.day if state.observation_count else 0.0
    mean, covariance = advance(state.mean, state.covariance, days, state.prior.training)
    return CapabilityForecast(state, mean, covariance, day, side, same_session=False)
