"""The growth that is expected at a weekly number of hard sets, and intervals of it and of the slope behind it.

Slopes below nothing are no part of the answer, so that equal tails would leave out "sets do nothing" however little was
seen, by their form alone. What is left out beside it goes by the evidence instead. `Response.no_effect` is a Bayes factor,
whose inverse exceeds 1 / k in no more than k of the worlds in which sets do nothing, whatever was seen and however often one
looked (Markov's inequality; Ville's for many looks). An interval of mass m holds no growth until that factor is below 1 - m, so
that it holds it in m of those worlds; from there on its tail on that side grows, towards equal tails. All of them keep the
mass m of what is believed, so that they hold m of the truths of worlds in which people answer as people do.

References:
    Savage-Dickey ratio: Dickey, Ann. Math. Statist. 42 (1971); bound: Ville (1939), from memory.
"""

from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.estimates import Interval
from service.core.units import HardSets, Share
from service.core.volume.response import Response

Array = NDArray[np.float64]
#: Weeks over which a gain is judged (the length of the trials behind the slopes: 8 to 12).
HORIZON_WEEKS: Final = 12.0
#: Halvings of a growth's range: to a part in 16,000 of it.
_HALVINGS: Final = 14


def _factor(weekly_sets: HardSets, response: Response) -> Array:
    """Return what the slope is multiplied with at each node, for the growth of a week. [root set]"""
    factor: Array = sqrt(weekly_sets) - response.roots - response.falls * weekly_sets
    return factor


def growth_at(weekly_sets: HardSets, response: Response) -> tuple[Share, float]:
    """Return mean and sd of the growth over 12 weeks at so many weekly sets. [1]"""
    factor = _factor(weekly_sets, response)
    means, sds = HORIZON_WEEKS * factor * response.slopes, HORIZON_WEEKS * abs(factor) * response.slope_sds
    mean = float(response.weights @ means)
    return mean, sqrt(float(response.weights @ (sds**2 + (means - mean) ** 2)))


def growth_interval(weekly_sets: HardSets, response: Response, mass: Share) -> Interval:
    """Return the interval of the growth over 12 weeks at so many weekly sets. [1]"""
    return _interval(HORIZON_WEEKS * _factor(weekly_sets, response), response, mass)


def slope_interval(response: Response, mass: Share) -> Interval:
    """Return the interval of the slope. [1 / week / root set]"""
    return _interval(np.ones(len(response.slopes)), response, mass)


def effect_is_told(response: Response, mass: Share) -> bool:
    """Whether sets that do nothing lie outside an interval of that mass: what was seen tells them from sets that do."""
    return response.no_effect < 1.0 - mass


def _interval(factors: Array, response: Response, mass: Share) -> Interval:
    """Return the interval of the slope times a factor at each node, by halving between ends that hold nearly all of it.

    It holds the mean too, wherever a long tail draws that.
    """
    below, above = (float(response.weights @ side) for side in (factors < 0.0, factors > 0.0))
    left, right = _left_out(below, above, response.no_effect, mass)
    tails = np.array([1.0 - left, right])
    ends = np.outer([-1.0, 1.0], abs(factors)) * (response.slopes + 8.0 * response.slope_sds)
    lower, upper = np.full(2, min(ends[0].min(), 0.0)), np.full(2, max(ends[1].max(), 0.0))
    safe = np.where(factors == 0.0, 1.0, factors)
    for _ in range(_HALVINGS):
        middle = 0.5 * (lower + upper)
        at = middle[:, None] / safe
        slope_above = response.normals.chance_above(at)
        beyond = np.where(safe > 0.0, slope_above, 1.0 - slope_above)
        beyond = np.where(factors == 0.0, middle[:, None] < 0.0, beyond) @ response.weights
        lower, upper = np.where(beyond >= tails, middle, lower), np.where(beyond >= tails, upper, middle)
    low, high = (float(end) for end in 0.5 * (lower + upper))
    # An end that stands at nothing stands there exactly.
    low, high = (0.0 if left == below else low), (0.0 if right == above else high)
    mean = float(response.weights @ (factors * response.slopes))
    return Interval(min(low, mean), max(high, mean), mass)


def _left_out(below: Share, above: Share, no_effect: float, mass: Share) -> tuple[Share, Share]:
    """Return the shares of what is believed that are left out on either side of an interval; so much lies below and above nothing.

    Equal tails, unless one of these would leave out nothing itself: that one ends there, and goes on beyond it only in the
    measure in which the evidence is against sets that do nothing.
    """
    tail, told = 0.5 * (1.0 - mass), max(1.0 - no_effect / (1.0 - mass), 0.0)
    if below < tail:
        left = below + (tail - below) * told
        return left, 1.0 - mass - left
    if above < tail:
        right = above + (tail - above) * told
        return 1.0 - mass - right, right
    return tail, tail
