"""The curve turns about the repetitions trained: the load known there stays known, however the curve's slope is taken.

Sets of one number of repetitions tell the load for it, and next to nothing of the maximum and the curve apart. Where the
maximum is what is held, their ratio hangs on the curve, by more the flatter that is believed: a linear step then reads
into a load that changes a curve that does, which makes the next step read more. So a series is stored by the load for the
repetitions usual to it, is worked on by its maximum, and after each set that tells what it left the load is kept as it
was believed to be.
"""

from math import inf, log
from typing import Any

from service.core.capability.absorbing import curve_of
from service.core.capability.compiling import compiled
from service.core.capability.layout import BEND, ENDURANCE, GLOBAL_COUNT, LN_K, STRENGTH
from service.core.capability.likelihood import slopes

Array = Any
#: A curve that ends turns about no more repetitions than those at which it has bent by this share of its way there: beyond,
#: the load hangs on the end, and what chance adds to repetitions made it bend on until a maximum ran away. (judgement) [1]
_MOST_BENT = 0.1


@compiled
def _shear(n: int, by_ln_k: float, by_bend: float, cov: Array) -> None:
    """Add so much of ln k and of the bend to strength in a covariance."""
    m = n + GLOBAL_COUNT
    for j in range(m):
        cov[STRENGTH, j] += by_ln_k * (cov[LN_K, j] + cov[n + ENDURANCE, j]) + by_bend * cov[BEND, j]
    for j in range(m):
        cov[j, STRENGTH] += by_ln_k * (cov[j, LN_K] + cov[j, n + ENDURANCE]) + by_bend * cov[j, BEND]


@compiled
def to_maximum(n: int, usual: float, mean: Array, cov: Array) -> None:
    """Turn strength from ln of the load for the ``usual`` repetitions into ln 1RM; none are known below 1. [ln kg]"""
    if usual > 1.0:
        k, b = curve_of(n, 0.0, mean)
        z, _, by_ln_k, by_bend, _, _ = slopes(usual, k, b)
        mean[STRENGTH] += z
        _shear(n, by_ln_k, by_bend, cov)


@compiled
def to_usual(n: int, usual: float, mean: Array, cov: Array) -> None:
    """Turn strength from ln 1RM into ln of the load for the ``usual`` repetitions: undoes `to_maximum`. [ln kg]"""
    if usual > 1.0:
        k, b = curve_of(n, 0.0, mean)
        z, _, by_ln_k, by_bend, _, _ = slopes(usual, k, b)
        mean[STRENGTH] -= z
        _shear(n, -by_ln_k, -by_bend, cov)


@compiled
def _most_to_turn(k: float, b: float) -> float:
    """Return the most repetitions that a curve turns about. [repetitions]"""
    return 1.0 - _MOST_BENT * k / b if b < 0.0 else inf


@compiled
def pivot(n: int, usual: float, k: float, b: float, mean: Array, cov: Array) -> None:
    """Let a curve that a linear step took from ``k`` and ``b`` turn about the ``usual`` repetitions, not about the maximum."""
    if usual <= 1.0:
        return
    now_k, now_b = curve_of(n, 0.0, mean)
    if now_k == k and now_b == b:
        return
    usual = min(usual, _most_to_turn(k, b), _most_to_turn(now_k, now_b))
    z, _, by_ln_k, by_bend, _, _ = slopes(usual, k, b)
    now_z, _, now_by_ln_k, now_by_bend, _, _ = slopes(usual, now_k, now_b)
    # A maximum that rises while the curve goes flat leaves the load as it was: what is beyond the straight line is its own.
    mean[STRENGTH] += now_z - z - by_ln_k * log(now_k / k) - by_bend * (now_b - b)
    _shear(n, now_by_ln_k - by_ln_k, now_by_bend - by_bend, cov)
