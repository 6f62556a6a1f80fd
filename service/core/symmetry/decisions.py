"""Which side is ahead, by how much, is it real, and what would decide it.

A side is called ahead by its probability, never by a fixed percentage: with a spread of 8 % between trials,
a third of equal pairs would look 10 % apart. A difference is a measurement with an interval, and is never
read as a danger [Afonso2022]_.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt
from statistics import NormalDist
from typing import Final, Literal

import numpy as np

from service.core.estimates import DEFAULT_MASS, Basis, Caution, Estimate, Interval, Reason
from service.core.symmetry.mixture import Mixture, symmetric_nodes
from service.core.symmetry.posterior import (
    BETWEEN_EXERCISES_SCALE,
    POPULATION,
    SidePrior,
    SideReading,
    newest_of,
    pooled_with_spread,
)
from service.core.units import LogRatio, Share

SideState = Literal["right_ahead", "left_ahead", "too_small_to_matter", "not_decided", "undetermined"]
#: Unit of what is compared: a bare log ratio, or degrees of a joint's motion.
GapUnit = Literal["1", "deg"]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "imbalance/1"
#: Smallest difference worth acting on, as |t|: a choice, exposed.
SMALLEST_WORTHWHILE = 0.05
#: A side is called ahead from this probability on: with the usual prior about 3 false calls in 100 equal
#: pairs.
AHEAD_PROBABILITY = 0.98
#: Of one lift by itself: its curve, and endurance that differs, add doubt that no posterior of its own knows.
#: (judgement: of equal pairs 3.5 to 6 in 100 were called at 0.98, see the simulation's table of sides)
AHEAD_PROBABILITY_OF_ONE_LIFT = 0.99
#: A difference is called too small to matter up to this probability of lying beyond the smallest worthwhile,
#: and where the prior is not most of the answer: what was hardly measured is not called small. (judgement)
BEYOND_PROBABILITY = 0.05
MOST_PRIOR_SHARE = 0.75
#: Visits beyond which a number is no longer useful.
MOST_VISITS = 60.0
_NORMAL = NormalDist()
_NODES = symmetric_nodes(41, _NORMAL.inv_cdf)


@dataclass(frozen=True, slots=True)
class SidePosterior:
    """What is known of t.

    ``minimal_detectable_change`` is the change of t between two visits that error alone exceeds once in
    twenty; ``expected_next_reading`` what another visit should read with no training between;
    ``visits_needed`` how many more until it is decided, None where nothing more is needed or visits alone
    cannot decide.
    """

    distribution: Mixture
    t: Estimate
    p_right_ahead: Share
    p_left_ahead: Share
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
class _VisitNoise:
    """Error variance of one more visit to every exercise, and what no number of visits takes away."""

    variance: float
    floor: float


def _surely(readings: Sequence[SideReading]) -> Share:
    """Return the probability from which a side is called ahead."""
    lifts = [one for one in readings if one.kind == "strength"]
    return AHEAD_PROBABILITY_OF_ONE_LIFT if len(lifts) == 1 else AHEAD_PROBABILITY


def _visits_to_decide(
    t: LogRatio, noise: _VisitNoise, prior: SidePrior, delta: LogRatio, surely: Share
) -> float:
    """Return how many visits decide if t is the truth: a side ahead, or a gap too small to matter."""
    ahead = abs(t) / _NORMAL.inv_cdf(surely)
    small = (delta - abs(t)) / _NORMAL.inv_cdf(1.0 - BEYOND_PROBABILITY)
    wanted = max(ahead, small)
    if wanted >= prior.sd:
        return 0.0
    spare = 1.0 / (1.0 / wanted**2 - 1.0 / prior.sd**2) - noise.floor if wanted > 0.0 else 0.0
    return noise.variance / spare if spare > 0.0 else inf


def _visits_needed(
    mixture: Mixture,
    noise: _VisitNoise,
    visits: int,
    prior: SidePrior,
    delta: LogRatio,
    mass: float,
    surely: Share,
) -> Estimate:
    centre, sd = mixture.mean(), mixture.sd()
    needed = sorted(
        min(MOST_VISITS, max(1.0, _visits_to_decide(centre + sd * z, noise, prior, delta, surely) - visits))
        for z in _NODES
    )
    low, middle, high = map(float, np.quantile(needed, (0.5 - mass / 2.0, 0.5, 0.5 + mass / 2.0)))
    return Estimate(middle, "{visits}", float(np.std(needed)), Interval(low, high, mass), "median")


def _state(
    right: Share, left: Share, beyond: Share, prior_share: Share, readings: Sequence[SideReading]
) -> SideState:
    if not all(r.effort_known for r in readings):
        return "undetermined"
    surely = _surely(readings)
    if right >= surely:
        return "right_ahead"
    if left >= surely:
        return "left_ahead"
    measured = prior_share <= MOST_PRIOR_SHARE
    return "too_small_to_matter" if measured and beyond <= BEYOND_PROBABILITY else "not_decided"


def _told_size(size: LogRatio, unit: GapUnit) -> float:
    return 100.0 * size if unit == "1" else size


def _reasons(
    readings: Sequence[SideReading],
    state: SideState,
    likelier: Share,
    beyond: Share,
    smallest: float,
    unit: GapUnit,
) -> tuple[Reason, ...]:
    found: list[Reason] = [reason for r in readings for reason in r.reasons]
    lacking = [r.key for r in readings if not r.effort_known]
    if lacking:
        found.append(Reason("sides.effort_missing", {"exercise": lacking[0], "count": len(lacking)}))
    params = {
        "probability": 100.0 * likelier,
        "beyond": 100.0 * beyond,
        "smallest": _told_size(smallest, unit),
        "unit": "%" if unit == "1" else "degrees",
    }
    return (*found, Reason(f"sides.{state}", params))


def side_posterior(
    readings: Sequence[SideReading],
    *,
    prior: SidePrior = POPULATION,
    smallest_worthwhile: LogRatio = SMALLEST_WORTHWHILE,
    between_exercises_scale: LogRatio = BETWEEN_EXERCISES_SCALE,
    mass: float = DEFAULT_MASS,
    unit: GapUnit = "1",
) -> SidePosterior:
    """Return what one exercise's reading says of t, or what several say of a muscle's.

    One reading gives the conjugate posterior. Several are pooled by precision with the spread between
    exercises integrated out: the t of the muscle, not of any one lift. Left and right swapped in every
    reading turn every figure round exactly.

    Parameters
    ----------
    readings
        One per exercise, or one per place of a tape or test (one place only).
    prior
        Gaussian prior of t; ``AFTER_INJURY`` for a side that was hurt or operated on.
    smallest_worthwhile
        |t| below which a difference is not worth acting on. [ln(1), or the unit of the readings]
    between_exercises_scale
        Scale of the half-normal prior of the spread between exercises. [ln(1)]
    mass
        Mass of the intervals. [1]

    Raises
    ------
    TooFewObservations
        If there is no reading.
    MixedInputs
        If kinds, or different places, are mixed.

    References
    ----------
    Conjugate normal algebra; random effects with an integrated between-unit variance. [Weir2005]_ for the
    minimal detectable change, 1.96 sqrt(2) SEM.
    """
    mixture, between = pooled_with_spread(readings, prior, between_exercises_scale)
    right, left, beyond = mixture.above(0.0), mixture.below(0.0), mixture.beyond(smallest_worthwhile)
    value, sd = mixture.mean(), mixture.sd()
    prior_share = min(1.0, (sd / prior.sd) ** 2)
    state = _state(right, left, beyond, prior_share, readings)
    visits = max(r.visit_count for r in readings)
    noise = _VisitNoise(1.0 / sum(1.0 / r.next_variance for r in readings), between**2 / len(readings))
    needed = None
    if state == "not_decided":
        needed = _visits_needed(mixture, noise, visits, prior, smallest_worthwhile, mass, _surely(readings))
    return SidePosterior(
        distribution=mixture,
        t=Estimate(value, unit, sd, central(mixture, mass), "mean"),
        p_right_ahead=right,
        p_left_ahead=left,
        p_beyond=beyond,
        smallest_worthwhile=smallest_worthwhile,
        minimal_detectable_change=1.96 * sqrt(2.0 * noise.variance),
        visits_needed=needed,
        expected_next_reading=_next_reading(value, sqrt(sd**2 + noise.floor + noise.variance), mass, unit),
        between_exercises_sd=between if len(readings) > 1 else None,
        state=state,
        basis=Basis(sum(r.visit_count for r in readings), newest_of(readings), prior_share),
        reasons=_reasons(readings, state, max(right, left), beyond, smallest_worthwhile, unit),
        cautions=(Caution("imbalance_is_measurement_not_risk"),),
    )


def central(mixture: Mixture, mass: Share) -> Interval:
    """Return the interval with equal tails; a mirrored mixture gives exactly the mirrored interval."""
    tail = 0.5 - mass / 2.0
    return Interval(mixture.lower(tail), mixture.upper(tail), mass)


def _next_reading(value: LogRatio, sd: LogRatio, mass: float, unit: GapUnit) -> Estimate:
    """Return the reading to expect with no training: an extreme reading is part luck."""
    reach = _NORMAL.inv_cdf(0.5 + mass / 2.0) * sd
    return Estimate(value, unit, sd, Interval(value - reach, value + reach, mass, "prediction"), "mean")
