"""How strength moves between sessions: drift, layoffs, and what is believed at the start.

All spreads here are judgement unless a source stands beside them; issue of the model: ``capability/0``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log
from types import MappingProxyType

import numpy as np

from service.core.capability.evidence import SetEvidence
from service.core.capability.state import (
    BEND,
    DRIFT,
    FATIGUE,
    HABIT,
    HALF_GAP,
    LAYOUT,
    LN_K,
    SESSION,
    STRENGTH,
    CapabilityPrior,
    Training,
    Vector,
)
from service.core.curve import log_ratio_at
from service.core.units import Days, Repetitions

DAYS_PER_WEEK = 7.0
#: Prior sd of ln 1RM around the first session's best set, where nothing else is known. [1]
FIRST_STRENGTH_SD = 0.25
#: The day's effect on strength. [1]
SESSION_SD = 0.037
#: Strength lost per week without training, and the weeks that cost nothing. [1/week], [week]
LAYOFF_LOSS = 0.009
LAYOFF_FREE_WEEKS = 1.2
#: Doubt about the loss per week, and the weeks after which no more is lost. [1/week], [week]
LAYOFF_LOSS_SD = 0.005
LAYOFF_LONGEST_WEEKS = 30.0
#: Random walks per root week: ln k, half the right-left difference, the habit of stopping early.
LN_K_WALK = 0.013
HALF_GAP_WALK = 0.0012
HABIT_WALK = 0.3
#: Spread between athletes of what a hard set costs, as a share of the usual cost: 0.010 on 0.024. [1]
FATIGUE_SHARE_SD = 0.010 / 0.024


@dataclass(frozen=True, slots=True)
class TrainingPrior:
    """Drift [1/week], its fading [1/week] and walks [1 per root week]; reserve left when none is reported
    [repetitions].

    ``reserve_between`` is the sd of athletes' habits, ``reserve_within`` that of one athlete's sets around
    the habit.
    """

    drift: float
    drift_sd: float
    fading: float
    drift_walk: float
    strength_walk: float
    reserve: Repetitions
    reserve_between: Repetitions
    reserve_within: Repetitions


#: Novices gain half and more of their strength in twelve weeks, so their drift starts high and halves every
#: 8 weeks; ``unknown`` has the moments of a mixture, three parts novice to seven parts trained.
TRAINING_PRIORS: Mapping[Training, TrainingPrior] = MappingProxyType(
    {
        "trained": TrainingPrior(0.0005, 0.0015, 1.0 / 26.0, 0.0006, 0.005, 2.5, 1.8, 1.73),
        "novice": TrainingPrior(0.025, 0.015, log(2.0) / 8.0, 0.002, 0.02, 4.0, 2.2, 2.04),
        "unknown": TrainingPrior(0.0079, 0.014, log(2.0) / 12.0, 0.001, 0.01, 3.0, 2.0, 1.9),
    }
)


def expected_repetitions(evidence: SetEvidence, training: TrainingPrior) -> Repetitions:
    """Return the repetitions to failure that a set suggests before any model of the athlete. [repetitions]"""
    if evidence.to_failure:
        return evidence.reps + 0.5
    reserve = training.reserve if evidence.reps_in_reserve is None else evidence.reps_in_reserve + 0.5
    return evidence.reps + reserve


def first_strength(session: Sequence[SetEvidence], prior: CapabilityPrior) -> tuple[float, float] | None:
    """Return mean and sd of ln 1RM [ln kg] before the first session is weighed, or ``None`` where nothing
    tells it."""
    if prior.ln_one_rep_max is not None:
        return prior.ln_one_rep_max
    training, curve = TRAINING_PRIORS[prior.training], prior.curve
    suggested = [
        log(item.load_kg) + log_ratio_at(expected_repetitions(item, training), curve.mean_ln_k, curve.b)
        for item in session
        if not item.is_bound_only and item.reps > 0
    ]
    return (max(suggested), FIRST_STRENGTH_SD) if suggested else None


def start(strength: tuple[float, float], prior: CapabilityPrior) -> tuple[Vector, Vector]:
    """Return mean and covariance before the first set of the first session."""
    training, curve = TRAINING_PRIORS[prior.training], prior.curve
    mean, sd = np.zeros(len(LAYOUT)), np.zeros(len(LAYOUT))
    mean[STRENGTH], sd[STRENGTH] = strength
    mean[DRIFT], sd[DRIFT] = training.drift, training.drift_sd
    mean[LN_K], sd[LN_K] = curve.mean_ln_k, curve.sd_ln_k
    mean[BEND], sd[BEND] = curve.b, curve.sd_b
    mean[FATIGUE], sd[FATIGUE] = 1.0, FATIGUE_SHARE_SD
    sd[HALF_GAP], sd[SESSION], sd[HABIT] = prior.half_gap_sd, SESSION_SD, training.reserve_between
    return mean, np.diag(sd * sd)


def advance(mean: Vector, covariance: Vector, days: Days, training: Training) -> tuple[Vector, Vector]:
    """Return mean and covariance at the start of a session so many days later: the day's effect is drawn
    anew."""
    rates, weeks = TRAINING_PRIORS[training], days / DAYS_PER_WEEK
    idle = min(max(weeks - LAYOFF_FREE_WEEKS, 0.0), LAYOFF_LONGEST_WEEKS)
    active = min(weeks, LAYOFF_FREE_WEEKS)
    step = np.eye(len(LAYOUT))
    step[STRENGTH, DRIFT] = (1.0 - exp(-rates.fading * active)) / rates.fading
    step[DRIFT, DRIFT] = exp(-rates.fading * weeks)
    step[SESSION, SESSION] = 0.0
    moved = step @ mean
    moved[STRENGTH] -= LAYOFF_LOSS * idle
    spread = step @ covariance @ step.T
    for state, variance in _walks(rates, weeks, idle):
        spread[state, state] += variance
    return moved, spread


def _walks(rates: TrainingPrior, weeks: float, idle: float) -> tuple[tuple[int, float], ...]:
    return (
        (STRENGTH, rates.strength_walk**2 * weeks + (LAYOFF_LOSS_SD * idle) ** 2),
        (DRIFT, rates.drift_walk**2 * weeks),
        (LN_K, LN_K_WALK**2 * weeks),
        (HALF_GAP, HALF_GAP_WALK**2 * weeks),
        (SESSION, SESSION_SD**2),
        (HABIT, HABIT_WALK**2 * weeks),
    )
