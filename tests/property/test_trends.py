"""What must hold for any log: another axis of days, another unit, sides swapped, sets of another lift."""

from dataclasses import replace
from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.capability import (
    AthleteModel,
    Line,
    Retrospect,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
)
from service.core.curve import CURVE_PRIORS
from service.core.estimates import Basis
from service.core.trend import Visited, change_between, comparable_stretch, decide_trend, gaussian_change

pytestmark = pytest.mark.quick

MODEL = AthleteModel(
    lambda _: SeriesPrior(CURVE_PRIORS["single_joint"], one_sided=True), lambda _, __: 0.0, "trained"
)
_SWAPPED: dict[Side, Side] = {"left": "right", "right": "left"}


@st.composite
def logs(draw: st.DrawFn) -> list[SessionEvidence]:
    """Return two to ten sessions of one one-sided lift."""
    day, sessions = 0.0, []
    for _ in range(draw(st.integers(2, 10))):
        day += draw(st.floats(1.0, 9.0))
        sets = tuple(
            SetEvidence(
                "curl", draw(st.floats(15.0, 25.0)), draw(st.integers(5, 15)),
                reps_in_reserve=draw(st.sampled_from([None, 0.0, 1.0, 2.0, 3.0])), side=side,
            )
            for side in draw(st.sampled_from([("left", "right"), ("right", "left"), ("right",)]))
        )  # fmt: skip
        sessions.append(SessionEvidence(day, sets))
    return sessions


def line_of(sessions: list[SessionEvidence], side: Side = "right") -> Line:
    line = Retrospect(sessions[:1], sessions[1:], MODEL).line("curl", side, 10.0)
    assert line is not None
    return line


def whole_change(sessions: list[SessionEvidence], side: Side = "right") -> tuple[float, float]:
    line = line_of(sessions, side)
    change = change_between(line, 0, len(line.days) - 1)
    return change.mean, change.sd


@settings(max_examples=25, deadline=None)
@given(sessions=logs(), shift=st.floats(-1e4, 1e4))
def test_the_axis_of_days_does_not_matter(sessions: list[SessionEvidence], shift: float) -> None:
    moved = [replace(session, day=session.day + shift) for session in sessions]
    assert whole_change(moved) == pytest.approx(whole_change(sessions), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(sessions=logs(), factor=st.sampled_from([0.45359237, 2.2046226, 10.0]))
def test_the_unit_of_loads_does_not_matter(sessions: list[SessionEvidence], factor: float) -> None:
    scaled = [
        replace(session, sets=tuple(replace(one, load_kg=one.load_kg * factor) for one in session.sets))
        for session in sessions
    ]
    own, other = line_of(sessions), line_of(scaled)
    assert whole_change(scaled) == pytest.approx(whole_change(sessions), abs=1e-6)
    np.testing.assert_allclose(other.weights @ other.means, own.weights @ own.means + log(factor), atol=1e-6)


@settings(max_examples=25, deadline=None)
@given(sessions=logs())
def test_sides_swapped_everywhere_swap_their_trends(sessions: list[SessionEvidence]) -> None:
    mirrored = [
        replace(session, sets=tuple(replace(one, side=_SWAPPED[one.side]) for one in session.sets))
        for session in sessions
    ]
    assert whole_change(mirrored, "left") == pytest.approx(whole_change(sessions, "right"), abs=1e-9)
    assert whole_change(mirrored, "right") == pytest.approx(whole_change(sessions, "left"), abs=1e-9)


@given(mean=st.floats(-0.3, 0.3), sd=st.floats(0.001, 0.3), weeks=st.floats(1.0, 24.0))
def test_the_three_chances_add_up_and_mirror(mean: float, sd: float, weeks: float) -> None:
    basis = Basis(5, 1.0, 0.5)
    found = decide_trend(gaussian_change(mean, sd), weeks, basis)
    turned = decide_trend(gaussian_change(-mean, sd), weeks, basis)
    assert found.p_progress + found.p_regression + found.p_stall == pytest.approx(1.0, abs=1e-9)
    assert found.p_progress == pytest.approx(turned.p_regression, abs=1e-9)
    assert found.change.interval.lower <= found.change.value <= found.change.interval.upper


@given(
    gaps=st.lists(st.floats(0.5, 60.0), min_size=1, max_size=30),
    depths=st.lists(st.sampled_from(["full", "half"]), min_size=30, max_size=30),
    shift=st.floats(-1e4, 1e4),
)
def test_a_stretch_never_crosses_a_change_and_moves_with_the_axis(
    gaps: list[float], depths: list[str], shift: float
) -> None:
    days = [float(day) for day in np.cumsum(np.round(gaps, 2))]
    visits = [
        Visited(day, frozenset({depth}), frozenset({"any"})) for day, depth in zip(days, depths, strict=False)
    ]
    found = comparable_stretch(visits, days, days[0], days[-1])
    depth_of = dict(zip(days, depths, strict=False))
    assert {depth_of[day] for day in found.days} == {depth_of[days[-1]]}
    assert found.days[-1] == days[-1]
    moved = [replace(one, day=round(one.day + round(shift), 2)) for one in visits]
    again = comparable_stretch(moved, [one.day for one in moved], moved[0].day, moved[-1].day)
    assert len(again.days) == len(found.days)
