"""Is a muscle ready for its next hard session, and if not, when: residual fatigue that decays exponentially.

After a session a muscle has lost A repetitions, and A e^(-t/tau) of them t hours later. A and tau are
log-normal between people; both are integrated out. A is set so that a recovery trial's mean losses at 24 h
come out [Korak2015]_; what lengthens tau follows [MoranNavarro2017]_ (failure) and [Bartolomei2017]_ (many
sets). No muscle-by-muscle times: no published table supports them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.units import HardSets, Hours, Repetitions, Share

Array = NDArray[np.float64]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "recovery/0"
#: Decay time of residual fatigue, log-normal: median [h] and log-sd (judgement).
TAU_MEDIAN_H = 28.0
TAU_LOG_SD = 0.4
#: What multiplies it: sets to failure, or eight and more hard sets; single-joint lifts; three repetitions in
#: reserve. The directions are published [MoranNavarro2017]_ [Bartolomei2017]_ [Korak2015]_, the sizes
#: judgement.
TAU_AT_FAILURE = 1.4
TAU_SINGLE_JOINT = 0.7
TAU_AT_RESERVE = 0.8
RESERVE_OF_FULL_EFFECT = 3.0
MANY_SETS_FROM = 6.0
MANY_SETS_FULL = 8.0
#: Repetitions lost right after the trial's session, mean over people. Chosen so that the mean loss at 24 h is
#: the published 1.7 for multi-joint and 0.5 for single-joint lifts [Korak2015]_, given the decay above.
LOSS_MULTI_JOINT = 3.52
LOSS_SINGLE_JOINT = 1.38
#: Spread of the loss between people, log-sd: judgement; the trial's sd of 1.5 repetitions also holds a test's
#: error.
LOSS_LOG_SD = 0.5
#: Hard sets per muscle in that trial: two of each lift, about two lifts a muscle (judgement on the overlap).
#: The loss grows by the root of the sets (judgement).
TRIAL_HARD_SETS = 4.0
#: A muscle counts as ready once it is within this many repetitions of its usual: the trial's own criterion.
#: [Korak2015]_
READY_WITHIN = 1.0
#: Soreness of 0-10 shifts the expected loss by this much a point from 2 on: weak, since people's own sense of
#: readiness agrees poorly with performance [Helland2020]_ (size: judgement).
SORENESS_USUAL = 2.0
SORENESS_LOG_SHIFT = 0.05
#: Hours beyond which an old session, or a wait, is not followed.
LONGEST_HOURS = 336.0
MOST_REPETITIONS_LOST = 60.0
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
_NODE_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


@dataclass(frozen=True, slots=True)
class MuscleSession:
    """What one past session asked of the muscle.

    Shares are of its hard sets; ``mean_reserve`` is None where effort was not given, which shortens nothing.
    """

    hours_ago: Hours
    hard_sets: HardSets
    to_failure_share: Share = 0.0
    single_joint_share: Share = 0.0
    mean_reserve: float | None = None


@dataclass(frozen=True, slots=True)
class Readiness:
    """Chance that the muscle is ready now, hours until it is, and the repetitions still lost now."""

    p_ready: Share
    hours_until_ready: Estimate
    residual_fatigue: Estimate
    basis: Basis
    reasons: tuple[Reason, ...]


def decay_factor(session: MuscleSession) -> float:
    """Return what multiplies the median decay time after this session. [1]"""
    ramp = (session.hard_sets - MANY_SETS_FROM) / (MANY_SETS_FULL - MANY_SETS_FROM)
    hardness = max(session.to_failure_share, min(1.0, max(0.0, ramp)))
    factor = 1.0 + (TAU_AT_FAILURE - 1.0) * hardness
    factor *= 1.0 - (1.0 - TAU_SINGLE_JOINT) * session.single_joint_share
    spared = min(session.mean_reserve or 0.0, RESERVE_OF_FULL_EFFECT) / RESERVE_OF_FULL_EFFECT
    return factor * (1.0 - (1.0 - TAU_AT_RESERVE) * spared)


def mean_loss(session: MuscleSession) -> Repetitions:
    """Return the mean repetitions lost right after this session, over people."""
    single = session.single_joint_share
    loss = single * LOSS_SINGLE_JOINT + (1.0 - single) * LOSS_MULTI_JOINT
    return loss * sqrt(session.hard_sets / TRIAL_HARD_SETS)


def _typical_losses(sessions: Sequence[MuscleSession], later: Array, shift: float = 0.0) -> Array:
    """Return the median losses ``later`` hours from now, one row an hour and one column a node of tau."""
    tau = TAU_MEDIAN_H * np.exp(TAU_LOG_SD * _NODES)
    losses = np.zeros((later.size, tau.size))
    for session in sessions:
        waited = session.hours_ago + later
        losses += mean_loss(session) * np.exp(-waited[:, None] / (tau * decay_factor(session)))
    return np.asarray(losses * np.exp(shift - 0.5 * LOSS_LOG_SD**2))


def _chance_within(limit: Array, losses: Array) -> Array:
    """Return P(loss <= limit), one a row. Given tau the loss is log-normal, so only tau needs quadrature."""
    score = (np.log(limit)[:, None] - np.log(np.maximum(losses, 1e-12))) / LOSS_LOG_SD
    return np.asarray(ndtr(score) @ _NODE_WEIGHTS)


def expected_loss(sessions: Sequence[MuscleSession], later: Hours = 0.0) -> Repetitions:
    """Return the mean repetitions still lost ``later`` hours from now, over people."""
    losses = _typical_losses(sessions, np.array([later]))
    return float((losses @ _NODE_WEIGHTS)[0] * np.exp(0.5 * LOSS_LOG_SD**2))


def p_ready_in(sessions: Sequence[MuscleSession], later: Hours, soreness: float | None = None) -> Share:
    """Return the chance of being within one repetition of usual ``later`` hours from now. [1]"""
    return min(1.0, float(_chances_ready(sessions, np.array([later]), soreness)[0]))


def _chances_ready(sessions: Sequence[MuscleSession], later: Array, soreness: float | None) -> Array:
    losses = _typical_losses(sessions, later, _soreness_shift(soreness))
    return _chance_within(np.full(later.size, READY_WITHIN), losses)


def _soreness_shift(soreness: float | None) -> float:
    return 0.0 if soreness is None else SORENESS_LOG_SHIFT * (soreness - SORENESS_USUAL)


def _quantiles(unit: str, mass: float, upper: float, chance: Callable[[Array], Array]) -> Estimate:
    """Bisect a rising chance for its median and interval; ``upper`` stands where it never gets there."""
    wanted = np.array([0.5 - mass / 2.0, 0.5, 0.5 + mass / 2.0])
    low, high = np.zeros(3), np.full(3, upper)
    for _ in range(40):
        middle = 0.5 * (low + high)
        reached = chance(middle) >= wanted
        low, high = np.where(reached, low, middle), np.where(reached, middle, high)
    lower, median, top = (0.0 if x < 1e-6 else float(x) for x in high)
    sd = (top - lower) / (2.0 * NormalDist().inv_cdf(0.5 + mass / 2.0))
    return Estimate(median, unit, sd, Interval(lower, top, mass), "median")


def _reasons(sessions: Sequence[MuscleSession], soreness: float | None, p_ready: Share) -> tuple[Reason, ...]:
    if not sessions:
        return (Reason("recovery.no_recent_session"),)
    last = min(sessions, key=lambda s: s.hours_ago)
    found = [Reason("recovery.last_session", {"hours": last.hours_ago, "sets": last.hard_sets})]
    if last.to_failure_share >= 0.5:
        found.append(Reason("recovery.slower_after_failure"))
    if last.hard_sets >= MANY_SETS_FULL:
        found.append(Reason("recovery.slower_after_many_sets", {"sets": last.hard_sets}))
    if last.single_joint_share >= 0.5:
        found.append(Reason("recovery.faster_single_joint"))
    if last.mean_reserve is None and last.to_failure_share <= 0.0:
        found.append(Reason("recovery.effort_unknown"))
    if soreness is not None:
        found.append(Reason("recovery.soreness_weak", {"soreness": soreness}))
    return (*found, Reason("recovery.chance", {"percent": 100.0 * p_ready}))


def readiness(
    sessions: Sequence[MuscleSession], soreness: float | None = None, mass: float = DEFAULT_MASS
) -> Readiness:
    """Return whether a muscle is ready now, and when it will be, from what its past sessions asked of it.

    Parameters
    ----------
    sessions
        Past sessions that gave the muscle a dose, in any order; those beyond two weeks are left out.
    soreness
        0-10 now; None where it was not asked. Weak evidence: it shifts the expected loss by 5 % a point. [1]
    mass
        Mass of the intervals. [1]

    Raises
    ------
    OutsideValidity
        If a session lies in the future, a dose is negative, a share is outside 0 to 1 or soreness outside 0
        to 10.

    References
    ----------
    [Korak2015]_ (losses at 24 h, the criterion of one repetition); tau and its factors are judgement, their
    directions after [MoranNavarro2017]_ and [Bartolomei2017]_; [Helland2020]_ on soreness.
    """
    for s in sessions:
        shares_fit = 0.0 <= s.to_failure_share <= 1.0 and 0.0 <= s.single_joint_share <= 1.0
        if s.hours_ago < 0.0 or s.hard_sets < 0.0 or not shares_fit:
            raise OutsideValidity(hours_ago=s.hours_ago, hard_sets=s.hard_sets)
    if soreness is not None and not 0.0 <= soreness <= 10.0:
        raise OutsideValidity(soreness=soreness)
    recent = [s for s in sessions if s.hours_ago <= LONGEST_HOURS and s.hard_sets > 0.0]
    now = p_ready_in(recent, 0.0, soreness)
    newest = min((s.hours_ago for s in recent), default=None)
    return Readiness(
        p_ready=now,
        hours_until_ready=_quantiles("h", mass, LONGEST_HOURS, lambda h: _chances_ready(recent, h, soreness)),
        residual_fatigue=_residual(recent, soreness, mass),
        basis=Basis(len(recent), None if newest is None else -newest / 24.0, 1.0),
        reasons=_reasons(recent, soreness, now),
    )


def _residual(sessions: Sequence[MuscleSession], soreness: float | None, mass: float) -> Estimate:
    if not sessions:
        return Estimate(0.0, "{reps}", 0.0, Interval(0.0, 0.0, mass), "median")
    losses = _typical_losses(sessions, np.zeros(3), _soreness_shift(soreness))
    return _quantiles("{reps}", mass, MOST_REPETITIONS_LOST, lambda loss: _chance_within(loss, losses))
