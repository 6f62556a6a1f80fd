"""Strength, or one side's, that has moved and stays: followed within a few sessions, by its own side, and not by the curve."""

from collections.abc import Sequence
from math import exp, sqrt

import pytest

from service.core.capability import (
    AthleteModel,
    AthleteState,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    begin,
    fold,
    forecast,
    side_gap,
)
from service.core.capability.layout import GAP_MORE
from service.core.capability.retrospect import Retrospect
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

LIFT = "lift"
#: Two sessions a week, nine weeks before the change.
GAP, BEFORE = 3.5, 18
LOAD = 32.5
REPS = 10


MODEL = AthleteModel({LIFT: SeriesPrior(CURVE_PRIORS["bench"], one_sided=True)}.__getitem__, lambda *_: 0.0)


def by_side(
    day: float, left: float, right: float, sides: Sequence[Side] = ("left", "right"), **told: float
) -> SessionEvidence:
    """Return a session of three sets a side, ten repetitions with two left."""
    loads = {"left": left, "right": right}
    sets = [SetEvidence(LIFT, loads[side], REPS, 2.0, side=side, **told) for _ in range(3) for side in sides]
    return SessionEvidence(day, tuple(sets))


def fallen(
    by: float, sessions: int, sides: Sequence[Side] = ("left", "right"), **told: float
) -> list[SessionEvidence]:
    """Return nine weeks alike and so many sessions in which the right does less. [ln]"""
    even = [by_side(GAP * at, LOAD, LOAD, sides) for at in range(BEFORE)]
    return even + [
        by_side(GAP * (BEFORE + at), LOAD, LOAD * exp(-by), sides, **told) for at in range(sessions)
    ]


def twelve(state: AthleteState, side: Side) -> float:
    """Return ln of the load for twelve repetitions."""
    found = forecast(state, LIFT, float(state.athlete[1]) + GAP, side=side)
    assert found is not None
    return found.ln_load_for(12)[0]


@pytest.mark.parametrize("sides", [("left", "right"), ("right", "left")])
@pytest.mark.parametrize("by", [0.16, 0.26, -0.2])
def test_one_side_that_moves_is_followed_within_four_sessions(by: float, sides: tuple[Side, Side]) -> None:
    before = fold(begin("trained"), fallen(by, 0, sides), MODEL)
    for sessions, most, most_other in ((4, 0.08, 0.1), (14, 0.07, 0.07)):
        after = fold(begin("trained"), fallen(by, sessions, sides), MODEL)
        right, left = (twelve(after, side) - twelve(before, side) for side in ("right", "left"))
        assert abs(right + by) < most
        assert abs(left) < most_other
        gap, sd = side_gap(after, LIFT, float(after.athlete[1]) + GAP)
        assert abs(gap + by) < min(most, 1.6 * sd)


def test_one_session_off_is_a_day_and_the_next_a_shift() -> None:
    for sessions, least, most in ((1, 0.0, 0.0), (2, 0.05, 0.08)):
        notes = fold(begin("trained"), fallen(0.16, sessions), MODEL).notes[0]
        assert least <= sqrt(notes[GAP_MORE]) <= most


def test_a_session_that_is_off_is_forgotten_by_one_that_is_not() -> None:
    off, even = fallen(0.16, 1), by_side(GAP * (BEFORE + 1), LOAD, LOAD)
    again = by_side(GAP * (BEFORE + 2), LOAD, LOAD * exp(-0.16))
    state = fold(begin("trained"), [*off, even, again], MODEL)
    assert state.notes[0, GAP_MORE] == 0.0


def test_a_side_that_falls_while_it_hurts_is_followed_too() -> None:
    """Eight sessions of pain, then two weeks without: the painful sets used to bend the curve, and nothing was off after."""
    hurts = fallen(0.22, 8, pain=4.0)
    after = [by_side(GAP * (BEFORE + 8 + at), LOAD, LOAD * exp(-0.22)) for at in range(4)]
    before, now = (fold(begin("trained"), sessions, MODEL) for sessions in (hurts[:BEFORE], [*hurts, *after]))
    assert twelve(now, "right") - twelve(before, "right") == pytest.approx(-0.22, abs=0.03)
    assert twelve(now, "left") == pytest.approx(twelve(before, "left"), abs=0.03)


@pytest.mark.parametrize("by", [0.12, 0.15])
def test_a_side_that_is_logged_alone_is_followed(by: float) -> None:
    alone = [by_side(GAP * (BEFORE + at), LOAD, LOAD * exp(-by), ("right",)) for at in range(6)]
    before, now = (
        fold(begin("trained"), sessions, MODEL) for sessions in (fallen(by, 0), [*fallen(by, 0), *alone])
    )
    assert twelve(now, "right") - twelve(before, "right") == pytest.approx(-by, abs=0.05)


@pytest.mark.parametrize("by", [0.16, 0.26, -0.2])
def test_looking_back_one_side_moves_and_the_other_hardly(by: float) -> None:
    sessions = fallen(by, 14)
    back = Retrospect(sessions[:16], sessions[16:], MODEL)
    changes = {}
    for side in ("left", "right"):
        line = back.line(LIFT, side)
        assert line is not None
        changes[side] = float(line.weights @ (line.means[:, -1] - line.means[:, 0]))
    assert -changes["right"] / by > 0.6
    assert abs(changes["left"]) < 0.25 * abs(by)
