"""What is held of an athlete when the log is looked back on: other hypotheses than looking ahead, and other constants."""

from collections.abc import Mapping
from dataclasses import replace
from math import exp, log
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.core.capability.athlete import AthleteState, begin
from service.core.capability.layout import DRIFT, FIRST_DAY, TREND
from service.core.capability.parameters import NOVICE, WEIGHTS, Constants, Training, table_of
from service.core.capability.parameters import TRAINED as USUAL
from service.core.capability.stepping import DAYS_PER_WEEK
from service.core.units import Share

Array = NDArray[np.float64]
#: Looking back asks for other constants than looking ahead (judgement). Sessions in a row err alike, by reports and
#: curves that are off for weeks, so that each tells less of a change; and a filter must be quick to follow novices, whose
#: strength itself rises steadily. A jump is told by `core.trend.steps`: between sessions it would be no walk to smooth; nor
#: would a shift. How fast a novice's lifts rise differs between them by more than the filter's constants have it: one that
#: stood still beside others was told to rise with them.
_LOOKING_BACK: Final[Mapping[str, float]] = MappingProxyType(
    {
        "day_sd": 0.020,
        "own_day_sd": 0.055,
        "jump_share": 0.0,
        "shift_share": 0.0,
        "gap_shift_share": 0.0,
        "side_change_from": 1.5,
        "side_change_sure": 3.0,
    }
)
_STEADY: Final = replace(USUAL, **_LOOKING_BACK)
_RISING: Final = replace(NOVICE, **_LOOKING_BACK, drift_sd=0.012, drift_walk=0.0012, strength_walk=0.008)
#: Who comes back to training regains in weeks what was lost in months, faster than it was gained and for less long: women
#: had nearly all of it after 6 weeks that followed 30 without training (Staron 1991, from memory). What was lost in one
#: pause comes back in all lifts alike. The form is judgement.
_RETURNING: Final = replace(
    _RISING,
    trend=0.03,
    trend_sd=0.015,
    drift_sd=NOVICE.drift_sd,
    fading=log(2.0) / 4.0,
    habit=2.5,
    habit_sd=1.3,
)
LOOKING_BACK: Final = table_of([_STEADY, _RISING, _RETURNING])
STEADY, RISING, RETURNING = range(3)
#: How many of those who are not novices come back to it at the start of their log (judgement).
RETURNING_SHARE: Final[Share] = 0.2
#: From the first session looked back on each hypothesis stands beside others, with so much of its weight (judgement).
#: Strength may turn within weeks, by illness or too much work, in each lift or in all together; and one side may come on
#: while the other stands still, after an injury or when it is trained alone.
TURNING: Final[Share] = 0.2
TOGETHER: Final[Share] = 0.15
APART: Final[Share] = 0.3
#: A lift's change a week, steady from where it turns. (judgement) [1/week]
_TURNED_SD: Final = 0.006
#: All lifts' change a week alike, steady from there: what turns strength is mostly the athlete's, and days that are off for
#: all lifts, each by chance, would explain it else. It stands beside lifts that wander no more than usual; and a little of it
#: goes with every steady athlete. (judgement) [1/week]
_TOGETHER_SD: Final = 0.010
_WANDERING_SD: Final = 0.002
_TURNING: Final = replace(_STEADY, drift_sd=_TURNED_SD, strength_walk=0.018)
_APART_WALK: Final = 0.02


class Within(NamedTuple):
    """A hypothesis within the sessions looked back on: of which one before it comes, and its share of that one's weight.

    From there on each lift changes by as much a week more as ``new_drift_sd`` has it, and all together by as much as
    ``new_trend_sd``. [1/week]
    """

    before: int
    share: Share
    constants: Constants
    new_drift_sd: float = 0.0
    new_trend_sd: float = 0.0


OF_BOTH_LIMBS: Final = (
    Within(STEADY, 1.0 - TURNING - TOGETHER, _STEADY, new_trend_sd=_WANDERING_SD),
    Within(STEADY, TOGETHER, _STEADY, new_trend_sd=_TOGETHER_SD),
    Within(STEADY, TURNING, _TURNING, _TURNED_SD),
    Within(RISING, 1.0, _RISING),
    Within(RETURNING, 1.0, _RETURNING),
)
OF_SIDES: Final = (
    Within(STEADY, 1.0 - TURNING - TOGETHER - APART, _STEADY, new_trend_sd=_WANDERING_SD),
    Within(STEADY, TOGETHER, _STEADY, new_trend_sd=_TOGETHER_SD),
    Within(STEADY, TURNING, _TURNING, _TURNED_SD),
    Within(STEADY, APART, replace(_STEADY, gap_walk=_APART_WALK)),
    Within(RISING, 1.0 - APART, _RISING),
    Within(RISING, APART, replace(_RISING, gap_walk=_APART_WALK)),
    Within(RETURNING, 1.0 - APART, _RETURNING),
    Within(RETURNING, APART, replace(_RETURNING, gap_walk=_APART_WALK)),
)


def begin_looking_back(training: Training) -> AthleteState:
    """Return what is believed of an athlete before the first set of a log that is looked back on."""
    trained, novice = WEIGHTS[training]
    back = RETURNING_SHARE * trained
    return begin(training, LOOKING_BACK, (trained - back, novice, back))


def split(state: AthleteState, within: tuple[Within, ...]) -> AthleteState:
    """Return a state under more hypotheses, each of which starts from one of those before."""
    before = [one.before for one in within]
    held = {
        name: getattr(state, name)[before]
        for name in ("globals_mean", "globals_covariance", "offset", "slope", "spread")
    }
    weeks = 0.0 if state.newest_day is None else (state.newest_day - state.athlete[FIRST_DAY]) / DAYS_PER_WEEK
    for at, one in enumerate(within):
        held["spread"][at, :, DRIFT, DRIFT] += one.new_drift_sd**2
        if one.new_trend_sd > 0.0:
            # What is left of a trend by then counts for so much less.
            _free_trend(held, at, (one.new_trend_sd * exp(one.constants.fading * weeks)) ** 2)
    return replace(state, weights=state.weights[before] * [one.share for one in within], **held)


def _free_trend(held: Mapping[str, Array], at: int, variance: float) -> None:
    """Add a variance to what all lifts change by from now on [1/week^2], and none to where they stand: each lift's conditional
    on the globals is turned to the new ones, its joint with what stood before unchanged."""
    before = held["globals_covariance"][at].copy()
    held["globals_covariance"][at, TREND, TREND] += variance
    kept = np.linalg.solve(held["globals_covariance"][at], before).T
    slope, mean = held["slope"][at], held["globals_mean"][at]
    held["spread"][at] += slope @ (before - kept @ before) @ slope.transpose(0, 2, 1)
    held["offset"][at] += (slope - slope @ kept) @ mean
    held["slope"][at] = slope @ kept


def walked(weeks: float) -> NDArray[np.float64]:
    """Return the variance of a change over so many weeks under each hypothesis, no set seen and the log young. [1]"""
    table = LOOKING_BACK
    faded = (1.0 - np.exp(-table["fading"] * weeks)) / table["fading"]
    gains = table["trend_sd"] ** 2 + table["drift_sd"] ** 2
    return np.asarray(table["strength_walk"] ** 2 * weeks + gains * faded**2)
