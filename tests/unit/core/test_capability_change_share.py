"""How surely a set shows that strength has changed: beside what days and sets cost this athlete, not what is usual."""

from math import exp

import numpy as np
import pytest

from service.core.capability.athlete import CONSTANTS
from service.core.capability.layout import (
    ATHLETE_NOTE_COUNT,
    BEND,
    C_LN_LOAD,
    C_REPS,
    C_SETUP,
    C_SIDE,
    C_TO_FAILURE,
    COLUMN_COUNT,
    FIRST_SETUP,
    GLOBAL_COUNT,
    LEFT_SUM,
    LEFT_WEIGHT,
    LN_K,
    LOCALS_SIDED,
    NOTE_COUNT,
    OWN_SUM,
    OWN_WEIGHT,
    PIVOT,
    SETS,
    TIRING,
)
from service.core.capability.likelihood import ln_ratio
from service.core.capability.shifting import change_share
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

N = LOCALS_SIDED
BENCH = CURVE_PRIORS["bench"]
#: A set of ten to failure, half a repetition of which was left, where so many are usual.
REPS, USUAL = 10.0, 10.5
RIGHT = 1.0
#: What a set takes off strength where sets cost what is usual. [1]
TIRED = 0.06


def for_usual() -> float:
    """Return the ln load for the usual repetitions at the strength that is believed, which is 0."""
    return -float(ln_ratio(USUAL, exp(BENCH.mean_ln_k), BENCH.b))


def share_of(
    off: float, *, side: float = 0.0, tired: float = 0.0, tiring: float = 1.0, days: float | None = None, setup: float = 0.0
) -> float:  # fmt: skip
    """Return how surely strength has changed by a set whose load is so far ``off`` what is believed of it when rested. [ln]

    ``tiring`` is what sets cost the athlete, of what is usual; ``days`` the sd of thirty days of a lift that were seen;
    ``setup`` what the set's own set-up is believed to allow beyond the usual one [ln]. The left has shown what was believed of
    it, at the usual one.
    """
    mean, cov = np.zeros(N + GLOBAL_COUNT), np.diag(np.full(N + GLOBAL_COUNT, 1e-8))
    mean[LN_K], mean[BEND], mean[N + TIRING] = BENCH.mean_ln_k, BENCH.b, tiring
    notes, athlete = np.zeros(NOTE_COUNT), np.zeros(ATHLETE_NOTE_COUNT)
    notes[SETS], notes[PIVOT] = 60.0, USUAL
    notes[LEFT_SUM], notes[LEFT_WEIGHT] = 1e6 * for_usual(), 1e6
    if days is not None:
        athlete[OWN_WEIGHT], athlete[OWN_SUM] = 30.0, 30.0 * days**2
    row = np.zeros(COLUMN_COUNT)
    if setup != 0.0:
        mean[FIRST_SETUP], row[C_SETUP] = setup, 1.0
    row[C_REPS], row[C_TO_FAILURE], row[C_SIDE], row[C_LN_LOAD] = REPS, 1.0, side, for_usual() + off
    own = np.zeros(N + GLOBAL_COUNT)
    return float(change_share(N, row, tired, USUAL, CONSTANTS[0], mean, cov, athlete, notes, own))


@pytest.mark.parametrize("tiring", [0.2, 1.0, 2.5])
def test_a_tired_side_that_does_what_is_believed_of_it_has_not_changed(tiring: float) -> None:
    """What sets cost this athlete was taken off the belief, but what they usually cost off the sides' difference."""
    assert share_of(-TIRED * tiring, side=RIGHT, tired=TIRED, tiring=tiring) == 0.0
    assert share_of(-TIRED * tiring - 0.2, side=RIGHT, tired=TIRED, tiring=tiring) == 1.0


@pytest.mark.parametrize("setup", [-0.15, -0.05, 0.1])
def test_a_side_at_a_set_up_of_its_own_that_does_what_is_believed_of_it_has_not_changed(setup: float) -> None:
    """The other side's loads were freed of their set-ups, this one's was not."""
    assert share_of(setup, side=RIGHT, setup=setup) == 0.0
    assert share_of(setup - 0.2, side=RIGHT, setup=setup) == 1.0


def test_where_days_differ_more_than_usual_a_set_must_be_further_off() -> None:
    steady, usual, erratic = (share_of(0.08, days=days) for days in (0.005, None, 0.08))
    assert steady > usual > erratic == 0.0


def test_what_is_far_off_has_changed_and_what_is_not_off_has_not() -> None:
    assert share_of(0.3) == 1.0
    assert share_of(0.0) == 0.0
