"""One athlete's shared numbers and the series that hang on them, as Gaussians.

Each series is kept as a conditional ``locals | globals ~ N(a + B globals, C)``. Given the globals, what one series
shows says nothing of another, so that a set moves its own series and the globals, and through these everything else,
exactly and at the cost of one series.
"""

from math import sqrt
from typing import Any

import numpy as np

from service.core.capability.compiling import compiled
from service.core.capability.layout import DAY, GLOBAL_COUNT, LOCAL_COUNT

Array = Any


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
def _inverse(p: Array, inverse: Array) -> None:
    """Write the inverse of a positive definite matrix of the globals, by Cholesky."""
    m = p.shape[0]
    low = np.zeros((GLOBAL_COUNT, GLOBAL_COUNT))
    for i in range(m):
        for j in range(i + 1):
            total = p[i, j]
            for q in range(j):
                total -= low[i, q] * low[j, q]
            if i == j:
                low[i, i] = sqrt(max(total, 1e-14))
            else:
                low[i, j] = total / low[j, j]
    for column in range(m):
        for i in range(m):
            total = 1.0 if i == column else 0.0
            for q in range(i):
                total -= low[i, q] * inverse[q, column]
            inverse[i, column] = total / low[i, i]
        for i in range(m - 1, -1, -1):
            total = inverse[i, column]
            for q in range(i + 1, m):
                total -= low[q, i] * inverse[q, column]
            inverse[i, column] = total / low[i, i]


@compiled
def part(n: int, mean: Array, cov: Array, a: Array, b: Array, c: Array, g: Array, p: Array) -> None:
    """Write a joint Gaussian back as globals and the conditional of n locals."""
    for q in range(GLOBAL_COUNT):
        g[q] = mean[n + q]
        for r in range(GLOBAL_COUNT):
            p[q, r] = cov[n + q, n + r]
    inverse = np.zeros((GLOBAL_COUNT, GLOBAL_COUNT))
    _inverse(p, inverse)
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
def update(
    m: int,
    mean: Array,
    cov: Array,
    h: Array,
    before: float,
    moved: float,
    shrunk: float,
    slow: int,
    pace: float,
    next_pace: float,
) -> None:
    """Pass the change of one number's mean and variance back to the m joint numbers, along the gain.

    Number ``slow`` learns at ``pace`` only and the one after it at ``next_pace`` (a partial update after Schmidt): their
    doubt stays in all intervals while small faults of the model, repeated a thousand times, cannot carry them away.
    """
    gain = np.empty(m)
    for i in range(m):
        total = 0.0
        for j in range(m):
            if h[j] != 0.0:
                total += cov[i, j] * h[j]
        gain[i] = total / before
    for i in range(m):
        own = pace if i == slow else next_pace if i == slow + 1 else 1.0
        mean[i] += gain[i] * moved * own
        for j in range(i + 1):
            other = pace if j == slow else next_pace if j == slow + 1 else 1.0
            changed = cov[i, j] + shrunk * gain[i] * gain[j] * (own + other - own * other)
            cov[i, j] = changed
            cov[j, i] = changed


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


@compiled
def forget_day(a: Array, b: Array, c: Array, g: Array, p: Array) -> None:
    """Take the day's effect out of what a series hangs on, before a new day is drawn: it stays in the spread."""
    m = GLOBAL_COUNT - 1
    inner = np.empty((m, m))
    for q in range(m):
        for r in range(m):
            inner[q, r] = p[q + 1, r + 1]
    inverse = np.zeros((m, m))
    _inverse(inner, inverse)
    slope = np.zeros(m)
    left, offset = p[DAY, DAY], g[DAY]
    for q in range(m):
        for r in range(m):
            slope[q] += p[DAY, r + 1] * inverse[r, q]
        left -= slope[q] * p[q + 1, DAY]
        offset -= slope[q] * g[q + 1]
    left = max(left, 0.0)
    for i in range(LOCAL_COUNT):
        for j in range(i + 1):
            # One triangle is kept in bytes, so that the other must be its mirror to the last bit.
            spread = c[i, j] + b[i, DAY] * left * b[j, DAY]
            c[i, j] = spread
            c[j, i] = spread
    for i in range(LOCAL_COUNT):
        a[i] += b[i, DAY] * offset
        for q in range(m):
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
