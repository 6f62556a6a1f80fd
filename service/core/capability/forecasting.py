"""From the state to answers: loads for repetitions, repetitions at a load, sides, and the trust in each."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import exp, log, nan, sqrt
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.core.capability.absorbing import curve_of, strength_direction, tiredness
from service.core.capability.athlete import CONSTANTS, AthleteState
from service.core.capability.joint import Joint, joint_before, joint_of
from service.core.capability.layout import (
    BEND,
    DAY,
    ENDURANCE,
    GLOBAL_COUNT,
    HALF_GAP,
    HALF_LN_K,
    JOINT_COUNT,
    KNOWN,
    LN_K,
    LOCALS_BOTH,
    NEWEST_DAY,
    OWN_DAY,
    OWN_TIRING,
    PRIOR_VARIANCE,
    SETS,
    SIDE_DAY,
    STRENGTH,
    TIRING,
    TO_FAILURE,
    TRAINED,
    UNREPORTED,
)
from service.core.capability.likelihood import ln_ratio
from service.core.capability.outlook import OUTLOOK_COUNT, at_least, ln_load_moments, quantile
from service.core.capability.parameters import TRAINED as USUAL
from service.core.capability.sets import AthleteModel, SeriesPrior, Side
from service.core.curve import CurvePrior
from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.units import Days, Kilograms, LogRatio, Repetitions, Seconds, Share

Array = NDArray[np.float64]
#: ``capability``: what the athlete can lift, the day's ups and downs averaged out (a credible interval).
#: ``next_set``: what the next set will show, those ups and downs included (a prediction interval).
Of = Literal["capability", "next_set"]

#: Distance from the repetitions trained beyond which a load is called an extrapolation. (judgement)
EXTRAPOLATED: Repetitions = 4.0
#: Repetitions at which capability is reported where none were trained yet. (judgement)
UNKNOWN_TRAINED: Repetitions = 8.0
#: Spread beyond which a load is unknown for any purpose (a factor of 20 either way). (judgement)
WIDEST_LN_SD: LogRatio = 3.0
#: Share of the prior above which the answer says so. (judgement)
MOSTLY_PRIOR = 0.5
#: Works behind the filter itself; a curve's prior adds its own.
MODEL_SOURCES = ("Halperin2022", "Senna2011")

SIDE_SIGN: Mapping[Side, float] = {"left": -1.0, "right": 1.0, "both": 0.0, "unspecified": 0.0}
_STANDARD = NormalDist()


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
        told = at_least(repetitions, log(self.load_kg), self.forecast.weights, self._outlooks())
        return float(told)  # as plain Python the kernel gives NumPy's numbers

    def quantile(self, probability: Share) -> Repetitions:
        """Return the repetitions that are not exceeded with this probability. [repetitions]"""
        return float(quantile(probability, log(self.load_kg), self.forecast.weights, self._outlooks()))

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

    def _outlooks(self) -> Array:
        return self.forecast.outlooks("next_set", self.hard_sets_before, self.rest_s)

    def _moments(self) -> tuple[float, float]:
        levels = [self.quantile((i + 0.5) / 25.0) for i in range(25)]
        mean = sum(levels) / 25.0
        return mean, sqrt(sum((level - mean) ** 2 for level in levels) / 25.0)


@dataclass(frozen=True)
class CapabilityForecast:
    """Strength on one day and side, from everything logged before."""

    joint: Joint
    prior: SeriesPrior | None
    day: Days
    side: Side
    same_session: bool
    setup: int = 0
    hard_sets_today: float = 0.0

    @property
    def weights(self) -> Array:
        """Weights of the hypotheses about the athlete. [1]"""
        return self.joint.weights

    @cached_property
    def basis(self) -> Basis:
        """What the forecast rests on; the prior's share is that of the precision of ln 1RM."""
        notes, count = self.joint.notes, int(self.joint.notes[SETS])
        variance = float(self.weights @ self.joint.covariances[:, STRENGTH, STRENGTH])
        share = min(variance / float(notes[PRIOR_VARIANCE]), 1.0) if count else 1.0
        return Basis(count, float(notes[NEWEST_DAY]) if count else None, share)

    @property
    def trained_repetitions(self) -> Repetitions:
        """Repetitions that this athlete trains: where capability is known best. [repetitions]"""
        return float(self.joint.notes[TRAINED]) or UNKNOWN_TRAINED

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Keys of the works that the forecast rests on."""
        basis = self.prior.curve.basis if self.prior is not None else ()
        return tuple(sorted({*(key for key in basis if key != "judgement"), *MODEL_SOURCES}))

    @property
    def half_gap(self) -> tuple[LogRatio, LogRatio]:
        """Mean and sd of half of right minus left in ln strength, 0 where both limbs share one load. [1]"""
        if self.joint.used == LOCALS_BOTH:
            return 0.0, 0.0
        means = self.joint.means[:, HALF_GAP]
        mean = float(self.weights @ means)
        spread = self.weights @ (self.joint.covariances[:, HALF_GAP, HALF_GAP] + (means - mean) ** 2)
        return mean, sqrt(float(spread))

    @property
    def curve(self) -> CurvePrior:
        """The lift's curve as it is believed now, on this side."""
        n, sign = self.joint.used, SIDE_SIGN[self.side] if self.joint.used > LOCALS_BOTH else 0.0
        pick = np.zeros(n + GLOBAL_COUNT)
        pick[[LN_K, n + ENDURANCE]] = 1.0
        if sign:
            pick[HALF_LN_K] = sign
        size = len(pick)
        ln_ks = self.joint.means[:, :size] @ pick
        mean = float(self.weights @ ln_ks)
        spread = np.array([pick @ one[:size, :size] @ pick for one in self.joint.covariances])
        sd = sqrt(float(self.weights @ (spread + (ln_ks - mean) ** 2)))
        basis = self.prior.curve.basis if self.prior is not None else ("judgement",)
        return CurvePrior(mean, sd, float(self.weights @ self.joint.means[:, BEND]), basis=basis)

    def reasons_for(self, repetitions: Repetitions) -> tuple[Reason, ...]:
        """Return what limits the trust in a load for so many repetitions."""
        reasons = []
        trained, unreported = self.trained_repetitions, int(self.joint.notes[UNREPORTED])
        if abs(repetitions - trained) > EXTRAPOLATED:
            reasons.append(
                Reason(
                    "capability.extrapolated", {"repetitions": repetitions, "trained_repetitions": trained}
                )
            )
        if 2 * unreported > self.basis.observation_count:
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
        outlooks = self.outlooks(of, hard_sets_before, rest_s)
        moments = np.array([ln_load_moments(repetitions, outlook) for outlook in outlooks])
        mean = float(self.weights @ moments[:, 0])
        variance = float(self.weights @ (moments[:, 1] + (moments[:, 0] - mean) ** 2))
        return mean, sqrt(variance)

    def outlooks(self, of: Of, hard_sets_before: float = 0.0, rest_s: Seconds | None = None) -> Array:
        """Return, per hypothesis, what the distribution of a set rests on, in `outlook.OUTLOOK`."""
        key = (of, hard_sets_before, rest_s)
        if key not in self._kept:
            rest = nan if rest_s is None else rest_s
            tired = tiredness(hard_sets_before, 0.0, 0.0, rest, CONSTANTS[0]) if hard_sets_before else 0.0
            self._kept[key] = np.array(
                [self._outlook(h, of, tired) for h in range(len(self.weights))]
            ).reshape(len(self.weights), OUTLOOK_COUNT)
        return self._kept[key]

    @cached_property
    def _kept(self) -> dict[tuple[Of, float, Seconds | None], Array]:
        return {}

    def _outlook(self, h: int, of: Of, tired: float) -> list[float]:
        n, sign = self.joint.used, SIDE_SIGN[self.side] if self.joint.used > LOCALS_BOTH else 0.0
        size = n + GLOBAL_COUNT
        mean, covariance = self.joint.means[h], self.joint.covariances[h]
        direction = np.zeros(JOINT_COUNT)
        strength_direction(n, sign, self.setup, tired, direction)
        noise = USUAL.set_sd**2
        if of == "capability":
            direction[[OWN_DAY, OWN_TIRING, n + DAY, n + TIRING]] = 0.0
            if n > LOCALS_BOTH:
                direction[SIDE_DAY] = 0.0
            noise = 0.0
        elif self.side == "unspecified" and n > LOCALS_BOTH:
            noise += self.half_gap[0] ** 2 + self.half_gap[1] ** 2 + USUAL.side_day_sd**2
        slope = np.zeros(size)
        slope[[LN_K, n + ENDURANCE]] = 1.0
        if sign:
            slope[HALF_LN_K] = sign
        by_strength, by_slope = covariance @ direction[:size], covariance @ slope
        k, bend = curve_of(n, sign, mean)
        known_at = float(self.joint.notes[TO_FAILURE]) or UNKNOWN_TRAINED
        return [
            float(direction[:size] @ mean), k, bend,
            float(direction[:size] @ by_strength) + noise, float(slope @ by_strength), float(by_strength[BEND]),
            float(slope @ by_slope), float(by_slope[BEND]), float(covariance[BEND, BEND]),
            ln_ratio(known_at, k, bend), USUAL.extrapolation_sd if of == "next_set" else USUAL.load_extrapolation_sd,
        ]  # fmt: skip


def forecast(
    state: AthleteState,
    series: str,
    day: Days,
    side: Side = "both",
    model: AthleteModel | None = None,
    *,
    same_session: bool = False,
    setup: str = "",
) -> CapabilityForecast | None:
    """Return the forecast of a series for a day and a side, ``None`` where nothing is known of it.

    With ``same_session`` the open session's day is kept: the next set of today. Otherwise it is for the first
    set of a new session. A series without sets is told by its prior in ``model``, where another lift tells a
    1RM.

    Raises:
        OutsideValidity: the day lies before the newest session.
    """
    prior = model.series_prior(series) if model is not None else None
    number = state.names.index(series) if series in state.names else None
    if number is None or state.notes[number, KNOWN] == 0.0:
        joint = joint_before(state, prior) if prior is not None else None
        return None if joint is None else CapabilityForecast(joint, prior, day, side, same_session)
    joint = joint_of(state, number, day, same_session=same_session)
    names = state.setups[number]
    place = names.index(setup) + 1 if setup in names else 0
    hard = _hard_sets(state.hard[number], side) if same_session else 0.0
    return CapabilityForecast(joint, prior, day, side, same_session, place, hard)


def _hard_sets(counts: Array, side: Side) -> float:
    if side in {"left", "right"}:
        return float(counts[1 if side == "left" else 2] + 0.5 * counts[0])
    return float(counts[0] + 0.5 * (counts[1] + counts[2]))


def side_gap(state: AthleteState, series: str, day: Days) -> tuple[LogRatio, LogRatio]:
    """Return mean and sd of t = ln(right / left) in strength on a day; sd 0 where sides are not followed. [1]

    Raises:
        OutsideValidity: nothing is known of the series, or the day lies before the newest session.
    """
    found = forecast(state, series, day)
    if found is None:
        raise OutsideValidity(series=series)
    mean, sd = found.half_gap
    return 2.0 * mean, 2.0 * sd
