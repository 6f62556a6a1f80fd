"""Is a muscle ready for its next hard session, and if not, when; and how many sets it is ready after by then."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.recovery.fatigue import (
    LONGEST_HOURS,
    LOSS_SESSION_LOG_SD,
    MANY_SETS_FULL,
    NODE_WEIGHTS,
    PRIOR_BELIEF,
    READY_WITHIN,
    FatigueBelief,
    MuscleSession,
    decay_factor,
    losses_given_tau,
    mean_loss,
)
from service.core.recovery.soreness import UNLOGGED_AGO, shifted, unlogged, with_unlogged
from service.core.units import HardSets, Hours, Share

Array = NDArray[np.float64]

MOST_REPETITIONS_LOST = 60.0
#: Chance of being ready that ``sets_ready_by_next`` asks for. (judgement)
READY_CHANCE: Share = 0.8
#: Next sessions that must have been seen, and how much of the answer may still be the prior's, before a muscle's own
#: recovery is called learned. (judgement)
FEWEST_NEXT_SESSIONS = 8
MOST_PRIOR_SHARE: Share = 0.75
#: Of doses beyond the largest logged one nothing is claimed but this much more. [1] (judgement)
BEYOND_LOGGED = 1.25
_STEPS, _LEVELS, _DOSES = 31, 15, 161


@dataclass(frozen=True, slots=True)
class Readiness:
    """Chance that the muscle is ready now, hours until it is, and the repetitions still lost now."""

    p_ready: Share
    hours_until_ready: Estimate
    residual_fatigue: Estimate
    basis: Basis
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class SetsReady:
    """The largest dose after which the muscle is ready by its next session with the wanted chance.

    ``interval`` is where that dose lies, given what is known of this athlete's recovery. ``capped`` says that more than
    was ever logged would do, of which nothing is claimed; where all of the interval lies there, there is none.
    """

    hard_sets: HardSets
    interval: Interval | None
    hours_to_next: Hours
    capped: bool


def p_ready_in(
    sessions: Sequence[MuscleSession],
    later: Hours,
    soreness: float | None = None,
    belief: FatigueBelief = PRIOR_BELIEF,
) -> Share:
    """Return the chance of being within one repetition of usual ``later`` hours from now. [1]"""
    return min(1.0, float(_chances_ready(sessions, np.array([later]), soreness, belief)[0]))


def chances_ahead(
    sessions: Sequence[MuscleSession],
    hours: Sequence[Hours],
    soreness: float | None = None,
    belief: FatigueBelief = PRIOR_BELIEF,
) -> tuple[Share, ...]:
    """Return the chance of being ready at each of some hours from now, if nothing more is trained until then. [1]"""
    chances = _chances_ready(sessions, np.array(hours, dtype=float), soreness, belief)
    return tuple(min(1.0, float(chance)) for chance in chances)


def _chances_ready(
    sessions: Sequence[MuscleSession], later: Array, soreness: float | None, belief: FatigueBelief
) -> Array:
    felt = with_unlogged(sessions, soreness)
    losses, sd = losses_given_tau(felt, later, shifted(belief, soreness))
    return _chance_within(np.full(later.size, READY_WITHIN), losses, sd)


def _chance_within(limit: Array, losses: Array, sd: float) -> Array:
    """Return P(loss <= limit), one a row."""
    score = (np.log(limit)[:, None] - np.log(np.maximum(losses, 1e-12))) / sd
    return np.asarray(ndtr(score) @ NODE_WEIGHTS)


def _quantiles(unit: str, mass: float, upper: float, chance: Callable[[Array], Array]) -> Estimate:
    """Bisect a rising chance for its median and interval; ``upper`` stands where it never gets there."""
    wanted = np.array([0.5 - mass / 2.0, 0.5, 0.5 + mass / 2.0])
    low, high = np.zeros(3), np.full(3, upper)
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        reached = chance(middle) >= wanted
        low, high = np.where(reached, low, middle), np.where(reached, middle, high)
    lower, median, top = (0.0 if x < 1e-6 else float(x) for x in high)
    sd = (top - lower) / (2.0 * NormalDist().inv_cdf(0.5 + mass / 2.0))
    return Estimate(median, unit, sd, Interval(lower, top, mass), "median")


def _reasons(
    sessions: Sequence[MuscleSession], soreness: float | None, p_ready: Share, belief: FatigueBelief
) -> tuple[Reason, ...]:
    sore = _of_soreness(sessions, soreness)
    chance = Reason("recovery.chance", {"percent": 100.0 * p_ready})
    if not sessions:
        return (chance, *sore) if sore else (Reason("recovery.no_recent_session"),)
    last = min(sessions, key=lambda s: s.hours_ago)
    found = [chance, Reason("recovery.last_session", {"hours": last.hours_ago, "sets": last.hard_sets})]
    if is_learned(belief):
        params = {"sessions": belief.observation_count, "percent": 100.0 * (1.0 - belief.prior_share)}
        found.append(Reason("recovery.learned", params))
    if last.to_failure_share >= 0.5:
        found.append(Reason("recovery.slower_after_failure"))
    if last.hard_sets >= MANY_SETS_FULL:
        found.append(Reason("recovery.slower_after_many_sets", {"sets": last.hard_sets}))
    if last.single_joint_share >= 0.5:
        found.append(Reason("recovery.faster_single_joint"))
    if last.mean_reserve is None and last.to_failure_share <= 0.0:
        found.append(Reason("recovery.effort_unknown"))
    return (*found, *sore)


def _of_soreness(sessions: Sequence[MuscleSession], soreness: float | None) -> tuple[Reason, ...]:
    """Return what soreness counts for: as sets that nobody logged, or a little beside those that were."""
    missing = unlogged(sessions, soreness)
    if missing > 0.0:
        params = {"soreness": soreness or 0.0, "sets": missing, "hours": UNLOGGED_AGO}
        return (Reason("recovery.soreness_unlogged", params),)
    if soreness is None or not sessions:
        return ()
    return (Reason("recovery.soreness_weak", {"soreness": soreness}),)


def readiness(
    sessions: Sequence[MuscleSession],
    soreness: float | None = None,
    mass: float = DEFAULT_MASS,
    belief: FatigueBelief = PRIOR_BELIEF,
) -> Readiness:
    """Return whether a muscle is ready now, and when it will be, from what its past sessions asked of it.

    Parameters
    ----------
    sessions
        Past sessions that gave the muscle a dose, in any order; those beyond two weeks are left out.
    soreness
        0-10 now; None where it was not asked. Weak evidence: it shifts the expected loss by 5 % a point, and counts as a
        few sets that nobody logged where logged ones do not explain it. [1]
    mass
        Mass of the intervals. [1]
    belief
        What is known of this athlete's recovery; people in general where nothing is.

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
    for session in sessions:
        session.require_possible()
    if soreness is not None and not 0.0 <= soreness <= 10.0:
        raise OutsideValidity(soreness=soreness)
    recent = [s for s in sessions if s.hours_ago <= LONGEST_HOURS and s.hard_sets > 0.0]
    now = p_ready_in(recent, 0.0, soreness, belief)
    newest = min((s.hours_ago for s in recent), default=None)
    return Readiness(
        p_ready=now,
        hours_until_ready=_quantiles(
            "h", mass, LONGEST_HOURS, lambda h: _chances_ready(recent, h, soreness, belief)
        ),
        residual_fatigue=_residual(recent, soreness, mass, belief),
        basis=Basis(
            len(recent) + belief.observation_count,
            None if newest is None else -newest / 24.0,
            belief.prior_share,
        ),
        reasons=_reasons(recent, soreness, now, belief),
    )


def _residual(
    sessions: Sequence[MuscleSession], soreness: float | None, mass: float, belief: FatigueBelief
) -> Estimate:
    felt = with_unlogged(sessions, soreness)
    if not felt:
        return Estimate(0.0, "{reps}", 0.0, Interval(0.0, 0.0, mass), "median")
    losses, sd = losses_given_tau(felt, np.zeros(3), shifted(belief, soreness))
    return _quantiles("{reps}", mass, MOST_REPETITIONS_LOST, lambda loss: _chance_within(loss, losses, sd))


def decay_time(belief: FatigueBelief, mass: float = DEFAULT_MASS) -> Estimate:
    """Return the decay time after a middling session of multi-joint lifts. [h]"""
    reach = NormalDist().inv_cdf(0.5 + mass / 2.0) * belief.tau_sd
    middle = exp(belief.ln_tau)
    sd = middle * exp(0.5 * belief.tau_sd**2) * (exp(belief.tau_sd**2) - 1.0) ** 0.5
    return Estimate(middle, "h", sd, Interval(middle * exp(-reach), middle * exp(reach), mass), "median")


def is_learned(belief: FatigueBelief) -> bool:
    """Whether enough of a muscle's own next sessions were seen, and moved what is believed far enough."""
    return belief.observation_count >= FEWEST_NEXT_SESSIONS and belief.prior_share <= MOST_PRIOR_SHARE


def why_not_learned(belief: FatigueBelief) -> Reason:
    """Return why a muscle's own recovery is not called learned."""
    if belief.observation_count < FEWEST_NEXT_SESSIONS:
        params = {"sessions": belief.observation_count, "fewest": FEWEST_NEXT_SESSIONS}
        return Reason("recovery.too_few_next_sessions", params)
    params = {"sessions": belief.observation_count, "percent": round(100.0 * belief.prior_share)}
    return Reason("recovery.next_sessions_too_alike", params)


def sets_ready_by_next(
    usual: MuscleSession,
    hours_to_next: Hours,
    belief: FatigueBelief,
    largest_logged: HardSets,
    mass: float = DEFAULT_MASS,
) -> SetsReady | Reason:
    """Return the largest dose from which the muscle is back within one repetition by its next session.

    ``usual`` says how the muscle's sets are done (its dose is not used), ``hours_to_next`` how long it has. A reason
    comes back until this athlete's own next sessions have told enough.

    Raises
    ------
    OutsideValidity
        If there is no time to the next session, or nothing was ever logged.

    References
    ----------
    The criterion of one repetition: [Korak2015]_; the chance of 80 % is judgement.
    """
    if not (hours_to_next > 0.0 and largest_logged > 0.0):
        raise OutsideValidity(hours_to_next=hours_to_next, largest_logged=largest_logged)
    if not is_learned(belief):
        return why_not_learned(belief)
    cap = BEYOND_LOGGED * largest_logged

    def chance(dose: float) -> float:
        return p_ready_in([replace(usual, hours_ago=0.0, hard_sets=dose)], hours_to_next, None, belief)

    capped = chance(cap) >= READY_CHANCE
    dose = cap if capped else _largest(lambda d: chance(d) >= READY_CHANCE, cap)
    return SetsReady(dose, _where_dose_lies(usual, hours_to_next, belief, cap, mass), hours_to_next, capped)


def _largest(fits: Callable[[float], bool], upper: float) -> float:
    low, high = 0.0, upper
    for _ in range(20):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def _where_dose_lies(
    usual: MuscleSession, hours: Hours, belief: FatigueBelief, cap: HardSets, mass: float
) -> Interval | None:
    """Spread the dose that meets the chance over what is believed of loss and tau, a grid of equal weights.

    None where even its lower end lies beyond the doses of which something is claimed.
    """
    spread = NormalDist()
    levels = np.array([spread.inv_cdf((i + 0.5) / _LEVELS) for i in range(_LEVELS)])
    doses = np.linspace(0.0, cap, _DOSES)
    tried = [replace(usual, hours_ago=0.0, hard_sets=float(dose)) for dose in doses]
    losses = np.array([mean_loss(one) for one in tried]) * belief.channel_share
    factors = np.array([decay_factor(one) for one in tried])
    left = losses * np.exp(-hours / (np.exp(belief.ln_tau + belief.tau_sd * levels)[:, None] * factors))
    kept = (1.0 - belief.correlation**2) ** 0.5
    scores = belief.correlation * levels[:, None] + kept * levels
    margin = spread.inv_cdf(READY_CHANCE) * LOSS_SESSION_LOG_SD
    limits = READY_WITHIN * np.exp(-belief.ln_loss - belief.loss_sd * scores - margin)
    # Losses rise with the dose: the last dose within the limit is the largest that will do.
    fitting = (left[:, None, :] <= limits[:, :, None]).sum(axis=-1) - 1
    found = doses[np.maximum(fitting, 0)]
    tail = 50.0 * (1.0 - mass)
    lower, upper = np.percentile(found, [tail, 100.0 - tail])
    return Interval(float(lower), float(upper), mass) if lower < cap else None
