"""Recovery learned of athletes far from people in general; 240 muscles a kind, so that it is in the full tier alone."""

from collections.abc import Callable
from math import log

import numpy as np
import pytest

from service.core.recovery import MuscleSession, readiness
from tests.simulation.recovering import MUSCLES, TrueRecovery
from tests.simulation.test_recovery_learned import cases, slow


def fast(rng: np.random.Generator) -> dict[str, TrueRecovery]:
    return {muscle: TrueRecovery(0.9, 16.0 * float(np.exp(rng.normal(0, 0.1)))) for muscle in MUSCLES}


@pytest.mark.parametrize("world", [slow, fast])
def test_athletes_far_from_people_in_general_are_mostly_held_too(
    world: Callable[[np.random.Generator], dict[str, TrueRecovery]],
) -> None:
    """With a prior of 0.4 for the log decay time 64 % of slow and 74 % of fast recoverers' were held, with a heavy-tailed
    one no more; 60 and 40 athletes."""
    session = MuscleSession(24.0, 6.0, 0.3, 0.0, 1.5)
    hours, taus = [], []
    for case in cases(world, 40):
        interval = readiness([session], None, 0.8, case.belief).hours_until_ready.interval
        lucky = TrueRecovery(case.truth.loss * float(np.exp(case.luck)), case.truth.tau_h)
        hours.append(
            interval.lower <= max(lucky.hours_until(session) - session.hours_ago, 0.0) <= interval.upper
        )
        taus.append(abs(log(case.truth.tau_h) - case.belief.ln_tau) < 1.2816 * case.belief.tau_sd)
    assert np.mean(hours) >= 0.7
    assert np.mean(taus) >= 0.72
