"""How likely a logged set is, given the repetitions to failure that its load allowed that moment."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from math import erfc, exp, sqrt

from service.core.capability.dynamics import TrainingPrior
from service.core.capability.evidence import SetEvidence
from service.core.units import Repetitions

Likelihood = Callable[[Repetitions], float]

#: Softening of the edges of a count of repetitions. (judgement)
COUNT_SD = 0.35
#: Reported reserve: bias for large reserves (people have more left than they say: [Halperin2022]_, abstract,
#: about one repetition), its doubt between athletes, and the line of its spread (judgement; see
#: tests/published/rir).
RESERVE_BIAS, RESERVE_BIAS_SD = -1.0, 0.5
RESERVE_SD_AT_FAILURE, RESERVE_SD_SLOPE = 0.5, 0.3
#: Degrees of freedom of the reserve around the athlete's habit: a heavy tail. (judgement)
HABIT_TAIL = 4.0
#: Weight of a bound that repeats itself session after session with one shared doubt: a matched second side,
#: and a set without report. (judgement)
REPEATED_POWER = 0.25
#: Weight of a set logged just as an earlier one of its session and side: sets are copied more often than they
#: are alike, so the first speaks for all. (judgement)
COPY_POWER = 0.25
#: Repetitions that a set leaves at least when it repeats an earlier one without report: a plan that works is
#: not met by failing, and a set without report is never read as a failure. (judgement)
REPEATED_RESERVE: Repetitions = 1.0

_ROOT_HALF = sqrt(0.5)


@dataclass(frozen=True, slots=True)
class Observation:
    """A likelihood of the repetitions to failure, with the centre and spread where it is worth evaluating.

    ``spread`` is ``None`` for a bound, which has no centre of its own. ``uses_habit`` says that the argument
    is the repetitions to failure less the athlete's habit of leaving more than usual, ``if_contradicted``
    that it counts only where fewer repetitions are expected than its centre.
    """

    likelihood: Likelihood
    centre: Repetitions
    spread: Repetitions | None
    uses_habit: bool = False
    if_contradicted: bool = False


def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * erfc(-x * _ROOT_HALF)


def reported_reserve(reserve: Repetitions) -> tuple[Repetitions, Repetitions]:
    """Return mean and sd of what is reported when so many repetitions are truly left. [repetitions]"""
    share = 1.0 - exp(-0.5 * reserve)
    variance = RESERVE_SD_AT_FAILURE**2 + (RESERVE_SD_SLOPE * reserve) ** 2 + (RESERVE_BIAS_SD * share) ** 2
    return reserve + RESERVE_BIAS * share, sqrt(variance)


class Likeness(Enum):
    """How a set resembles an earlier one of its session and side: a ``REPEATED`` one has its load and
    repetitions, a ``COPIED`` one its reserve too."""

    NONE = 0
    REPEATED = 1
    COPIED = 2


def observe(
    evidence: SetEvidence, training: TrainingPrior, likeness: Likeness = Likeness.NONE
) -> tuple[Observation, ...]:
    """Return what a set says, in the order to weigh it.

    Short of failure the repetitions done say where this athlete usually stops, and a report adds what it
    felt like. Without a report the bound speaks up only where it is contradicted: nobody stops below zero in
    reserve, so that a bound weighed every time would push strength up for ever. Repetitions that repeat
    themselves were planned: they say once where the athlete stops, else tiredness would be read as none.
    """
    if evidence.is_bound_only:
        return (_bound(evidence.reps, REPEATED_POWER if evidence.matched else 1.0),)
    told = _told(evidence, likeness)
    if likeness is Likeness.COPIED and told.spread is not None:
        told = _tempered(told)
    if evidence.to_failure or likeness is not Likeness.NONE:
        return (told,)
    return _usual_stop(evidence.reps, training), told


def _told(evidence: SetEvidence, likeness: Likeness) -> Observation:
    if evidence.to_failure:
        return _failure(evidence.reps)
    if evidence.reps_in_reserve is not None:
        return _reserve(evidence.reps, evidence.reps_in_reserve)
    least = evidence.reps + (0.0 if likeness is Likeness.NONE else REPEATED_RESERVE)
    return replace(_bound(evidence.reps, REPEATED_POWER), centre=least, if_contradicted=True)


def _tempered(observation: Observation) -> Observation:
    def likelihood(n: Repetitions) -> float:
        tempered: float = max(observation.likelihood(n), 0.0) ** COPY_POWER
        return tempered

    spread = observation.spread and observation.spread / sqrt(COPY_POWER)
    return replace(observation, likelihood=likelihood, spread=spread)


def _failure(reps: int) -> Observation:
    def likelihood(n: Repetitions) -> float:
        return normal_cdf((n - reps) / COUNT_SD) - normal_cdf((n - reps - 1.0) / COUNT_SD)

    return Observation(likelihood, reps + 0.5, 0.45)


def _bound(reps: int, power: float) -> Observation:
    def likelihood(n: Repetitions) -> float:
        reached: float = normal_cdf((n - reps) / COUNT_SD) ** power
        return reached

    return Observation(likelihood, reps + 0.5, None)


def _reserve(reps: int, reported: float) -> Observation:
    lowest = reported <= 0.0

    def likelihood(n: Repetitions) -> float:
        mean, sd = reported_reserve(max(n - reps, 0.0))
        above = normal_cdf((reported + 0.5 - mean) / sd)
        below = 0.0 if lowest else normal_cdf((reported - 0.5 - mean) / sd)
        return (above - below) * normal_cdf((n - reps) / COUNT_SD)

    reserve = _true_reserve(reported)
    return Observation(likelihood, reps + reserve, reported_reserve(reserve)[1])


def _true_reserve(reported: float) -> Repetitions:
    """Return the reserve whose mean report is the reported one, by a few fixed-point steps."""
    reserve = max(reported, 0.3)
    for _ in range(6):
        reserve = max(reported - RESERVE_BIAS * (1.0 - exp(-0.5 * reserve)), 0.3)
    return reserve


def _usual_stop(reps: int, training: TrainingPrior) -> Observation:
    expected, scale = reps + training.reserve, training.reserve_within * sqrt(1.0 - 2.0 / HABIT_TAIL)
    power = -0.5 * (HABIT_TAIL + 1.0)

    def likelihood(n: Repetitions) -> float:
        standardised = (n - expected) / scale
        tail: float = (1.0 + standardised * standardised / HABIT_TAIL) ** power
        return tail

    return Observation(likelihood, expected, training.reserve_within, uses_habit=True)
