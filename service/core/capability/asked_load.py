"""How the load for some repetitions hangs on what is smoothed: on strength at the repetitions that are usual in the end.

The curve believed on a day turns the load for the repetitions usual then into that for those usual in the end, and the
smoothed one that into the load for those asked.
"""

from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.capability.absorbing import curve_of
from service.core.capability.layout import BEND, ENDURANCE, GLOBAL_COUNT, HALF_GAP, HALF_LN_K, LN_K, STRENGTH
from service.core.capability.likelihood import slopes
from service.core.units import LogRatio, Repetitions

Array = NDArray[np.float64]
#: Nearer to the end of a curve that ends nothing is straight: it is read no farther than this share of its way (judgement).
_HALF_WAY: Final = 0.5


def turn_to(used: int, then: Repetitions, usual: Repetitions, mean: Array) -> tuple[Array, LogRatio]:
    """Return how the load for the ``usual`` repetitions hangs on that for those usual ``then``, and by how much it is more."""
    k, bend = curve_of(used, 0.0, mean)
    there, _, ln_k_there, bend_there, _, _ = slopes(_before_the_end(usual, k, bend), k, bend)
    here, _, ln_k_here, bend_here, _, _ = slopes(_before_the_end(then, k, bend), k, bend)
    turn = np.eye(used + GLOBAL_COUNT)
    turn[STRENGTH, [LN_K, used + ENDURANCE]] = ln_k_here - ln_k_there
    turn[STRENGTH, BEND] = bend_here - bend_there
    return turn, here - there


def _before_the_end(repetitions: Repetitions, k: float, bend: float) -> Repetitions:
    """Return the repetitions, or as many of them as a curve that ends is read at."""
    most = 1.0 - _HALF_WAY * k / bend if bend < 0.0 else inf
    return min(max(repetitions, 1.0), most)


def direction_of(used: int, sign: float, asked: Repetitions, usual: Repetitions, mean: Array) -> Array:
    """Return how a side's log load for the repetitions asked hangs on each number, to first order."""
    k, bend = curve_of(used, sign, mean)
    _, _, by_ln_k, by_bend, _, _ = slopes(asked, k, bend)
    _, _, at_usual, bend_at_usual, _, _ = slopes(_before_the_end(usual, k, bend), k, bend)
    direction = np.zeros(used + GLOBAL_COUNT)
    direction[STRENGTH], direction[BEND] = 1.0, bend_at_usual - by_bend
    direction[LN_K] = direction[used + ENDURANCE] = at_usual - by_ln_k
    if sign:
        direction[HALF_GAP], direction[HALF_LN_K] = sign, -sign * by_ln_k
    return direction


def ln_load_of(used: int, sign: float, asked: Repetitions, usual: Repetitions, mean: Array) -> float:
    """Return a side's log load for the repetitions asked. [ln kg]"""
    k, bend = curve_of(used, 0.0, mean)
    gap = sign * mean[HALF_GAP] if sign else 0.0
    maximum = mean[STRENGTH] + slopes(_before_the_end(usual, k, bend), k, bend)[0]
    return float(maximum + gap - slopes(asked, *curve_of(used, sign, mean))[0])
