"""The capability filter's state: one Gaussian over named quantities, its order written down once."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.curve import CurvePrior
from service.core.units import Days, Repetitions

MODEL_VERSION: Final = "capability/0"

Vector = NDArray[np.float64]
Training = Literal["novice", "trained", "unknown"]

#: Order of the state vector. ``strength`` is ln 1RM of a limb's mean [ln kg], ``drift`` its change [1/week],
#: ``ln_k`` and ``bend`` the curve, ``half_gap`` half of right minus left [1], ``session`` the day's effect
#: [1], ``habit`` how many repetitions more than usual this athlete leaves in reserve when none is reported,
#: ``fatigue`` what a hard set costs this athlete as a multiple of what is usual [1].
LAYOUT: Final = ("strength", "drift", "ln_k", "bend", "half_gap", "session", "habit", "fatigue")
STRENGTH, DRIFT, LN_K, BEND, HALF_GAP, SESSION, HABIT, FATIGUE = range(len(LAYOUT))


@dataclass(frozen=True, slots=True)
class CapabilityPrior:
    """What is believed before the first set: the lift's curve, how trained the athlete is, and maybe a 1RM.

    ``ln_one_rep_max`` is mean and sd of ln 1RM [ln kg] where another lift or a test tells it;
    ``half_gap_sd`` is the prior sd of half the right-left difference [1]: 0.03, and 0.1 after an injury
    (judgement).
    """

    curve: CurvePrior
    training: Training = "unknown"
    ln_one_rep_max: tuple[float, float] | None = None
    half_gap_sd: float = 0.03


@dataclass(frozen=True, slots=True)
class CapabilityState:
    """Posterior after a fold, as of ``day`` and within ``session``; arrays follow `LAYOUT` and are never
    written to.

    ``trained_repetitions`` and ``failure_repetitions`` are running means of those done, and of those to
    failure that the sets suggest: where the curve is known best.
    """

    mean: Vector
    covariance: Vector
    prior: CapabilityPrior
    day: Days
    session: int
    observation_count: int
    newest_day: Days | None
    prior_strength_variance: float
    trained_repetitions: Repetitions
    failure_repetitions: Repetitions
    unreported_count: int = 0
