"""Strength that moves at once, by illness, an injury or another machine: what no walk and no day tells."""

from math import exp, isnan, pi, sqrt
from typing import Any

from service.core.capability.absorbing import (
    alike_share,
    curve_of,
    noise_of,
    noise_of_pain,
    sign_of,
    strength_direction,
    strength_now,
)
from service.core.capability.compiling import compiled
from service.core.capability.hub import along
from service.core.capability.layout import (
    BEND,
    BIAS,
    C_BOUND_ONLY,
    C_LN_LOAD,
    C_MATCHED,
    C_REPS,
    C_RESERVE,
    C_SETUP,
    C_SIDE,
    C_TIMED,
    C_TO_FAILURE,
    C_WARM_UP,
    ENDURANCE,
    GLOBAL_COUNT,
    HABIT,
    LN_K,
    NOT_MATCHED,
)
from service.core.capability.likelihood import ln_ratio, report, reserve_behind, slopes

Array = Any
_ROOT_TWO_PI = sqrt(2.0 * pi)
#: Nearer to what is believed than this a set asks for no explanation (judgement). [1]
_UNREMARKABLE = 0.08
#: How densely slips of the pen lie, which are off by anything: 2.5e-4 of all sets over three units of ln load (judgement). [1]
_SLIP_DENSITY = 1e-4
#: Share of all that a curve can ever give that a set may use up before the curve is what is wrong (judgement). [1]
_STEEPEST = -0.5


@compiled
def jump_variance(
    n: int,
    row: Array,
    tired: float,
    usual: float,
    told_most: float,
    c: Any,
    mean: Array,
    cov: Array,
    h: Array,
    tied: Array,
) -> float:
    """Return the variance that a jump of strength before this set adds: a jump's, times how probable one is. [1]

    Only a set of as many repetitions to failure as are ``usual`` speaks of one: others may speak of the curve, and one of
    the highest reserve told leaves open how many it was.
    """
    if c.jump_share <= 0.0 or usual <= 0.0 or row[C_REPS] <= 0.0 or told_most > 0.0 or not _is_work(row):
        return 0.0
    left, left_sd = reserve_of(n, row, mean, cov, c)
    sign, setup = sign_of(row[C_SIDE]), int(row[C_SETUP])
    k, b = curve_of(n, sign, mean)
    z, by_n, by_ln_k, by_b, _, _ = slopes(row[C_REPS] + left, k, b)
    off = row[C_LN_LOAD] + z - strength_now(n, sign, setup, tired, mean)
    if abs(off) < _UNREMARKABLE:
        return 0.0
    strength_direction(n, sign, setup, tired, h)
    h[LN_K] = h[n + ENDURANCE] = -by_ln_k
    h[BEND] = -by_b
    chance = along(n + GLOBAL_COUNT, cov, h, tied) + noise_of(row, mean, cov, c) + noise_of_pain(row, c)
    chance += (left_sd * by_n) ** 2
    jump = c.jump_sd**2
    jumped = c.jump_share * alike_share(row[C_REPS] + left, usual) * _density(off, chance + jump)
    return float(jump * jumped / (jumped + _density(off, chance) + _SLIP_DENSITY))


@compiled
def _is_work(row: Array) -> bool:
    bound = row[C_BOUND_ONLY] > 0.0 or row[C_WARM_UP] >= 0.5
    return not bound and row[C_MATCHED] == NOT_MATCHED and row[C_TIMED] == 0.0


@compiled
def reserve_of(n: int, row: Array, mean: Array, cov: Array, c: Any) -> tuple[float, float]:
    """Return what a set left and how surely that is known: mean and sd. [repetitions]"""
    if row[C_TO_FAILURE] > 0.0:
        return 0.5, c.count_sd
    if isnan(row[C_RESERVE]):
        return mean[n + HABIT], sqrt(c.stop_within**2 + c.stop_sd**2 + cov[n + HABIT, n + HABIT])
    left = reserve_behind(row[C_RESERVE], mean[n + BIAS], c.report_share)
    return left, sqrt(report(left, mean[n + BIAS], c)[1] ** 2 + cov[n + BIAS, n + BIAS])


@compiled
def make_possible(n: int, row: Array, mean: Array) -> None:
    """Straighten a curve that falls too steeply to give as many repetitions as were done, at whatever strength."""
    k, b = curve_of(n, sign_of(row[C_SIDE]), mean)
    more = row[C_REPS] - 1.0
    if more > 0.0 and b * more / k < _STEEPEST:
        mean[BEND] = 0.0


@compiled
def off_by(n: int, row: Array, tired: float, c: Any, mean: Array, cov: Array) -> float:
    """Return by how much a set's log strength differs from what is believed, with the curve as believed. [1]"""
    sign = sign_of(row[C_SIDE])
    strength = strength_now(n, sign, int(row[C_SETUP]), tired, mean)
    k, b = curve_of(n, sign, mean)
    left, _ = reserve_of(n, row, mean, cov, c)
    return float(row[C_LN_LOAD] + ln_ratio(row[C_REPS] + left, k, b) - strength)


@compiled
def _density(off: float, variance: float) -> float:
    return float(exp(-0.5 * off * off / variance) / (sqrt(variance) * _ROOT_TWO_PI))
