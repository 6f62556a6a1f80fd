"""The true distribution of continuous N for each row, given all but what a day and a set bring by chance."""

import math

import numpy as np
from numpy.typing import NDArray

from tests.simulation.athletes import POUND
from tests.simulation.families import FAMILIES, log_ratio, repetitions, repetitions_of
from tests.simulation.rows import SetRow

Array = NDArray[np.float64]

PROBABILITIES = (0.025, 0.10, 0.50, 0.90, 0.975)
NORMAL_QUANTILES = np.array([-1.959963985, -1.281551566, 0.0, 1.281551566, 1.959963985])
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(15)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
COLUMNS = ("mean", "sd", "q025", "q10", "q50", "q90", "q975")


def distributions(rows: list[SetRow], which: str) -> Array:
    """Rows x COLUMNS of N at the logged load; ``which`` is "before" (the session) or "within" it."""
    means = np.array([row.u_mean if which == "before" else row.within_mean for row in rows])
    sds = np.array([row.u_sd if which == "before" else row.within_sd for row in rows])
    z = means - np.log(_kilograms(rows))
    standard = np.concatenate([NODES, NORMAL_QUANTILES])
    values = _at(rows, z[:, None] + sds[:, None] * standard[None, :])
    _put_drops(rows, values, standard)
    return _summary(values)


def true_repetitions(rows: list[SetRow]) -> Array:
    """True continuous N at the logged load; it differs from the lifted one where the load was remembered."""
    shift = np.log([row.load_kg for row in rows]) - np.log(_kilograms(rows))
    result = np.array([row.n for row in rows])
    for i in np.flatnonzero(np.abs(shift) > 0.003):
        if rows[i].role != "drop":
            result[i] = _moved(rows[i], float(shift[i]))
    return result


def _moved(row: SetRow, shift: float) -> float:
    return repetitions(row.family, log_ratio(row.family, row.n, row.endurance) + shift, row.endurance)


def _kilograms(rows: list[SetRow]) -> Array:
    return np.array([row.load * (POUND if row.unit == "lb" else 1.0) for row in rows])


def _at(rows: list[SetRow], z: Array) -> Array:
    families = np.array([row.family for row in rows])
    endurance = np.array([row.endurance for row in rows])
    values = np.empty_like(z)
    for name in FAMILIES:
        mask = families == name
        values[mask] = repetitions_of(name, z[mask], endurance[mask][:, None])
    return values


def _put_drops(rows: list[SetRow], values: Array, standard: Array) -> None:
    for i, row in enumerate(rows):
        if row.role == "drop":
            values[i] = row.drop_extra * math.exp(row.drop_ln_mean) * np.exp(row.drop_ln_sd * standard)


def _summary(values: Array) -> Array:
    nodes, quantiles = values[:, : len(NODES)], values[:, len(NODES) :]
    mean = nodes @ WEIGHTS
    sd = np.sqrt(np.maximum(0.0, (nodes - mean[:, None]) ** 2 @ WEIGHTS))
    return np.column_stack([mean, sd, quantiles])
