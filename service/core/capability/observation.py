"""How likely a logged set is, given the repetitions to failure that its load allowed that moment."""

from collections.abc import Callable
from dataclasses import dataclass
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
#: Degrees of freedom of the reserve that was not reported: a heavy tail. (judgement)
HABIT_TAIL = 4.0
#: Weight of a matched second side's bound: its repeats share one doubt, the first side's true reserve. (judgement)
MATCHED_POWER = 0.25

_ROOT_HALF = sqrt(0.5)


@dataclass(frozen=True, slots=True)
class Observation:
    """A likelihood of the repetitions to failure, with the centre and spread where it is worth evaluating.

    ``spread`` is ``None`` for a bound, which has no centre of its own. ``uses_habit`` says that the argument
    is the repetitions to failure less the athlete's habit of leaving more than usual.
    """

    likelihood: Likelihood
    centre: Repetitions
    spread: Repetitions | None
    uses_habit: bool = False


def normal_cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * erfc(-x * _ROOT_HALF)


def reported_reserve(reserve: Repetitions) -> tuple[Repetitions, Repetitions]:
    """Return mean and sd of what is reported when so many repetitions are truly left. [repetitions]"""
    share = 1.0 - exp(-0.5 * reserve)
    variance = RESERVE_SD_AT_FAILURE**2 + (RESERVE_SD_SLOPE * reserve) ** 2 + (RESERVE_BIAS_SD * share) ** 2
    return reserve + RESERVE_BIAS * share, sqrt(variance)


def observe(evidence: SetEvidence, training: TrainingPrior) -> tuple[Observation, ...]:
    """Return what a set says. A set without reported effort says two things: a bound, and what is usual."""
    bound = _bound(evidence.reps, MATCHED_POWER if evidence.matched else 1.0)
    if evidence.is_bound_only:
        return (bound,)
    if evidence.to_failure:
        return (_failure(evidence.reps),)
    if evidence.reps_in_reserve is not None:
        return (_reserve(evidence.reps, evidence.reps_in_reserve),)
    return _unreported(evidence.reps, training), bound


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


def _unreported(reps: int, training: TrainingPrior) -> Observation:
    expected, within = reps + training.reserve, training.reserve_within
    power = -0.5 * (HABIT_TAIL + 1.0)

    def likelihood(n: Repetitions) -> float:
        standardised = (n - expected) / within
        tail: float = (1.0 + standardised * standardised / HABIT_TAIL) ** power
        return tail

    return Observation(likelihood, expected, within, uses_habit=True)
