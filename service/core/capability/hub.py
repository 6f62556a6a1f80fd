"""One athlete's shared numbers and the series that hang on them, as Gaussians.

Each series is kept as a conditional ``locals | globals ~ N(a + B globals, C)``. Given the globals, what one series
shows says nothing of another, so that a set moves its own series and the globals, and through these everything else,
exactly and at the cost of one series.
"""

from math import sqrt
from typing import Any

import numpy as np

from service.core.capability.compiling import compiled, compiled_to_allocate
from service.core.capability.layout import DAY, GLOBAL_COUNT

Array = Any
#: Shape of the array that parting and a new day work in: an inverse, its factor, slopes.
WORK = (3, GLOBAL_COUNT, GLOBAL_COUNT)


@compiled
def join(n: int, a: Array, b: Array, c: Array, g: Array, p: Array, mean: Array, cov: Array) -> None:
    """Write the joint mean and covariance of n locals and the globals into ``mean`` and ``cov``."""
    for i in range(n):
        total = a[i]
        for q in range(GLOBAL_COUNT):
            total += b[i, q] * g[q]
            crossing = 0.0
            for r in range(GLOBAL_COUNT):
                crossing += b[i, r] * p[r, q]
            cov[i, n + q] = crossing
            cov[n + q, i] = crossing
        mean[i] = total
    for i in range(n):
        for j in range(i + 1):
            total = c[i, j]
            for q in range(GLOBAL_COUNT):
                total += cov[i, n + q] * b[j, q]
            cov[i, j] = total
            cov[j, i] = total
    for q in range(GLOBAL_COUNT):
        mean[n + q] = g[q]
        for r in range(GLOBAL_COUNT):
            cov[n + q, n + r] = p[q, r]


@compiled
def _factor(first: int, p: Array, low: Array) -> None:
    """Write the triangle whose square is the covariance of the globals from ``first`` on, its diagonal as reciprocals."""
    for i in range(GLOBAL_COUNT - first):
        for j in range(i):
            total = p[first + i, first + j]
            for q in range(j):
                total -= low[i, q] * low[j, q]
            low[i, j] = total * low[j, j]
        total = p[first + i, first + i]
        for q in range(i):
            total -= low[i, q] * low[i, q]
        low[i, i] = 1.0 / sqrt(max(total, 1e-14))


@compiled
def _invert(first: int, p: Array, work: Array) -> None:
    """Write the inverse of the covariance of the globals from ``first`` on into ``work[0]``, by Cholesky."""
    inverse, low, m = work[0], work[1], GLOBAL_COUNT - first
    _factor(first, p, low)
    for j in range(m):
        for i in range(j + 1, m):
            total = 0.0
            for q in range(j, i):
                total -= low[i, q] * low[q, j]
            low[i, j] = total * low[i, i]
    for i in range(m):
        for j in range(i + 1):
            total = 0.0
            for q in range(i, m):
                total += low[q, i] * low[q, j]
            inverse[i, j] = total
            inverse[j, i] = total


@compiled_to_allocate
def part(n: int, mean: Array, cov: Array, a: Array, b: Array, c: Array, g: Array, p: Array) -> None:
    """Write a joint Gaussian back as globals and the conditional of n locals."""
    part_with(n, mean, cov, a, b, c, g, p, np.empty(WORK))


@compiled
def part_with(
    n: int, mean: Array, cov: Array, a: Array, b: Array, c: Array, g: Array, p: Array, work: Array
) -> None:
    """Do what `part` does with an array of shape ``WORK`` to work in."""
    for q in range(GLOBAL_COUNT):
        g[q] = mean[n + q]
        for r in range(GLOBAL_COUNT):
            p[q, r] = cov[n + q, n + r]
    _invert(0, p, work)
    inverse = work[0]
    for i in range(n):
        total = mean[i]
        for q in range(GLOBAL_COUNT):
            slope = 0.0
            for r in range(GLOBAL_COUNT):
                slope += cov[i, n + r] * inverse[r, q]
            b[i, q] = slope
            total -= slope * g[q]
        a[i] = total
    for i in range(n):
        for j in range(i + 1):
            total = cov[i, j]
            for q in range(GLOBAL_COUNT):
                total -= b[i, q] * cov[n + q, j]
            if i == j:
                total = max(total, 0.0)
            c[i, j] = total
            c[j, i] = total


@compiled
def along(m: int, cov: Array, h: Array, tied: Array) -> float:
    """Write the covariances of the joint numbers with a weighted sum of them into ``tied``; return its variance."""
    for i in range(m):
        tied[i] = 0.0
    for j in range(m):
        if h[j] != 0.0:
            for i in range(m):
                tied[i] += cov[j, i] * h[j]
    total = 0.0
    for i in range(m):
        total += h[i] * tied[i]
    return total


@compiled
def update(
    m: int,
    mean: Array,
    cov: Array,
    tied: Array,
    before: float,
    moved: float,
    shrunk: float,
    slow: int,
    pace: float,
    next_pace: float,
) -> None:
    """Pass the change of one number's mean and variance back to the m joint numbers, along the gain.

    ``tied`` are their covariances with that number. Number ``slow`` learns at ``pace`` only and the one after it at
    ``next_pace`` (a partial update after Schmidt): their doubt stays in all intervals while small faults of the model,
    repeated a thousand times, cannot carry them away.
    """
    step, shrink = moved / before, shrunk / (before * before)
    if slow >= 0:
        # Beside a number that learns in full a slow one's covariance moves in full: only these three are left behind.
        own, both, other = cov[slow, slow], cov[slow, slow + 1], cov[slow + 1, slow + 1]
        slow_mean, next_mean = mean[slow], mean[slow + 1]
    for i in range(m):
        mean[i] += tied[i] * step
        for j in range(m):
            cov[i, j] += shrink * (tied[i] * tied[j])
    if slow >= 0:
        mean[slow] = slow_mean + pace * step * tied[slow]
        mean[slow + 1] = next_mean + next_pace * step * tied[slow + 1]
        cov[slow, slow] = own + shrink * (tied[slow] * tied[slow]) * (2.0 * pace - pace * pace)
        both += shrink * (tied[slow] * tied[slow + 1]) * (pace + next_pace - pace * next_pace)
        cov[slow, slow + 1] = both
        cov[slow + 1, slow] = both
        cov[slow + 1, slow + 1] = other + shrink * (tied[slow + 1] * tied[slow + 1]) * (
            2.0 * next_pace - next_pace * next_pace
        )


@compiled
def quadratic(m: int, cov: Array, h: Array) -> float:
    """Return the variance of a weighted sum of the joint numbers."""
    total = 0.0
    for i in range(m):
        if h[i] != 0.0:
            for j in range(m):
                if h[j] != 0.0:
                    total += h[i] * cov[i, j] * h[j]
    return total


@compiled_to_allocate
def forget_day(a: Array, b: Array, c: Array, g: Array, p: Array) -> None:
    """Take the day's effect out of what a series hangs on, before a new day is drawn: it stays in the spread."""
    work = np.empty(WORK)
    left, offset = day_given_rest(g, p, work)
    fold_day(a.shape[0], a, b, c, left, offset, work)


@compiled
def day_given_rest(g: Array, p: Array, work: Array) -> tuple[float, float]:
    """Write the day's slopes on the other globals into ``work[2, 0]``; return its variance given these and its offset."""
    _invert(1, p, work)
    inverse, slope = work[0], work[2, 0]
    left, offset = p[DAY, DAY], g[DAY]
    for q in range(GLOBAL_COUNT - 1):
        slope[q] = 0.0
        for r in range(GLOBAL_COUNT - 1):
            slope[q] += p[DAY, r + 1] * inverse[r, q]
        left -= slope[q] * p[q + 1, DAY]
        offset -= slope[q] * g[q + 1]
    return max(left, 0.0), offset


@compiled
def fold_day(n: int, a: Array, b: Array, c: Array, left: float, offset: float, work: Array) -> None:
    """Take the day, as `day_given_rest` has it, out of what n locals hang on."""
    slope = work[2, 0]
    for i in range(n):
        for j in range(i + 1):
            # One triangle is kept in bytes, so that the other must be its mirror to the last bit.
            spread = c[i, j] + b[i, DAY] * left * b[j, DAY]
            c[i, j] = spread
            c[j, i] = spread
    for i in range(n):
        a[i] += b[i, DAY] * offset
        for q in range(GLOBAL_COUNT - 1):
            b[i, q + 1] += b[i, DAY] * slope[q]
        b[i, DAY] = 0.0


@compiled
def new_day(g: Array, p: Array, variance: float) -> None:
    """Draw the day's effect anew."""
    g[DAY] = 0.0
    for q in range(GLOBAL_COUNT):
        p[DAY, q] = 0.0
        p[q, DAY] = 0.0
    p[DAY, DAY] = variance
