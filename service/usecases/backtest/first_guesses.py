"""A wide first guess where only a warm-up came before: it bounds strength from below, and the engine begins from work alone."""

from bisect import bisect_left
from collections.abc import Sequence
from math import exp, inf, log, sqrt
from statistics import NormalDist
from typing import Final

from service.core.capability import SetEvidence
from service.core.curve import CurvePrior, log_ratio_at, repetitions_at
from service.core.units import LogRatio, Share
from service.usecases.backtest.predictions import Prediction

#: ln(1RM / load) of a warm-up, about 55 % of the maximum, and how far below and above the log strength may lie: an empty
#: bar is lifted by everybody, so that it says little of how much more would go (judgement).
WARM_UP_FALL: LogRatio = 0.6
BELOW_LN_SD: LogRatio = 0.3
ABOVE_LN_SD: LogRatio = 0.5
#: People load what they can lift: how likely a load beyond the maximum is, against one below, and how soft the border is.
#: And they work with some effort: ln(1RM / load) of most sets is no more than this, with a spread above. (judgement)
TOO_HEAVY: Share = 0.01
LIFTABLE_LN_SD: LogRatio = 0.05
WORKED_AT: LogRatio = 0.3
WORKED_AT_LN_SD: LogRatio = 0.35
_REACH = 4.0
_LEVELS: Final = (0.025, 0.1, 0.5, 0.9, 0.975)
_GRID: Final = tuple((i + 0.5) / 40 for i in range(40))
_STEPS: Final = 400
_STANDARD: Final = NormalDist()


class FirstGuesses:
    """Guesses for one athlete's lifts, from the sets that came before in the order of replay."""

    def __init__(self) -> None:
        self._strength: dict[str, LogRatio] = {}
        self._shown: dict[str, LogRatio] = {}

    def guess(self, told: SetEvidence, curve: CurvePrior) -> Prediction | None:
        """Return what a set's load allows, from the best of the earlier sets of its series; None before any."""
        strength = self._strength.get(told.series)
        if strength is None:
            return None
        worked_at = max(WORKED_AT, self._shown[told.series] - log(told.load_kg))
        spread = _falls(strength - log(told.load_kg), inf if told.purpose == "warm_up" else worked_at)
        values = [repetitions_at(_quantile(spread, p), curve.mean_ln_k, curve.b) for p in _GRID]
        quantiles = (repetitions_at(_quantile(spread, p), curve.mean_ln_k, curve.b) for p in _LEVELS)
        mean = sum(values) / len(values)
        return Prediction(mean, _spread(values, mean), *quantiles)

    def learn(self, told: SetEvidence, curve: CurvePrior) -> None:
        """Take a set in, if any repetition was done: it shows that much, and a warm-up leads to more."""
        if told.reps > 0:
            possible = log_ratio_at(float(told.reps), curve.mean_ln_k, curve.b)
            for kept, fall in ((self._shown, possible), (self._strength, max(possible, WARM_UP_FALL))):
                bound = log(told.load_kg) + fall
                kept[told.series] = max(bound, kept.get(told.series, bound))


def _falls(middle: LogRatio, worked_at: LogRatio) -> list[tuple[LogRatio, Share]]:
    """Return ln(1RM / load) on a grid, with the chance of it or less: uneven sides, and a load that somebody chose. [1]"""
    low, high = min(middle, 0.0) - _REACH * BELOW_LN_SD, max(middle, 0.0) + _REACH * ABOVE_LN_SD
    step = (high - low) / _STEPS
    found, total = [], 0.0
    for number in range(_STEPS + 1):
        fall = low + number * step
        off = (fall - middle) / (BELOW_LN_SD if fall < middle else ABOVE_LN_SD)
        liftable = TOO_HEAVY + (1.0 - TOO_HEAVY) * _STANDARD.cdf(fall / LIFTABLE_LN_SD)
        idle = max(fall - worked_at, 0.0) / WORKED_AT_LN_SD
        total += exp(-0.5 * (off * off + idle * idle)) * liftable
        found.append((fall, total))
    return [(fall, share / total) for fall, share in found]


def _quantile(spread: Sequence[tuple[LogRatio, Share]], probability: Share) -> LogRatio:
    """Return the fall that is not exceeded with a probability, on a straight line within its step. [1]"""
    place = max(bisect_left(spread, probability, key=lambda pair: pair[1]), 1)
    (low, before), (high, after) = spread[place - 1], spread[place]
    return low + (high - low) * (probability - before) / (after - before) if after > before else high


def _spread(values: Sequence[float], mean: float) -> float:
    return sqrt(sum((value - mean) ** 2 for value in values) / len(values))
