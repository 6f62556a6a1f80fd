"""Load and repetitions: one curve with a personal slope and bend, and what published tables say about both.

With ``z = ln(one-repetition maximum / load)`` the repetitions to failure are ``N(z) = 1 + k (exp(b z) - 1) /
b``. ``k`` says how many repetitions a fall in load buys; ``b = 1`` is a straight line in load ratio (a
personal Epley line), ``b -> 0`` is log-linear. A 1RM read off this curve from sets of many repetitions is an
extrapolation.

A hold is counted in pieces of ``PIECE_S`` seconds, so that the same curve serves: with ``k = b`` it is the power law
between time and load that endurance of static work follows [FreyLawAvin2010]_.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, expm1, log, log1p
from types import MappingProxyType
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.units import LogRatio, Metres, Repetitions, Seconds

CurveClass = Literal[
    "bench", "upper_press", "row_pull", "single_joint", "lower_compound", "leg_press", "trunk_hold"
]

#: What a lift is counted in.
Work = Literal["repetitions", "hold", "distance"]

#: Below this bend the curve is computed as log-linear; the difference is under 1e-6 repetition at 40
#: repetitions.
_STRAIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class CurvePrior:
    """What is believed of a lift's curve before this athlete's own sets are seen.

    ``mean_ln_k`` and ``sd_ln_k`` describe the natural logarithm of ``k`` [repetitions], ``b`` and ``sd_b``
    the bend [dimensionless]; ``basis`` holds source keys, or ``judgement``.
    """

    mean_ln_k: float
    sd_ln_k: float
    b: float
    sd_b: float = 0.5
    basis: tuple[str, ...] = ("judgement",)


#: Spread of ln k between people and exercises of one class: sqrt(0.18^2 person + 0.15^2 exercise)
#: (judgement; the spreads of the rows in tests/published/reps_at_percent lie on both sides of it).
SD_LN_K = 0.235
#: Bend of the curve, with its spread ``CurvePrior.sd_b`` (judgement): between log-linear, 0, and Epley's straight line, 1;
#: a line in load, as Brzycki's, has -1 and must stay possible.
BEND = 0.7


def _prior(k: float, *basis: str, sd: float = SD_LN_K) -> CurvePrior:
    return CurvePrior(log(k), sd, BEND, basis=basis)


#: Class means of k [repetitions], fixed before any lifter's own data was seen. The rows they answer to are in
#: tests/published/reps_at_percent; where only ``judgement`` stands, no table for the class could be read. The two
#: preacher-curl rows that were read imply k of 25 to 29, other single-joint lifts are believed to allow more
#: (judgement): hence the wider spread of that class.
CURVE_PRIORS: Mapping[CurveClass, CurvePrior] = MappingProxyType(
    {
        "bench": _prior(32.0, "Lopes2014", "WomenPowerLifts2024"),
        "upper_press": _prior(34.0, "judgement"),
        "row_pull": _prior(36.0, "judgement"),
        "single_joint": _prior(34.0, "Lopes2014", "Day2023", sd=0.30),
        "lower_compound": _prior(42.0, "Cooke2019", "Zourdos2021", "Shimano2006", "WomenPowerLifts2024"),
        "leg_press": _prior(55.0, "RichensCleather2014"),
        "trunk_hold": _prior(30.0, "judgement", sd=0.40),
    }
)

#: A hold counts a repetition every so many seconds, as long as a repetition lasts. Its "1RM" is then the load that the
#: law gives for one of them: a point beyond what is held, above the maximum that can be resisted. (judgement) [s]
PIECE_S: Seconds = 4.0
#: Speed at which heavy loads are carried. (common practice, no source) [m/s]
CARRYING_M_S = 1.2
#: Holds and carries: the time to failure falls with the load to the power 1.6 to 2.3 by joint ([FreyLawAvin2010]_;
#: exponents from memory), and by 2.1 in [FreyLaw2012]_, abstract, between 30 and 70 % of the maximum.
TIMED_PRIOR = CurvePrior(log(2.0), 0.25, 2.0, 0.3, ("FreyLawAvin2010", "FreyLaw2012"))
#: Half a piece: a time is measured, where repetitions are counted up to the one that failed. [repetitions]
_HALF: Repetitions = 0.5


def length_held(work: Work, hold_s: Seconds | None, distance_m: Metres | None) -> Seconds | Metres:
    """Return how far a carry went or how long anything else was held, 0 where nothing of it is told. [m] or [s]

    A carry goes by its metres, all else by its seconds, whatever the other says: the other stands in where its own measure is
    not told or 0. Every answer that hears of holds and carries reads them by this rule.
    """
    if work == "distance":
        return distance_m or (hold_s or 0.0) * CARRYING_M_S
    return hold_s or (distance_m or 0.0) / CARRYING_M_S


def time_held(work: Work, hold_s: Seconds | None, distance_m: Metres | None) -> Seconds:
    """Return for how long a load was held or carried, a carry by the way it went, 0 where nothing of it is told. [s]"""
    length = length_held(work, hold_s, distance_m)
    return length / CARRYING_M_S if work == "distance" else length


def pieces_of_hold(seconds: Seconds) -> Repetitions:
    """Return what a hold to failure of so many seconds counts for, as if repetitions had been counted. [repetitions]"""
    return max(seconds / PIECE_S - _HALF, 0.0)


def repetitions_at(log_ratio: LogRatio, ln_k: float, b: float) -> Repetitions:
    """Return the repetitions to failure, continuous, at ``exp(-log_ratio)`` of the 1RM. [repetitions]"""
    k = exp(ln_k)
    return 1.0 + k * (log_ratio if abs(b) < _STRAIGHT else expm1(b * log_ratio) / b)


def log_ratio_at(repetitions: Repetitions, ln_k: float, b: float) -> LogRatio:
    """Return ``ln(1RM / load)`` for the load that allows so many repetitions. [1]

    Raises:
        OutsideValidity: no load on the curve gives so few repetitions.
    """
    scaled = (repetitions - 1.0) * exp(-ln_k)
    if abs(b) < _STRAIGHT:
        return scaled
    if b * scaled <= -1.0:
        raise OutsideValidity(repetitions=repetitions)
    return log1p(b * scaled) / b


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """``ln(1RM / load)`` at some repetitions, its slopes, and its second derivatives by ln k and by the bend."""

    log_ratio: LogRatio
    by_repetition: float
    by_ln_k: float
    by_bend: float
    by_ln_k_twice: float
    by_bend_twice: float

    def curvature(self, ln_k_variance: float, bend_variance: float) -> LogRatio:
        """Return how much doubt about the curve raises the mean of ``log_ratio``, to second order. [1]"""
        return 0.5 * (self.by_ln_k_twice * ln_k_variance + self.by_bend_twice * bend_variance)


def curve_point(repetitions: Repetitions, ln_k: float, b: float) -> CurvePoint:
    """Return the inverse curve and its derivatives at so many repetitions.

    Raises:
        OutsideValidity: no load on the curve gives so few repetitions.
    """
    z = log_ratio_at(repetitions, ln_k, b)
    per_repetition = exp(-ln_k)
    scaled = (repetitions - 1.0) * per_repetition
    stretch = 1.0 + b * scaled
    share = scaled / stretch
    if abs(b) < _STRAIGHT:
        by_bend, by_bend_twice = -0.5 * scaled * scaled, 2.0 / 3.0 * scaled**3
    else:
        by_bend = (share - z) / b
        by_bend_twice = -(share * share + 2.0 * by_bend) / b
    return CurvePoint(z, per_repetition / stretch, -share, by_bend, share / stretch, by_bend_twice)
