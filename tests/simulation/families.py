"""True load-repetition curves: shapes, none of them the estimator's, scaled by one endurance factor.

With ``z = ln(strength / load)`` a curve gives ``N = 1 + endurance * shape(z)``; ``shape(0) = 0``, so that one
repetition is possible with a load equal to the strength. They put about ten repetitions at three quarters
of the strength for an endurance of 1 (judgement, after the published means for the bench press).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOG_LINEAR_SLOPE = 31.0
LINE_SLOPE = 0.0265
SHIFTED_POWER = 0.314
POWER_SHIFT = 6.0
PURE_POWER = 0.14
ASYMPTOTE = 0.41
ASYMPTOTE_RATE = 0.058
FIRST_REGIME_SLOPE = 27.0
SECOND_REGIME_SLOPE = 46.0
REGIME_BREAK = 0.20
MOST_REPETITIONS = 60.0
"""Of the unscaled curve: lighter loads are taken as if they allowed so many."""


@dataclass(frozen=True, slots=True)
class Family:
    """One shape and its inverse; ``functions`` is `math` or `numpy`."""

    shape: Callable[[Any, Any], Any]
    inverse: Callable[[Any, Any], Any]


def _two_regimes(z: Any, functions: Any) -> Any:
    beyond = z - REGIME_BREAK
    return FIRST_REGIME_SLOPE * z + (SECOND_REGIME_SLOPE - FIRST_REGIME_SLOPE) * 0.5 * (beyond + abs(beyond))


def _two_regimes_inverse(m: Any, functions: Any) -> Any:
    beyond = m - FIRST_REGIME_SLOPE * REGIME_BREAK
    return m / FIRST_REGIME_SLOPE + (1 / SECOND_REGIME_SLOPE - 1 / FIRST_REGIME_SLOPE) * 0.5 * (
        beyond + abs(beyond)
    )


FAMILIES: dict[str, Family] = {
    "log_linear": Family(lambda z, _: LOG_LINEAR_SLOPE * z, lambda m, _: m / LOG_LINEAR_SLOPE),
    "line_in_load": Family(
        lambda z, f: (1 - f.exp(-z)) / LINE_SLOPE, lambda m, f: -f.log(1 - LINE_SLOPE * m)
    ),
    "power": Family(
        lambda z, f: POWER_SHIFT * (f.exp(z / SHIFTED_POWER) - 1),
        lambda m, f: SHIFTED_POWER * f.log(1 + m / POWER_SHIFT),
    ),
    "pure_power": Family(lambda z, f: f.exp(z / PURE_POWER) - 1, lambda m, f: PURE_POWER * f.log(1 + m)),
    "asymptote": Family(
        lambda z, f: -f.log((f.exp(-z) - ASYMPTOTE) / (1 - ASYMPTOTE)) / ASYMPTOTE_RATE,
        lambda m, f: -f.log(ASYMPTOTE + (1 - ASYMPTOTE) * f.exp(-ASYMPTOTE_RATE * m)),
    ),
    "two_regimes": Family(_two_regimes, _two_regimes_inverse),
}
_MOST = dict.fromkeys(FAMILIES, MOST_REPETITIONS) | {"line_in_load": 0.97 / LINE_SLOPE}
DRAWN = tuple(name for name in FAMILIES if name != "pure_power")
"""A maximum falling with a bare power of repetitions makes a set of 15 vary by four from day to day, more than
published retests do: it is there to be asked for."""
_Z_MOST = {name: float(family.inverse(_MOST[name], math)) for name, family in FAMILIES.items()}
_Z_LEAST = -1.0


def repetitions(family: str, z: float, endurance: float) -> float:
    """Continuous repetitions to failure, at least 0."""
    z = min(max(z, _Z_LEAST), _Z_MOST[family])
    return max(0.0, 1.0 + endurance * float(FAMILIES[family].shape(z, math)))


def log_ratio(family: str, n: float, endurance: float) -> float:
    """ln(strength / load) at which ``n`` continuous repetitions are possible."""
    m = min(max((n - 1.0) / endurance, -0.5), _MOST[family])
    return float(FAMILIES[family].inverse(m, math))


def repetitions_of(family: str, z: Array, endurance: Array) -> Array:
    """As `repetitions`, for arrays."""
    z = np.clip(z, _Z_LEAST, _Z_MOST[family])
    result: Array = np.maximum(0.0, 1.0 + endurance * FAMILIES[family].shape(z, np))
    return result


def log_ratios(family: Sequence[str] | NDArray[np.str_], n: Array, endurance: Array) -> Array:
    """As `log_ratio`, for arrays with a family for each element."""
    names = np.asarray(family)
    result = np.full(n.shape, np.nan)
    for name, one in FAMILIES.items():
        mask = names == name
        m = np.clip((n[mask] - 1.0) / endurance[mask], -0.5, _MOST[name])
        result[mask] = one.inverse(m, np)
    return result
