"""What one set says of the log strength of its moment: densities, and the moments that they leave of a Gaussian.

Scalar loops for the compiler. ``c`` is a record of `parameters.Constants`; strengths are ln kg, ``k`` and ``b`` the
curve of `core.curve`.
"""

from math import erfc, exp, expm1, log, log1p, sqrt
from typing import Any, Final

import numpy as np

from service.core.capability.compiling import compiled

#: Kinds of observation; not integers, of which the compiler would make a version of each function for each.
#: ``TOLD_MOST`` is a reserve told that is the highest this athlete has a word for: so much or more; ``TOLD_HIGHEST`` one
#: that is the highest ever told, and may be. ``MISSED`` is a load that could not be moved once.
FAILED, TOLD, STOPPED, AT_LEAST, MEASURED, TOLD_MOST, TOLD_HIGHEST, MISSED = (
    0.0,
    1.0,
    2.0,
    3.0,
    4.0,
    5.0,
    6.0,
    7.0,
)
_ROOT_HALF: Final = sqrt(0.5)
_POINTS, _WEIGHTS = np.polynomial.hermite.hermgauss(9)
#: The middle first, then pairs of a point above it and its mirror below.
_IN_PAIRS: Final = (4, 5, 3, 6, 2, 7, 1, 8, 0)
NODES: Final = np.array([float(_POINTS[i]) * sqrt(2.0) for i in _IN_PAIRS])
NODE_WEIGHTS: Final = np.array(
    [float(_WEIGHTS[i]) * exp(float(_POINTS[i]) ** 2) * sqrt(2.0) for i in _IN_PAIRS]
)
_FARTHEST: Final = float(NODES.max())
_ROOT_TWO_PI: Final = sqrt(2.0 * np.pi)
#: Widening of the proposal over the product of prior and approximate likelihood, and the distance [sd] from its
#: centre up to which a pass is the last.
_WIDEN: Final = 1.25
_CLOSE: Final = 0.7
_MOST_PASSES: Final = 3
_NO_MASS: Final = 1e-280
#: Bend and exponents are kept inside what floating point and the curve can carry.
LEAST_BEND, MOST_BEND = -1.0, 4.0
#: Nearer to 0 than this the curve is log-linear to nine digits, and its formulas would divide by nothing.
_STRAIGHT: Final = 1e-4
_MOST_EXPONENT: Final = 4.0
_MOST_GROWTH: Final = expm1(_MOST_EXPONENT)


@compiled
def cdf(x: float) -> float:
    """Return the standard normal distribution function."""
    return 0.5 * erfc(-x * _ROOT_HALF)


@compiled
def repetitions(z: float, k: float, b: float) -> float:
    """Return the repetitions to failure at ln(1RM / load) = z. [repetitions]"""
    if abs(b) < _STRAIGHT:
        return 1.0 + k * z
    return 1.0 + k / b * expm1(min(b * z, _MOST_EXPONENT))


@compiled
def ln_ratio(n: float, k: float, b: float) -> float:
    """Return ln(1RM / load) where n repetitions to failure are possible. [1]"""
    if abs(b) < _STRAIGHT:
        return (n - 1.0) / k
    return log1p(max(b * (n - 1.0) / k, -0.95)) / b


@compiled
def slopes(n: float, k: float, b: float) -> tuple[float, float, float, float, float, float]:
    """Return ln(1RM / load) at n repetitions, its slopes by n, ln k and b, and the second ones by ln k and b."""
    scaled = (n - 1.0) / k
    if abs(b) < _STRAIGHT:
        return scaled, 1.0 / k, -scaled, -0.5 * scaled * scaled, scaled, 2.0 / 3.0 * scaled**3
    if b * scaled < -0.95:
        scaled = -0.95 / b
    stretch = 1.0 + b * scaled
    z = log1p(b * scaled) / b
    share = scaled / stretch
    by_b = (share - z) / b
    return z, 1.0 / (k * stretch), -share, by_b, share / stretch, -(share * share + 2.0 * by_b) / b


@compiled
def report(reserve: float, bias: float, c: Any) -> tuple[float, float]:
    """Return mean and sd of what is reported where so much reserve is left. [repetitions]"""
    mean = (1.0 - c.report_share) * reserve + bias * (1.0 - exp(-0.5 * reserve))
    return mean, sqrt(c.report_sd_at_failure**2 + (c.report_sd_slope * reserve) ** 2)


@compiled
def reserve_behind(told: float, bias: float, share: float) -> float:
    """Return the reserve whose mean report, ``share`` of it kept back, is the told one. [repetitions]"""
    reserve = max(told, 0.3)
    for _ in range(6):
        reserve = max((told - bias * (1.0 - exp(-0.5 * reserve))) / (1.0 - share), 0.3)
    return reserve


@compiled
def likelihood(
    kind: float, n: float, reps: float, value: float, power: float, bias: float, c: Any
) -> tuple[float, float]:
    """Return how likely a set is where n repetitions to failure were possible: a factor, and the log of another."""
    if kind == STOPPED:
        off = n - value
        stretch = 1.0 + off * off / (c.stop_within * c.stop_within * (c.stop_tail - 2.0))
        return 1.0, -0.5 * power * (c.stop_tail + 1.0) * log(stretch)
    beyond = n - reps
    if kind == FAILED:
        return cdf(beyond / c.count_sd) - cdf((beyond - 1.0) / c.count_sd), 0.0
    mean, sd = report(max(beyond, 0.0), bias, c)
    per_sd, twice = _ROOT_HALF / sd, 2.0
    if kind == TOLD:
        twice = erfc((mean - value - 0.5) * per_sd)
    elif kind == TOLD_HIGHEST:
        twice = 2.0 * c.cap_share + (1.0 - c.cap_share) * erfc((mean - value - 0.5) * per_sd)
    if value > 0.0:
        twice -= erfc((mean - value + 0.5) * per_sd)
    short = min(beyond, 0.0)
    if power == 1.0:
        return 0.5 * twice, -0.5 * short * short
    return max(0.5 * twice, 0.0) ** power, -0.5 * power * short * short


@compiled
def _centre(kind: float, reps: float, value: float, power: float, bias: float, c: Any) -> tuple[float, float]:
    """Return where a set's likelihood has its mass, and how wide it is. [repetitions]"""
    if kind == STOPPED:
        return value, c.stop_within / sqrt(power)
    if kind in (TOLD, TOLD_MOST, TOLD_HIGHEST):
        reserve = reserve_behind(value, bias, c.report_share)
        return reps + reserve, report(reserve, bias, c)[1] / sqrt(power)
    return reps + 0.5, 0.45


@compiled
def moments(
    mean: float, variance: float, at: float, width: float,
    kind: float, ln_load: float, k: float, b: float, reps: float, value: float, power: float, bias: float, c: Any,
) -> tuple[float, float, float]:  # fmt: skip
    """Return evidence, mean and variance by Gauss-Hermite quadrature around ``at``; evidence 0 where no mass lies."""
    sd, precision, start, z = sqrt(width), 0.5 / variance, at - mean, at - ln_load
    total, first, second = 0.0, 0.0, 0.0
    # Growth from the middle to a node gives that to its mirror too, where neither is so large as to swamp the other.
    paired = abs(b) >= _STRAIGHT and b * z <= _MOST_EXPONENT and abs(b) * sd * _FARTHEST <= _MOST_EXPONENT
    middle, grown = expm1(b * z) if paired else 0.0, 0.0
    for i in range(NODES.shape[0]):
        offset = sd * NODES[i]
        if paired:
            if i > 0:
                grown = expm1(b * offset) if i % 2 == 1 else -grown / (1.0 + grown)
            n = 1.0 + k / b * min(middle + grown + middle * grown, _MOST_GROWTH)
        else:
            n = repetitions(z + offset, k, b)
        chance, exponent = likelihood(kind, n, reps, value, power, bias, c)
        distance = start + offset
        weight = NODE_WEIGHTS[i] * chance * exp(exponent - distance * distance * precision)
        total += weight
        first += weight * offset
        second += weight * offset * offset
    if total <= _NO_MASS:
        return 0.0, mean, variance
    shift = first / total
    evidence = total * sd / (sqrt(variance) * _ROOT_TWO_PI)
    return evidence, at + shift, max(second / total - shift * shift, 1e-10)


@compiled
def _bounded(
    mean: float, variance: float, ln_load: float, k: float, b: float, reps: float, power: float, above: float, c: Any,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Return what a bound leaves, in closed form: a probit edge where ``reps`` become possible.

    Strength lies above it, or with ``above`` = -1 below. A bound of less than full ``power`` moves what is believed by
    that share of the way.
    """
    z, by_n, _, _, _, _ = slopes(max(reps, 0.5), k, b)
    edge = ln_load + z
    total = variance + (c.count_sd * by_n) ** 2
    score = above * (mean - edge) / sqrt(total)
    reached = max(cdf(score), 1e-12)
    lift = exp(-0.5 * score * score) / (_ROOT_TWO_PI * reached)
    kept = reached / (reached + c.outlier) * power
    moved = above * variance / sqrt(total) * lift
    shrunk = variance * variance / total * lift * (lift + score)
    left = variance - kept * shrunk + kept * (1.0 - kept) * moved * moved
    return mean + kept * moved, max(left, 1e-10), reached**power + c.outlier, kept / power


@compiled
def posterior(
    mean: float, variance: float,
    kind: float, ln_load: float, k: float, b: float, reps: float, value: float, power: float, bias: float, c: Any,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Return mean and variance of the log strength after one observation, its evidence, and the share kept.

    A small part of all logged sets are slips: an observation far from what is believed moves it less the
    farther it lies. ``MEASURED`` is a direct measurement ``value`` with sd ``power``, in closed form.
    """
    if kind == MEASURED:
        total = variance + power * power
        share = variance / total
        off = value - mean
        evidence = exp(-0.5 * off * off / total) / (sqrt(total) * _ROOT_TWO_PI)
        return mean + share * off, variance * (1.0 - share), evidence, 1.0
    if kind == AT_LEAST:
        return _bounded(mean, variance, ln_load, k, b, reps, power, 1.0, c)
    if kind == MISSED:
        return _bounded(mean, variance, ln_load, k, b, 1.0, power, -1.0, c)
    centre, spread = _centre(kind, reps, value, power, bias, c)
    z, by_n, _, _, _, _ = slopes(max(centre, 0.5), k, b)
    own = (spread * by_n) ** 2
    share = variance / (variance + own)
    at, width = mean + share * (ln_load + z - mean), share * own * _WIDEN**2
    if kind in (TOLD_MOST, TOLD_HIGHEST) and mean > ln_load + z:
        at, width = (
            mean,
            variance,
        )  # beyond what is told its likelihood is level, and the mass is where it was believed
    evidence, after, left = moments(
        mean, variance, at, width, kind, ln_load, k, b, reps, value, power, bias, c
    )
    for _ in range(_MOST_PASSES):
        if evidence <= 0.0 or (abs(after - at) <= _CLOSE * sqrt(left) and left <= width):
            break
        again, mean_2, left_2 = moments(
            mean, variance, after, left * _WIDEN, kind, ln_load, k, b, reps, value, power, bias, c
        )
        if again <= 0.0:
            break
        at, width = after, left * _WIDEN
        evidence, after, left = again, mean_2, left_2
    kept = evidence / (evidence + c.outlier)
    moved = after - mean
    spread_2 = kept * left + (1.0 - kept) * variance + kept * (1.0 - kept) * moved * moved
    return mean + kept * moved, spread_2, evidence + c.outlier, kept
