"""What is held of an athlete when the log is looked back on: other hypotheses than looking ahead, and other constants."""

from collections.abc import Mapping
from dataclasses import replace
from math import log
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.core.capability.athlete import AthleteState, begin
from service.core.capability.layout import DRIFT
from service.core.capability.parameters import NOVICE, WEIGHTS, Constants, Training, table_of
from service.core.capability.parameters import TRAINED as USUAL
from service.core.units import Share

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
#: Strength may turn within weeks, by illness or too much work; and one side may come on while the other stands still,
#: after an injury or when it is trained alone.
TURNING: Final[Share] = 0.25
APART: Final[Share] = 0.3
#: A lift's change a week, steady from where it turns. (judgement) [1/week]
_TURNED_SD: Final = 0.006
_TURNING: Final = replace(_STEADY, drift_sd=_TURNED_SD, strength_walk=0.018)
_APART_WALK: Final = 0.02


class Within(NamedTuple):
    """A hypothesis within the sessions looked back on: of which one before it comes, and its share of that one's weight.

    From there on lifts change by as much a week more as ``new_drift_sd`` has it. [1/week]
    """

    before: int
    share: Share
    constants: Constants
    new_drift_sd: float = 0.0


OF_BOTH_LIMBS: Final = (
    Within(STEADY, 1.0 - TURNING, _STEADY),
    Within(STEADY, TURNING, _TURNING, _TURNED_SD),
    Within(RISING, 1.0, _RISING),
    Within(RETURNING, 1.0, _RETURNING),
)
OF_SIDES: Final = (
    Within(STEADY, 1.0 - TURNING - APART, _STEADY),
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
    for at, one in enumerate(within):
        held["spread"][at, :, DRIFT, DRIFT] += one.new_drift_sd**2
    return replace(state, weights=state.weights[before] * [one.share for one in within], **held)


def walked(weeks: float) -> NDArray[np.float64]:
    """Return the variance of a change over so many weeks under each hypothesis, no set seen and the log young. [1]"""
    table = LOOKING_BACK
    faded = (1.0 - np.exp(-table["fading"] * weeks)) / table["fading"]
    gains = table["trend_sd"] ** 2 + table["drift_sd"] ** 2
    return np.asarray(table["strength_walk"] ** 2 * weeks + gains * faded**2)
