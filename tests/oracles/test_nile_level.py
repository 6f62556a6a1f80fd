"""The filter's own parts as a plain Gaussian filter: the Nile's flow against published figures and statsmodels.

Durbin and Koopman's local level model of the Nile's yearly flow, 1871 to 1970, at variances 15099 and 1469.1: steady
state variance 4032.157942 and exact-diffuse log-likelihood -633.464564. Here the level is the strength of one series,
moved by `stepping.advance` a week at a time and measured by `likelihood.posterior`; years are weeks. The figures were
read as quoted, not in the book; statsmodels stands beside them.
"""

from dataclasses import dataclass, replace
from math import log, pi, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from statsmodels.datasets import nile
from statsmodels.tsa.statespace.structural import UnobservedComponents

from service.core.capability.hub import along, join, part, update
from service.core.capability.layout import (
    GLOBAL_COUNT,
    JOINT_COUNT,
    LOCAL_COUNT,
    LOCALS_BOTH,
    NOTE_COUNT,
    STRENGTH,
    USED,
)
from service.core.capability.likelihood import MEASURED, posterior
from service.core.capability.parameters import TRAINED, table_of
from service.core.capability.stepping import advance

pytestmark = pytest.mark.quick

NOISE, LEVEL = 15099.0, 1469.1
STEADY_VARIANCE, LOG_LIKELIHOOD = 4032.157942, -633.464564
#: Only the level walks; a week is too short for a layoff.
CONSTANTS = table_of(
    [replace(TRAINED, strength_walk=sqrt(LEVEL), drift_walk=0.0, ln_k_walk=0.0, stop_sd=0.0, side_day_sd=0.0)]
)[0]
#: Variance of the globals, which play no part: the least that the hub can invert safely.
KNOWN = 1e-12
NO_ONE = -1


@dataclass(frozen=True)
class Filtered:
    means: NDArray[np.float64]
    variances: NDArray[np.float64]
    log_likelihood: float


def flow() -> NDArray[np.float64]:
    return np.asarray(nile.load_pandas().data["volume"], dtype=np.float64)


def run(flows: NDArray[np.float64]) -> Filtered:
    """Filter the flows; the first one sets the level, as an exact diffuse start does, and weighs ln 2 pi / 2."""
    a, b, c = (
        np.zeros(LOCAL_COUNT),
        np.zeros((LOCAL_COUNT, GLOBAL_COUNT)),
        np.zeros((LOCAL_COUNT, LOCAL_COUNT)),
    )
    g, p, notes = np.zeros(GLOBAL_COUNT), KNOWN * np.eye(GLOBAL_COUNT), np.zeros(NOTE_COUNT)
    a[STRENGTH], c[STRENGTH, STRENGTH] = flows[0], NOISE
    joint, joint_cov = np.zeros(JOINT_COUNT), np.zeros((JOINT_COUNT, JOINT_COUNT))
    h, tied = np.zeros(JOINT_COUNT), np.zeros(JOINT_COUNT)
    h[STRENGTH], notes[USED] = 1.0, LOCALS_BOTH
    size, total = LOCALS_BOTH + GLOBAL_COUNT, -0.5 * log(2.0 * pi)
    means, variances = [a[STRENGTH]], [c[STRENGTH, STRENGTH]]
    for year, seen in enumerate(flows[1:]):
        advance(1.0, float(year), 0.0, 0.0, CONSTANTS, a, b, c, notes)
        join(LOCALS_BOTH, a, b, c, g, p, joint, joint_cov)
        before, centre = along(size, joint_cov, h, tied), joint[STRENGTH]
        after, left, evidence, _ = posterior(
            centre, before, MEASURED, 0.0, 1.0, 1.0, 0.0, float(seen), sqrt(NOISE), 0.0, CONSTANTS
        )
        update(size, joint, joint_cov, tied, before, after - centre, left - before, NO_ONE, 1.0, 1.0)
        part(LOCALS_BOTH, joint, joint_cov, a, b, c, g, p)
        total += log(evidence)
        means.append(a[STRENGTH])
        variances.append(c[STRENGTH, STRENGTH])
    return Filtered(np.array(means), np.array(variances), total)


def reference(flows: NDArray[np.float64]) -> Filtered:
    model = UnobservedComponents(flows, "llevel", use_exact_diffuse=True)
    results = model.smooth([NOISE, LEVEL])
    return Filtered(results.filtered_state[0], results.filtered_state_cov[0, 0], float(results.llf))


def test_the_filtered_variance_settles_at_the_published_value() -> None:
    assert run(flow()).variances[-1] == pytest.approx(STEADY_VARIANCE, abs=5e-7)


def test_the_log_likelihood_is_the_published_one() -> None:
    assert run(flow()).log_likelihood == pytest.approx(LOG_LIKELIHOOD, abs=5e-7)


def test_every_step_is_that_of_statsmodels() -> None:
    own, theirs = run(flow()), reference(flow())
    np.testing.assert_allclose(own.means, theirs.means, rtol=1e-9)
    np.testing.assert_allclose(own.variances, theirs.variances, rtol=1e-9)
    assert own.log_likelihood == pytest.approx(theirs.log_likelihood, rel=1e-9)


def test_another_year_of_flow_moves_the_published_figures() -> None:
    # The figures are no property of the code alone: the data count.
    changed = flow().copy()
    changed[50] += 100.0
    assert run(changed).log_likelihood != pytest.approx(LOG_LIKELIHOOD, abs=1e-3)
