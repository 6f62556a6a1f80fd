"""What is expected of a set before it is seen: the distribution of its repetitions to failure."""

from math import exp, expm1, sqrt
from typing import Any

from service.core.capability.absorbing import curve_of, noise_of, sign_of, strength_direction
from service.core.capability.compiling import compiled
from service.core.capability.hub import quadratic
from service.core.capability.layout import BEND, C_SETUP, C_SIDE, ENDURANCE, GLOBAL_COUNT, HALF_LN_K, LN_K
from service.core.capability.likelihood import cdf, ln_ratio, repetitions, slopes

Array = Any
#: What the distribution rests on, per hypothesis: mean of the log strength, of ln k and the bend, then the upper
#: triangle of their covariance, ln(1RM / load) where the curve is known best, and the curve's doubt beyond them.
OUTLOOK = ("strength", "ln_k", "bend", "ss", "sk", "sb", "kk", "kb", "bb", "known_z", "doubt")
OUTLOOK_COUNT = 11
_STEPS = 24
_REACH_SD = 7.0
#: Doubt about the curve moves the mean of a load by no more than this. (judgement) [sd]
_MOST_DOUBT = 0.5


@compiled
def look(
    n: int, row: Array, tired: float, known_at: float, c: Any, mean: Array, cov: Array, h: Array, out: Array
) -> None:
    """Write the outlook of one set under one hypothesis into ``out``, the day's and the set's noise included."""
    sign, m = sign_of(row[C_SIDE]), n + GLOBAL_COUNT
    strength_direction(n, sign, int(row[C_SETUP]), tired, h)
    centre = 0.0
    for i in range(m):
        centre += h[i] * mean[i]
    with_ln_k, with_bend = 0.0, 0.0
    for i in range(m):
        if h[i] != 0.0:
            crossing = cov[i, LN_K] + cov[i, n + ENDURANCE]
            if sign != 0.0:
                crossing += sign * cov[i, HALF_LN_K]
            with_ln_k += h[i] * crossing
            with_bend += h[i] * cov[i, BEND]
    k, b = curve_of(n, sign, mean)
    of_ln_k = cov[LN_K, LN_K] + cov[n + ENDURANCE, n + ENDURANCE] + 2.0 * cov[LN_K, n + ENDURANCE]
    between = cov[LN_K, BEND] + cov[n + ENDURANCE, BEND]
    if sign != 0.0:
        of_ln_k += cov[HALF_LN_K, HALF_LN_K] + 2.0 * sign * (
            cov[HALF_LN_K, LN_K] + cov[HALF_LN_K, n + ENDURANCE]
        )
        between += sign * cov[HALF_LN_K, BEND]
    out[0], out[1], out[2] = centre, k, b
    out[3] = quadratic(m, cov, h) + noise_of(row, mean, cov, c)
    out[4], out[5], out[6], out[7], out[8] = with_ln_k, with_bend, of_ln_k, between, cov[BEND, BEND]
    out[9], out[10] = ln_ratio(known_at, k, b), c.extrapolation_sd


@compiled
def ln_load_moments(n: float, out: Array) -> tuple[float, float]:
    """Return mean and variance of the log of the load that n repetitions are possible with. [ln kg]"""
    k, b = out[1], out[2]
    z, _, by_k, by_b, by_k_twice, by_b_twice = slopes(n, k, b)
    beyond = out[10] * (z - out[9])
    variance = out[3] - 2.0 * by_k * out[4] - 2.0 * by_b * out[5]
    variance += by_k * by_k * out[6] + 2.0 * by_k * by_b * out[7] + by_b * by_b * out[8] + beyond * beyond
    variance = max(variance, 1e-10)
    # Where a curve nears the most repetitions it can give, its second slopes grow beyond what they are good for.
    most = _MOST_DOUBT * sqrt(variance)
    doubt = min(max(0.5 * (by_k_twice * out[6] + by_b_twice * out[8]), -most), most)
    return out[0] - z - doubt, variance


@compiled
def at_least(n: float, ln_load: float, weights: Array, outs: Array) -> float:
    """Return the chance that n repetitions can be done, over the hypotheses. [1]"""
    total = 0.0
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            mean, variance = ln_load_moments(n, outs[i])
            total += weights[i] * cdf((mean - ln_load) / sqrt(variance))
    return total


@compiled
def quantile(p: float, ln_load: float, weights: Array, outs: Array) -> float:
    """Return the repetitions that are not exceeded with probability p. [repetitions]"""
    best = 0
    for i in range(weights.shape[0]):
        if weights[i] > weights[best]:
            best = i
    out = outs[best]
    spread = sqrt(out[3]) + 0.1
    low, high = out[0] - ln_load - _REACH_SD * spread, out[0] - ln_load + _REACH_SD * spread
    for _ in range(_STEPS):
        middle = 0.5 * (low + high)
        if at_least(repetitions(middle, out[1], out[2]), ln_load, weights, outs) > 1.0 - p:
            low = middle
        else:
            high = middle
    return repetitions(0.5 * (low + high), out[1], out[2])


@compiled
def mean_and_sd(ln_load: float, weights: Array, outs: Array) -> tuple[float, float]:
    """Return mean and sd of the repetitions to failure, ln k and strength being Gaussian together. [repetitions]"""
    total, squares = 0.0, 0.0
    for i in range(weights.shape[0]):
        if weights[i] <= 0.0:
            continue
        out = outs[i]
        k, b, z = out[1], out[2], out[0] - ln_load
        _, _, _, by_b, _, _ = slopes(max(repetitions(z, k, b), 0.5), k, b)
        beyond = out[10] * (z - out[9])
        v = out[3] - 2.0 * by_b * out[5] + by_b * by_b * out[8] + beyond * beyond
        vk = out[4] - by_b * out[7]
        b = b if abs(b) > 1e-3 else 1e-3
        first = k * exp(0.5 * out[6]) * expm1(min(b * z + 0.5 * b * b * v + b * vk, 12.0)) / b
        up = exp(min(2.0 * b * z + 2.0 * b * b * v + 4.0 * b * vk, 24.0))
        middle = exp(min(b * z + 0.5 * b * b * v + 2.0 * b * vk, 12.0))
        second = k * k * exp(2.0 * out[6]) * max(up - 2.0 * middle + 1.0, 0.0) / (b * b)
        total += weights[i] * first
        squares += weights[i] * second
    return 1.0 + total, sqrt(max(squares - total * total, 1e-6))


@compiled
def foretell(ln_load: float, weights: Array, outs: Array, result: Array) -> None:
    """Write mean, sd and the five quantiles of the repetitions to failure at a load. [repetitions]"""
    mean, sd = mean_and_sd(ln_load, weights, outs)
    result[2] = quantile(0.025, ln_load, weights, outs)
    result[3] = quantile(0.10, ln_load, weights, outs)
    result[4] = quantile(0.50, ln_load, weights, outs)
    result[5] = quantile(0.90, ln_load, weights, outs)
    result[6] = quantile(0.975, ln_load, weights, outs)
    # The moments are those of a log-normal tail, which far outside the data is fiction.
    result[0] = min(max(mean, result[3]), result[5])
    result[1] = min(sd, 0.5 * (result[6] - result[2]))
