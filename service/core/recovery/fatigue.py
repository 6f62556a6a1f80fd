"""Residual fatigue after a session: A e^(-t/tau) repetitions lost t hours later, and what is believed of A and tau.

A is set so that a recovery trial's mean losses at 24 h come out [Korak2015]_; what lengthens tau follows
[MoranNavarro2017]_ (failure) and [Bartolomei2017]_ (many sets). No muscle begins with a time of its own: no published
table supports muscle-by-muscle times. They are learned from the athlete's next sessions (``learning``).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.errors import OutsideValidity
from service.core.recovery.kernels import decayed_sums
from service.core.units import HardSets, Hours, LogRatio, Repetitions, Share

Array = NDArray[np.float64]

#: Decay time of residual fatigue, log-normal: median [h] and log-sd (judgement). The spread is rather too wide for people
#: alike: next sessions tell little of the decay, and a narrow prior holds back whoever recovers much slower or faster.
TAU_MEDIAN_H = 28.0
TAU_LOG_SD = 0.5
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
#: Spread of the loss, log-sd: between people and muscles, from session to session, and both together. Judgement;
#: the trial's sd of 1.5 repetitions also holds a test's error.
LOSS_PERSON_LOG_SD = 0.4
LOSS_SESSION_LOG_SD = 0.3
LOSS_LOG_SD = 0.5
#: How much of the spreads of loss and tau lies between one athlete's muscles, log-sd (judgement).
MUSCLE_LOG_SD = 0.2
#: Hard sets per muscle in that trial: two of each lift, about two lifts a muscle (judgement on the overlap).
#: The loss grows by the root of the sets (judgement).
TRIAL_HARD_SETS = 4.0
#: The whole body's loss as a share of a muscle's after as many hard sets: half a repetition after 20 (judgement).
SYSTEMIC_SHARE = 0.065
#: A muscle counts as ready once it is within this many repetitions of its usual: the trial's own criterion.
#: [Korak2015]_
READY_WITHIN = 1.0
#: Hours beyond which an old session, or a wait, is not followed.
LONGEST_HOURS = 336.0
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(21)
NODES: Final[Array] = _NODES
NODE_WEIGHTS: Final[Array] = _WEIGHTS / _WEIGHTS.sum()


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

    def require_possible(self) -> None:
        """Raise ``OutsideValidity`` where a dose is negative, the session lies ahead or a share is none."""
        shares_fit = 0.0 <= self.to_failure_share <= 1.0 and 0.0 <= self.single_joint_share <= 1.0
        if self.hours_ago < 0.0 or self.hard_sets < 0.0 or not shares_fit:
            raise OutsideValidity(hours_ago=self.hours_ago, hard_sets=self.hard_sets)


@dataclass(frozen=True, slots=True)
class FatigueBelief:
    """What is believed of one channel: a muscle, the trunk under axial load, or the whole body.

    ``ln_loss`` is the log of what multiplies the mean loss of people [1], ``ln_tau`` that of the decay time [ln h];
    both Gaussian together. ``channel_share`` scales the loss of a channel that is no muscle [1]. ``prior_share`` is that
    of the precision of the log residual two days on.
    """

    ln_loss: LogRatio = -0.5 * LOSS_LOG_SD**2
    ln_tau: float = log(TAU_MEDIAN_H)
    loss_sd: LogRatio = LOSS_PERSON_LOG_SD
    tau_sd: LogRatio = TAU_LOG_SD
    correlation: float = 0.0
    observation_count: int = 0
    prior_share: Share = 1.0
    channel_share: Share = 1.0


#: What is believed of a muscle of someone of whom nothing is known.
PRIOR_BELIEF: Final = FatigueBelief()


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


def residuals(sessions: Sequence[MuscleSession], later: Array, ln_tau: Array, share: Share = 1.0) -> Array:
    """Return people's mean losses ``later`` hours from now [repetitions], one row an hour, one column a ln tau [ln h]."""
    if not sessions:
        return np.zeros((later.size, ln_tau.size))
    ages = np.array([session.hours_ago for session in sessions]) + later[:, None, None]
    factors = np.array([decay_factor(session) for session in sessions])
    losses = [share * mean_loss(session) for session in sessions]
    return decayed_sums(losses, ages, np.exp(ln_tau)[:, None] * factors)


def expected_loss(
    sessions: Sequence[MuscleSession], later: Hours = 0.0, belief: FatigueBelief = PRIOR_BELIEF
) -> Repetitions:
    """Return the mean repetitions still lost ``later`` hours from now."""
    losses, sd = losses_given_tau(sessions, np.array([later]), belief)
    return float((losses @ NODE_WEIGHTS)[0] * np.exp(0.5 * sd**2))


def losses_given_tau(
    sessions: Sequence[MuscleSession], later: Array, belief: FatigueBelief
) -> tuple[Array, LogRatio]:
    """Return the median losses per hour and node of tau, and the log-sd of the loss around them.

    Given tau the loss is log-normal, so only tau needs quadrature.
    """
    along = belief.ln_loss + belief.correlation * belief.loss_sd * NODES
    ln_tau = belief.ln_tau + belief.tau_sd * NODES
    losses = residuals(sessions, later, ln_tau, belief.channel_share) * np.exp(along)
    left = belief.loss_sd**2 * (1.0 - belief.correlation**2) + LOSS_SESSION_LOG_SD**2
    return losses, sqrt(left)
