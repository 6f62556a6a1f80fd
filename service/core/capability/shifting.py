"""Strength, or one side's, that has moved and stays there: seen in the loads that go for the usual repetitions.

A set of the usual repetitions whose reserve is told shows the load for them, however the curve is taken. A day is off by
chance; where that load lies off what is believed to one side in two sessions running it is no day's matter, and before
the next session strength, or the gap of sides, is believed to have jumped as surely as the odds say. Else a filter that
believes that sides part slowly explains a side that has fallen by the curve, by the reports, and by the other side.
"""

from math import exp, sqrt
from typing import Any

from service.core.capability.absorbing import (
    NOT_MOST,
    alike_share,
    curve_of,
    noise_of,
    noise_of_pain,
    sign_of,
    strength_now,
)
from service.core.capability.compiling import compiled
from service.core.capability.hub import quadratic
from service.core.capability.jumping import reserve_of
from service.core.capability.layout import (
    BEND,
    C_LN_LOAD,
    C_REPS,
    C_RESERVE,
    C_SETUP,
    C_SIDE,
    C_TIMED,
    C_TO_FAILURE,
    DAY,
    ENDURANCE,
    FIRST_SETUP,
    GAP_MORE,
    GAP_NOW_SUM,
    GAP_NOW_WEIGHT,
    GAP_SUM,
    GAP_WEIGHT,
    GLOBAL_COUNT,
    HALF_GAP,
    HALF_LN_K,
    LEFT_SUM,
    LEFT_WEIGHT,
    LEVEL_NOW_SUM,
    LEVEL_NOW_WEIGHT,
    LEVEL_SUM,
    LEVEL_WEIGHT,
    LN_K,
    LOCALS_BOTH,
    OWN_DAY,
    OWN_TIRING,
    PIVOT,
    REJECTED,
    RIGHT_SUM,
    RIGHT_WEIGHT,
    SETS,
    SIDE_DAY,
    STRENGTH,
    STRENGTH_MORE,
    TIRING,
)
from service.core.capability.likelihood import ln_ratio, slopes
from service.core.capability.running import day_variance, own_day_variance

Array = Any
_RIGHT = 2
#: Repetitions less like the usual ones than this say something of the curve, not of the load for these (judgement). [1]
_LEAST_ALIKE = 0.1
#: What pain takes is taken of a session's sets alike: it blurs each by so many times its variance (judgement).
_SETS_ALIKE = 3.0
#: Before a lift has so many sets no repetitions are usual to it, and its curve is still to be learnt (judgement).
_SETTLED = 16.0
#: Odds are as good as certain beyond e to the power of this.
_CERTAIN = 50.0


@compiled
def _shows_load(side: int, n: int, row: Array, told_most: float, notes: Array) -> bool:
    """Return whether a working set shows what load goes for the usual repetitions, on a side where sides are followed."""
    told = row[C_TO_FAILURE] > 0.0 or (row[C_RESERVE] >= 0.0 and told_most == NOT_MOST)
    usual = notes[PIVOT] > 1.0 and row[C_TIMED] == 0.0
    side_known = (side != 0) == (n > LOCALS_BOTH)
    return bool(told and usual and side_known and notes[REJECTED] == 0.0)


@compiled
def _setup_of(row: Array, mean: Array) -> float:
    """Return by how much a set's own set-up is believed to allow more load than the usual one. [1]"""
    setup = int(row[C_SETUP])
    return float(mean[FIRST_SETUP + setup - 1]) if setup > 0 else 0.0


@compiled
def _note_load(
    side: int, n: int, row: Array, tired: float, c: Any, mean: Array, cov: Array, notes: Array
) -> None:
    """Count the ln load for the usual repetitions that a set shows among those of its side, when rested."""
    usual = notes[PIVOT]
    k, b = curve_of(n, 0.0, mean)
    left, left_sd = reserve_of(n, row, mean, cov, c)
    shown = row[C_REPS] + left
    alike = alike_share(shown, usual)
    if alike < _LEAST_ALIKE:
        return
    z, by_n, _, _, _, _ = slopes(shown, k, b)
    weight = alike / (c.set_sd**2 + (left_sd * by_n) ** 2 + _SETS_ALIKE * noise_of_pain(row, c))
    ln_load = row[C_LN_LOAD] + z - ln_ratio(usual, k, b) + tired * (mean[OWN_TIRING] + mean[n + TIRING])
    ln_load -= _setup_of(row, mean)
    notes[RIGHT_SUM if side == _RIGHT else LEFT_SUM] += weight * ln_load
    notes[RIGHT_WEIGHT if side == _RIGHT else LEFT_WEIGHT] += weight


@compiled
def _load_held(n: int, usual: float, mean: Array, cov: Array, h: Array) -> tuple[float, float]:
    """Return mean and variance of the ln load for the ``usual`` repetitions, of a limbs' mean and rested. [ln kg]"""
    z, _, by_ln_k, by_b, _, _ = slopes(usual, *curve_of(n, 0.0, mean))
    h[:] = 0.0
    h[STRENGTH], h[BEND] = 1.0, -by_b
    h[LN_K] = h[n + ENDURANCE] = -by_ln_k
    return mean[STRENGTH] - z, quadratic(n + GLOBAL_COUNT, cov, h)


@compiled
def _gap_held(n: int, usual: float, mean: Array, cov: Array, h: Array) -> tuple[float, float]:
    """Return mean and variance of what right goes for beyond left for the ``usual`` repetitions. [ln]"""
    _, _, by_ln_k, _, _, _ = slopes(usual, *curve_of(n, 0.0, mean))
    h[:] = 0.0
    h[HALF_GAP], h[HALF_LN_K] = 2.0, -2.0 * by_ln_k
    return 2.0 * (mean[HALF_GAP] - by_ln_k * mean[HALF_LN_K]), quadratic(n + GLOBAL_COUNT, cov, h)


@compiled
def _held(
    n: int, weights: Array, usual: float, sides: bool, mean: Array, cov: Array, h: Array
) -> tuple[float, float]:
    """Return `_load_held` or, where ``sides``, `_gap_held` of all hypotheses, the doubt between them left out."""
    total, doubt = 0.0, 0.0
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            held, variance = (
                _gap_held(n, usual, mean[i], cov[i], h) if sides else _load_held(n, usual, mean[i], cov[i], h)
            )
            total += weights[i] * held
            doubt += weights[i] * variance
    return total, doubt


@compiled
def _surely(off: float, variance: float, least: float, sure: float) -> float:
    return float(min(max((abs(off) / sqrt(variance) - least) / (sure - least), 0.0), 1.0))


@compiled
def change_share(
    n: int, row: Array, tired: float, usual: float, c: Any, mean: Array, cov: Array, athlete: Array, notes: Array, h: Array,
) -> float:  # fmt: skip
    """Return how surely strength has changed, or one side's, should a set show the ``usual`` repetitions. [1]

    That is told by how far the load for them is off what is believed when rested, and of a side by how far it is off
    beside what the other side has shown in the session.
    """
    if usual <= 1.0 or row[C_REPS] <= 0.0 or row[C_TIMED] > 0.0 or notes[SETS] < _SETTLED:
        return 0.0
    sign = sign_of(row[C_SIDE])
    k, b = curve_of(n, sign, mean)
    left, left_sd = reserve_of(n, row, mean, cov, c)
    _, by_n, _, _, _, _ = slopes(usual, k, b)
    chance = noise_of(row, mean, cov, c) + (left_sd * by_n) ** 2
    shown = row[C_LN_LOAD] + ln_ratio(row[C_REPS] + left, k, b)
    rested = strength_now(n, sign, int(row[C_SETUP]), tired, mean) - mean[OWN_DAY] - mean[n + DAY]
    _, doubt = _load_held(n, usual, mean, cov, h)
    days = day_variance(c, athlete) + own_day_variance(c, athlete)
    if sign == 0.0:
        return _surely(shown - rested, chance + doubt + days, c.change_from, c.change_sure)
    rested -= sign * mean[SIDE_DAY]
    held, doubt_of_gap = _gap_held(n, usual, mean, cov, h)
    days += c.side_day_sd**2
    share = _surely(shown - rested, chance + doubt + 0.25 * doubt_of_gap + days, c.change_from, c.change_sure)
    other, weight = (
        (notes[LEFT_SUM], notes[LEFT_WEIGHT]) if sign > 0.0 else (notes[RIGHT_SUM], notes[RIGHT_WEIGHT])
    )
    if weight <= 0.0:
        return share
    fresh = shown + tired * (mean[OWN_TIRING] + mean[n + TIRING]) - _setup_of(row, mean)
    gap = sign * (fresh - ln_ratio(usual, k, b) - other / weight)
    chance += 1.0 / weight + 4.0 * c.side_day_sd**2
    return max(share, _surely(gap - held, chance + doubt_of_gap, c.side_change_from, c.side_change_sure))


@compiled
def _run(
    seen: float, noise: float, held: float, doubt: float, before: float, before_weight: float
) -> tuple[float, float]:
    """Return sum and weight of the sessions running that show what is off to the same side, the open one with ``seen``."""
    off = seen - held
    if off * off < noise + doubt:
        return 0.0, 0.0
    if before_weight <= 0.0 or off * (before / before_weight - held) <= 0.0:
        return seen / noise, 1.0 / noise
    return before + seen / noise, before_weight + 1.0 / noise


@compiled
def _shifted(off: float, variance: float, share: float, sd: float) -> float:
    """Return the variance that a shift adds: a shift's, times how probable one is that leaves things so far ``off``. [1]"""
    wide = variance + sd * sd
    odds = share * sqrt(variance / wide) * exp(min(0.5 * off * off * (1.0 / variance - 1.0 / wide), _CERTAIN))
    return float(sd * sd * odds / (1.0 + odds))


@compiled
def follow_loads(
    side: int, n: int, row: Array, tired: float, told_most: float, best: int, cs: Any, weights: Array, mean: Array, cov: Array,
    athlete: Array, notes: Array, h: Array,
) -> None:  # fmt: skip
    """Note by how much more strength and the gap of sides are to be doubted when the next session begins.

    One session off may be a day, a slip or a bad report: only from the second of a run on is anything doubted.
    """
    if not _shows_load(side, n, row, told_most, notes):
        return
    _note_load(side, n, row, tired, cs[best], mean[best], cov[best], notes)
    if notes[LEFT_WEIGHT] + notes[RIGHT_WEIGHT] <= 0.0:
        return
    left, right = notes[LEFT_WEIGHT], notes[RIGHT_WEIGHT]
    notes[GAP_MORE] = notes[STRENGTH_MORE] = 0.0
    days = 0.0
    for i in range(weights.shape[0]):
        days += weights[i] * (day_variance(cs[i], athlete) + own_day_variance(cs[i], athlete))
    if left > 0.0 and right > 0.0:
        level, gap = notes[LEFT_SUM] / left, notes[RIGHT_SUM] / right - notes[LEFT_SUM] / left
        _follow_gap(n, gap, 1.0 / left + 1.0 / right, cs[best], weights, mean, cov, notes, h)
        noise = 0.25 * (1.0 / left + 1.0 / right)
        _follow_level(n, level + 0.5 * gap, noise + days, cs[best], weights, mean, cov, notes, h)
    elif n > LOCALS_BOTH:
        # Of a side alone: what it is off by may be of both or its own.
        sign, seen, weight = (1.0, notes[RIGHT_SUM], right) if right > 0.0 else (-1.0, notes[LEFT_SUM], left)
        held, doubt = _held(n, weights, notes[PIVOT], True, mean, cov, h)
        noise = 1.0 / weight + 0.25 * doubt + cs[best].side_day_sd ** 2
        _follow_level(
            n, seen / weight - 0.5 * sign * held, noise + days, cs[best], weights, mean, cov, notes, h
        )
        notes[GAP_MORE] = 0.25 * notes[STRENGTH_MORE]
    else:
        _follow_level(n, notes[LEFT_SUM] / left, 1.0 / left + days, cs[best], weights, mean, cov, notes, h)


@compiled
def _follow_gap(
    n: int, gap: float, noise: float, c: Any, weights: Array, mean: Array, cov: Array, notes: Array, h: Array
) -> None:
    noise += 4.0 * c.side_day_sd**2
    held, doubt = _held(n, weights, notes[PIVOT], True, mean, cov, h)
    total, weight = _run(gap, noise, held, doubt, notes[GAP_SUM], notes[GAP_WEIGHT])
    notes[GAP_NOW_SUM], notes[GAP_NOW_WEIGHT] = total, weight
    if weight > 1.0 / noise:
        # Of either side half: which of them it was the next sets tell.
        notes[GAP_MORE] = 0.25 * _shifted(
            total / weight - held, 1.0 / weight + doubt, c.gap_shift_share, c.jump_sd
        )


@compiled
def _follow_level(
    n: int,
    level: float,
    noise: float,
    c: Any,
    weights: Array,
    mean: Array,
    cov: Array,
    notes: Array,
    h: Array,
) -> None:
    held, doubt = _held(n, weights, notes[PIVOT], False, mean, cov, h)
    total, weight = _run(level, noise, held, doubt, notes[LEVEL_SUM], notes[LEVEL_WEIGHT])
    notes[LEVEL_NOW_SUM], notes[LEVEL_NOW_WEIGHT] = total, weight
    notes[STRENGTH_MORE] = notes[GAP_MORE]
    if weight > 1.0 / noise:
        notes[STRENGTH_MORE] += _shifted(
            total / weight - held, 1.0 / weight + doubt, c.shift_share, c.jump_sd
        )
