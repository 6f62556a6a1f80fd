"""A wide first guess where only a warm-up came before: it bounds strength from below, and the engine begins from work alone."""

from collections.abc import Sequence
from math import log, sqrt
from statistics import NormalDist
from typing import Final

from service.core.capability import SetEvidence
from service.core.curve import CurvePrior, log_ratio_at, repetitions_at
from service.core.units import LogRatio
from service.usecases.backtest.predictions import Prediction

#: ln(1RM / load) of a warm-up, about 55 % of the maximum, and the spread of the log strength read from it (judgement).
WARM_UP_FALL: LogRatio = 0.6
GUESS_LN_SD: LogRatio = 0.3
_LEVELS: Final = (0.025, 0.1, 0.5, 0.9, 0.975)
_GRID: Final = tuple((i + 0.5) / 40 for i in range(40))


class FirstGuesses:
    """Guesses for one athlete's lifts, from the sets that came before in the order of replay."""

    def __init__(self) -> None:
        self._strength: dict[str, LogRatio] = {}

    def guess(self, told: SetEvidence, curve: CurvePrior) -> Prediction | None:
        """Return what a set's load allows, from the best of the earlier sets of its series; None before any."""
        strength = self._strength.get(told.series)
        if strength is None:
            return None
        fall = NormalDist(strength - log(told.load_kg), GUESS_LN_SD)
        values = [repetitions_at(fall.inv_cdf(p), curve.mean_ln_k, curve.b) for p in _GRID]
        quantiles = (repetitions_at(fall.inv_cdf(p), curve.mean_ln_k, curve.b) for p in _LEVELS)
        mean = sum(values) / len(values)
        return Prediction(mean, _spread(values, mean), *quantiles)

    def learn(self, told: SetEvidence, curve: CurvePrior) -> None:
        """Take a set in, if any repetition was done."""
        if told.reps > 0:
            possible = log_ratio_at(float(told.reps), curve.mean_ln_k, curve.b)
            bound = log(told.load_kg) + max(possible, WARM_UP_FALL)
            self._strength[told.series] = max(bound, self._strength.get(told.series, bound))


def _spread(values: Sequence[float], mean: float) -> float:
    return sqrt(sum((value - mean) ** 2 for value in values) / len(values))
