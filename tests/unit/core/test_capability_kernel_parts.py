"""Shortcuts of the kernel give what the long way gives."""

from itertools import product
from math import exp, expm1, log, nan, pi, sqrt

import numpy as np
import pytest

from service.core.capability.absorbing import strength_direction, strength_now
from service.core.capability.athlete import CONSTANTS
from service.core.capability.hub import along, quadratic
from service.core.capability.layout import (
    C_SESSION,
    C_STAGE,
    COLUMN_COUNT,
    FIRST_SETUP,
    GLOBAL_COUNT,
    JOINT_COUNT,
    LOCALS_BOTH,
    LOCALS_SIDED,
)
from service.core.capability.likelihood import FAILED, STOPPED, TOLD, TOLD_MOST, likelihood, moments
from service.core.capability.looping import has_drops

pytestmark = pytest.mark.quick

KINDS = ((FAILED, 0.0, 1.0), (TOLD, 2.0, 1.0), (TOLD, 0.0, 0.25), (TOLD_MOST, 4.0, 1.0), (STOPPED, 10.0, 0.4))
BENDS = (-1.0, -0.3, 0.0, 1.1e-4, 0.7, 4.0)
WIDTHS, DISTANCES = (0.02, 0.15, 0.6, 2.2), (-10.0, -0.2, 0.15, 0.2, 0.25, 0.3, 0.95, 1.2, 200.0)
#: What is left where all mass is on one node.
LEAST_VARIANCE = 1e-10
LN_LOAD, K, REPS, BIAS = log(80.0), 32.0, 8.0, -0.8


def growth(bend: float, z: float) -> float:
    return z if abs(bend) < 1e-4 else expm1(min(bend * z, 4.0)) / bend


def long_way(
    kind: float, value: float, power: float, bend: float, width: float, z: float
) -> tuple[float, ...]:
    """Return evidence, mean and variance around a prior 0.05 below ``z``, every node of the quadrature by itself."""
    nodes, weights = np.polynomial.hermite.hermgauss(9)
    at, mean, variance = LN_LOAD + z, LN_LOAD + z - 0.05, (1.5 * width) ** 2
    found = []
    for node, weight in zip(nodes, weights, strict=True):
        strength = at + sqrt(2.0) * width * float(node)
        factor, exponent = likelihood(
            kind, 1.0 + K * growth(bend, strength - LN_LOAD), REPS, value, power, BIAS, CONSTANTS[0]
        )
        prior = exp(-0.5 * (strength - mean) ** 2 / variance) / sqrt(2.0 * pi * variance)
        step = float(weight) * exp(float(node) ** 2) * sqrt(2.0) * width
        found.append((step * prior * factor * exp(exponent), strength))
    total = sum(weight for weight, _ in found)
    if total == 0.0:
        return 0.0, nan, nan
    middle = sum(weight * strength for weight, strength in found) / total
    variance = sum(weight * (strength - middle) ** 2 for weight, strength in found) / total
    return total, middle, max(variance, LEAST_VARIANCE)


@pytest.mark.parametrize(("kind", "value", "power"), KINDS)
def test_mirrored_nodes_weigh_what_each_weighs_by_itself(kind: float, value: float, power: float) -> None:
    compared = 0
    for bend, width, z in product(BENDS, WIDTHS, DISTANCES):
        told = long_way(kind, value, power, bend, width, z)
        if told[0] < 1e-9:
            continue  # no mass lies there
        own = moments(
            LN_LOAD + z - 0.05, (1.5 * width) ** 2, LN_LOAD + z, width**2,
            kind, LN_LOAD, K, bend, REPS, value, power, BIAS, CONSTANTS[0],
        )  # fmt: skip
        np.testing.assert_allclose(own, told, rtol=1e-9, atol=1e-11, err_msg=f"{bend=} {width=} {z=}")
        compared += 1
    assert compared >= 40


@pytest.mark.parametrize(
    ("n", "sign", "setup"), [(LOCALS_BOTH, 0.0, 0), (LOCALS_SIDED, -1.0, 0), (12, 1.0, 2)]
)
def test_the_strength_of_the_moment_is_its_direction_times_the_mean(n: int, sign: float, setup: int) -> None:
    mean, h = np.random.default_rng(n).normal(size=JOINT_COUNT), np.zeros(JOINT_COUNT)
    strength_direction(n, sign, setup, 0.03, h)
    assert (h[FIRST_SETUP:n] != 0.0).sum() == (setup > 0)
    size = n + GLOBAL_COUNT
    assert strength_now(n, sign, setup, 0.03, mean) == pytest.approx(h[:size] @ mean[:size], rel=1e-12)


def test_the_variance_along_a_direction_comes_with_its_covariances() -> None:
    rng = np.random.default_rng(7)
    root, h, tied = (
        rng.normal(size=(JOINT_COUNT, JOINT_COUNT)),
        rng.normal(size=JOINT_COUNT),
        np.zeros(JOINT_COUNT),
    )
    cov = root @ root.T
    h[::3] = 0.0
    assert along(JOINT_COUNT, cov, h, tied) == pytest.approx(quadratic(JOINT_COUNT, cov, h), rel=1e-12)
    np.testing.assert_allclose(tied, cov @ h, rtol=1e-9, atol=1e-12)


def test_drops_are_looked_for_in_the_session_that_begins_only() -> None:
    table = np.zeros((6, COLUMN_COUNT))
    table[:, C_SESSION] = [0.0, 0.0, 1.0, 1.0, 2.0, 2.0]
    table[3, C_STAGE] = 1.0
    assert [has_drops(number, table) for number in (0, 2, 4)] == [False, True, False]
