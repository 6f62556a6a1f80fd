"""From the log to the state: assumed-density filtering of one athlete's sets on one exercise.

A set speaks through one number, the log strength of that moment. Its posterior is found by one-dimensional
quadrature and its two moments are passed back along the gain; ln k and the bend enter linearised at the
repetitions that were predicted, never at those that were seen, which would count the same error twice.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, expm1, log, sqrt
from typing import Final

import numpy as np

from service.core.capability.dynamics import (
    TRAINING_PRIORS,
    advance,
    expected_repetitions,
    first_strength,
    start,
)
from service.core.capability.evidence import SetEvidence, Side
from service.core.capability.observation import Likeness, Observation, observe
from service.core.capability.state import (
    BEND,
    FATIGUE,
    HABIT,
    HALF_GAP,
    LAYOUT,
    LN_K,
    SESSION,
    STRENGTH,
    CapabilityPrior,
    CapabilityState,
    Vector,
)
from service.core.curve import CurvePoint, curve_point, repetitions_at
from service.core.errors import OutsideValidity
from service.core.units import Kilograms, LogRatio, Repetitions, Seconds

#: Spread of a set around the day's strength, and of a side's day around the athlete's. [1] (judgement)
SET_SD = 0.014
SIDE_SESSION_SD = 0.007
#: Strength usually lost per hard set: 0.016 + 0.06 exp(-rest / 60 s), about 0.024 at two minutes. [1]
#: (judgement; longer rests allow more repetitions: [Senna2011]_, abstract)
FATIGUE_FLOOR, FATIGUE_FRESH, FATIGUE_TIME = 0.016, 0.06, 60.0
USUAL_REST: Seconds = 120.0
#: Repetitions between which the curve is linearised, and limits of the bend that the quadrature may use.
LINEAR_RANGE = (0.5, 60.0)
BEND_RANGE = (0.02, 2.0)
#: Weight of a new set in the running mean of repetitions trained. (judgement)
TRAINED_WEIGHT = 0.1
#: Repetitions at which capability is reported where none were trained yet. (judgement)
UNKNOWN_TRAINED: Repetitions = 8.0
#: Widening of the proposal over the product of prior and approximate likelihood.
_WIDEN = 1.25
#: Distance [posterior sd] up to which the proposal's centre is good enough for one pass.
_CLOSE = 0.7

SIDE_SIGN: Final[dict[Side, float]] = {"left": -1.0, "right": 1.0, "both": 0.0, "unspecified": 0.0}
_NODES: Final = tuple(
    (float(x) * sqrt(2.0), float(w) * exp(float(x) ** 2) * sqrt(2.0))
    for x, w in zip(*np.polynomial.hermite.hermgauss(9), strict=True)
)
#: Side, load and repetitions of the session's earlier sets, each with the efforts told: reserve, failure.
_Work = tuple[Side, Kilograms, int]
_Effort = tuple[float | None, bool]
_Told = dict[_Work, set[_Effort]]


@dataclass(frozen=True, slots=True)
class _Moments:
    mean: float
    variance: float


def fatigue_per_hard_set(rest_s: Seconds | None) -> LogRatio:
    """Return the log strength that each earlier hard set usually costs after so much rest. [1]"""
    return FATIGUE_FLOOR + FATIGUE_FRESH * exp(-(USUAL_REST if rest_s is None else rest_s) / FATIGUE_TIME)


def fold(evidence: Iterable[SetEvidence], prior: CapabilityPrior) -> CapabilityState | None:
    """Return the state after all sets, or ``None`` where nothing is known.

    ``evidence`` comes in canonical order: by session, and within it in the order done. The state stays
    within the last session; `predict` moves it on.

    Raises:
        OutsideValidity: a later session lies on an earlier day.
    """
    sets = tuple(evidence)
    opening = [item for item in sets if item.session == sets[0].session] if sets else []
    strength = first_strength(opening, prior)
    if strength is None and sets:
        later = [item for item in sets if not item.is_bound_only and item.reps > 0]
        strength = first_strength(later[:1], prior)
    if strength is None:
        return None
    return _run(sets, prior, strength)


def _run(
    sets: tuple[SetEvidence, ...], prior: CapabilityPrior, strength: tuple[float, float]
) -> CapabilityState:
    mean, covariance = start(strength, prior)
    day, session = (sets[0].day, sets[0].session) if sets else (0.0, -1)
    count, unreported, trained, failure = 0, 0, 0.0, 0.0
    earlier: _Told = {}
    for item in sets:
        if item.session != session:
            if item.day < day:
                raise OutsideValidity(day=item.day, after=day)
            mean, covariance = advance(mean, covariance, item.day - day, prior.training)
            day, session = item.day, item.session
            earlier = {}
        if item.reps == 0 and not item.to_failure:
            continue
        mean, covariance = absorb(mean, covariance, item, prior, _likeness(item, earlier))
        count += 1
        unreported += not item.to_failure and item.reps_in_reserve is None
        if not item.is_bound_only:
            earlier.setdefault(_work(item), set()).add(_effort(item))
            trained = _running(trained, item.reps)
            failure = _running(failure, expected_repetitions(item, TRAINING_PRIORS[prior.training]))
    newest = sets[-1].day if count else None
    return CapabilityState(
        mean=mean,
        covariance=covariance,
        prior=prior,
        day=day,
        session=session,
        observation_count=count,
        newest_day=newest,
        prior_strength_variance=strength[1] ** 2,
        trained_repetitions=trained or UNKNOWN_TRAINED,
        failure_repetitions=failure or UNKNOWN_TRAINED,
        unreported_count=unreported,
    )


def _work(item: SetEvidence) -> _Work:
    return item.side, item.load_kg, item.reps


def _effort(item: SetEvidence) -> _Effort:
    return item.reps_in_reserve, item.to_failure


def _likeness(item: SetEvidence, earlier: _Told) -> Likeness:
    told = earlier.get(_work(item))
    if told is None:
        return Likeness.NONE
    return Likeness.COPIED if _effort(item) in told else Likeness.REPEATED


def _running(mean: float, value: float) -> float:
    return value if mean == 0.0 else mean + TRAINED_WEIGHT * (value - mean)


def absorb(
    mean: Vector,
    covariance: Vector,
    item: SetEvidence,
    prior: CapabilityPrior,
    likeness: Likeness = Likeness.NONE,
) -> tuple[Vector, Vector]:
    """Return mean and covariance after one set of the running session."""
    for observation in observe(item, TRAINING_PRIORS[prior.training], likeness):
        mean, covariance = _update(mean, covariance, item, observation)
    return mean, covariance


def _update(
    mean: Vector, covariance: Vector, item: SetEvidence, observation: Observation
) -> tuple[Vector, Vector]:
    ln_load, ln_k = log(item.load_kg), float(mean[LN_K])
    bend = min(max(float(mean[BEND]), BEND_RANGE[0]), BEND_RANGE[1])
    tiredness = fatigue_per_hard_set(item.rest_s) * item.hard_sets_before
    centre = float(mean[STRENGTH] + mean[SESSION] + SIDE_SIGN[item.side] * mean[HALF_GAP])
    centre -= tiredness * float(mean[FATIGUE])
    predicted = repetitions_at(centre - ln_load, ln_k, bend)
    if observation.if_contradicted and predicted >= observation.centre:
        return mean, covariance
    point = curve_point(min(max(predicted, LINEAR_RANGE[0]), LINEAR_RANGE[1]), ln_k, bend)
    direction = _direction(item.side, point, tiredness, observation.uses_habit)
    centre -= point.curvature(float(covariance[LN_K, LN_K]), float(covariance[BEND, BEND]))
    centre += float(direction[HABIT] * mean[HABIT])
    carried = covariance @ direction
    before = _Moments(centre, float(direction @ carried) + _noise(mean, covariance, item))
    after = _posterior(before, observation, ln_load, ln_k, bend)
    gain = carried / before.variance
    moved = mean + gain * (after.mean - before.mean)
    return moved, covariance + (after.variance - before.variance) * np.outer(gain, gain)


def _direction(side: Side, point: CurvePoint, tiredness: LogRatio, uses_habit: bool) -> Vector:
    direction = np.zeros(len(LAYOUT))
    direction[STRENGTH] = direction[SESSION] = 1.0
    direction[LN_K], direction[BEND] = -point.by_ln_k, -point.by_bend
    direction[HALF_GAP], direction[FATIGUE] = SIDE_SIGN[side], -tiredness
    if uses_habit:
        direction[HABIT] = -point.by_repetition
    return direction


def _noise(mean: Vector, covariance: Vector, item: SetEvidence) -> float:
    variance = SET_SD**2 + item.ln_load_sd**2
    if item.side == "unspecified":
        variance += float(covariance[HALF_GAP, HALF_GAP] + mean[HALF_GAP] ** 2)
    return variance if item.side == "both" else variance + SIDE_SESSION_SD**2


def _posterior(
    before: _Moments, observation: Observation, ln_load: float, ln_k: float, bend: float
) -> _Moments:
    proposal = _proposal(before, observation, ln_load, ln_k, bend)
    after = _quadrature(before, proposal, observation, ln_load, ln_k, bend)
    if after is None:
        return before
    if abs(after.mean - proposal.mean) < _CLOSE * sqrt(after.variance) and after.variance < proposal.variance:
        return after
    again = _Moments(after.mean, after.variance * _WIDEN)
    return _quadrature(before, again, observation, ln_load, ln_k, bend) or after


def _proposal(
    before: _Moments, observation: Observation, ln_load: float, ln_k: float, bend: float
) -> _Moments:
    """Return roughly the posterior, so that the nodes fall where it has its mass."""
    point = curve_point(max(observation.centre, LINEAR_RANGE[0]), ln_k, bend)
    target = ln_load + point.log_ratio
    if observation.spread is None:
        return before if before.mean > target else _Moments(target, before.variance)
    variance = (observation.spread * point.by_repetition) ** 2
    share = before.variance / (before.variance + variance)
    return _Moments(before.mean + share * (target - before.mean), share * variance * _WIDEN**2)


def _quadrature(
    before: _Moments, proposal: _Moments, observation: Observation, ln_load: float, ln_k: float, bend: float
) -> _Moments | None:
    """Return the posterior's moments by Gauss-Hermite quadrature, ``None`` if it has no mass."""
    sd, precision, likelihood = sqrt(proposal.variance), 0.5 / before.variance, observation.likelihood
    stretch, start_at = exp(ln_k) / bend, proposal.mean - before.mean
    total = first = second = 0.0
    for node, node_weight in _NODES:
        offset = sd * node
        distance = start_at + offset
        n = 1.0 + stretch * expm1(bend * (before.mean + distance - ln_load))
        weight = node_weight * exp(-distance * distance * precision) * likelihood(n)
        total += weight
        first += weight * offset
        second += weight * offset * offset
    if total <= 1e-280:
        return None
    shift = first / total
    return _Moments(proposal.mean + shift, max(second / total - shift * shift, 1e-10))
