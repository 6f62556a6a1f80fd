"""Proper scores of predictive quantiles, read the same way for a prediction and for the oracle."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Standard normal quantiles of 0.025, 0.10, 0.50, 0.90, 0.975, and of the midpoints of forty equal slices.
KNOTS = np.array([-1.959963985, -1.281551566, 0.0, 1.281551566, 1.959963985])
SLICES = 40


_GRID = np.linspace(-6.0, 6.0, 24001)
_DENSITY = np.exp(-0.5 * _GRID**2)
_CUMULATIVE = (np.cumsum(_DENSITY) - 0.5 * _DENSITY) / _DENSITY.sum()


def normal_cdf(x: Array) -> Array:
    """Standard normal distribution function, from a fine grid."""
    result: Array = np.interp(x, _GRID, _CUMULATIVE)
    return result


P = (np.arange(SLICES) + 0.5) / SLICES
P_NORMAL = np.interp(P, _CUMULATIVE, _GRID)


def quantile_function(quantiles: Array) -> Array:
    """Rows x SLICES: straight lines in normal score through the five quantiles, the outer lines carried on; from 0."""
    segment = np.clip(np.searchsorted(KNOTS, P_NORMAL) - 1, 0, len(KNOTS) - 2)
    left, right = KNOTS[segment], KNOTS[segment + 1]
    weight = (P_NORMAL - left) / (right - left)
    result: Array = np.maximum(0.0, quantiles[:, segment] * (1 - weight) + quantiles[:, segment + 1] * weight)
    return result


def crps(quantiles: Array, truth: Array) -> Array:
    """Continuous ranked probability score [repetitions]: twice the mean pinball loss over the slices."""
    q = quantile_function(quantiles)
    error = truth[:, None] - q
    loss: Array = np.where(error >= 0, P * error, (P - 1) * error)
    return np.asarray(2.0 * loss.mean(axis=1))


def chance_below(quantiles: Array, at: Array) -> Array:
    """Return the stated chance that fewer than ``at`` repetitions are possible: the same straight lines, the other way."""
    segment = np.clip((at[:, None] > quantiles).sum(axis=1) - 1, 0, len(KNOTS) - 2)
    row = np.arange(len(at))
    left, right = quantiles[row, segment], quantiles[row, segment + 1]
    weight = (at - left) / np.maximum(right - left, 1e-9)
    return normal_cdf(KNOTS[segment] + weight * (KNOTS[segment + 1] - KNOTS[segment]))


def planned_chances(quantiles: Array, truth: Array) -> dict[str, float]:
    """What is said, and what happens, of 1 to 3 left and of none left at whole repetitions planned 2.5 below the median."""
    reps = np.maximum(np.round(quantiles[:, 2] - 2.5), 1.0)
    low, high = chance_below(quantiles, reps + 1.0), chance_below(quantiles, reps + 4.0)
    return {
        "wanted_stated": float(np.mean(high - low)),
        "wanted_seen": float(np.mean((truth >= reps + 1.0) & (truth < reps + 4.0))),
        "too_hard_stated": float(np.mean(low)),
        "too_hard_seen": float(np.mean(truth < reps + 1.0)),
    }


@dataclass(frozen=True, slots=True)
class Rows:
    """Aligned arrays; ``*_load`` are ln(strength / load) at the true curve for truth, prediction and oracle."""

    n: Array
    mean: Array
    quantiles: Array
    oracle_mean: Array
    oracle_quantiles: Array
    n_load: Array
    mean_load: Array
    oracle_load: Array

    def scores(self, mask: NDArray[np.bool_]) -> dict[str, float] | None:
        """Figures of the rows in ``mask``, load errors as root mean squares of ln load; None without rows."""
        if not mask.any():
            return None
        n, q = self.n[mask], self.quantiles[mask]
        score, oracle = float(crps(q, n).mean()), float(crps(self.oracle_quantiles[mask], n).mean())
        return {
            "rows": float(mask.sum()),
            "crps": score,
            "oracle_crps": oracle,
            "ratio": score / oracle,
            "rmse": _rms(n - self.mean[mask]),
            "oracle_rmse": _rms(n - self.oracle_mean[mask]),
            "bias": float(np.mean(n - self.mean[mask])),
            "load_error": _rms(self.n_load[mask] - self.mean_load[mask]),
            "oracle_load_error": _rms(self.n_load[mask] - self.oracle_load[mask]),
            "cover80": float(np.mean((n >= q[:, 1]) & (n <= q[:, 3]))),
            "cover95": float(np.mean((n >= q[:, 0]) & (n <= q[:, 4]))),
            **planned_chances(q, n),
        }


def _rms(x: Array) -> float:
    return float(np.sqrt(np.mean(x**2)))
