"""What must hold of recovery for any log."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.recovery import Asked, FatigueBelief, MuscleSession, NextSeen, learn, p_ready_in, readiness

pytestmark = pytest.mark.quick

SHARES = st.floats(0, 1)
SESSIONS = st.lists(
    st.builds(
        MuscleSession,
        st.floats(0, 300),
        st.floats(0.1, 20),
        SHARES,
        SHARES,
        st.none() | st.floats(0, 6),
    ),
    min_size=1,
    max_size=5,
)
BELIEFS = st.builds(
    FatigueBelief,
    ln_loss=st.floats(-1.5, 1),
    ln_tau=st.floats(2.3, 4.3),
    loss_sd=st.floats(0.05, 0.5),
    tau_sd=st.floats(0.05, 0.5),
    correlation=st.floats(-0.95, 0.95),
)
GAPS = st.lists(
    st.tuples(
        st.floats(0.5, 4), st.floats(1, 6), st.floats(-6, 6), st.sampled_from(["left", "right", "both"])
    ),
    min_size=1,
    max_size=12,
)


@given(SESSIONS, BELIEFS, st.floats(0, 200), st.floats(0, 100))
def test_waiting_never_makes_less_ready(
    sessions: list[MuscleSession], belief: FatigueBelief, later: float, longer: float
) -> None:
    assert (
        p_ready_in(sessions, later + longer, None, belief) >= p_ready_in(sessions, later, None, belief) - 1e-9
    )


@given(SESSIONS, BELIEFS, st.floats(1, 3))
def test_more_sets_never_make_readier(
    sessions: list[MuscleSession], belief: FatigueBelief, more: float
) -> None:
    harder = [replace(one, hard_sets=one.hard_sets * more) for one in sessions]
    assert p_ready_in(harder, 0.0, None, belief) <= p_ready_in(sessions, 0.0, None, belief) + 1e-9


@given(SESSIONS, BELIEFS, st.floats(0, 9), st.floats(0, 1))
def test_more_soreness_never_makes_readier(
    sessions: list[MuscleSession], belief: FatigueBelief, sore: float, more: float
) -> None:
    assert p_ready_in(sessions, 0.0, sore + more, belief) <= p_ready_in(sessions, 0.0, sore, belief) + 1e-9


@given(SESSIONS, BELIEFS)
def test_intervals_hold_their_values_and_everything_is_finite(
    sessions: list[MuscleSession], belief: FatigueBelief
) -> None:
    found = readiness(sessions, None, 0.8, belief)
    assert 0.0 <= found.p_ready <= 1.0
    for estimate in (found.hours_until_ready, found.residual_fatigue):
        assert 0.0 <= estimate.interval.lower <= estimate.value <= estimate.interval.upper < float("inf")
    assert (found.hours_until_ready.value == 0.0) == (found.p_ready >= 0.5 - 1e-6) or found.p_ready == (
        pytest.approx(0.5, abs=1e-3)
    )


def _log(gaps: list[tuple[float, float, float, str]], mirrored: bool) -> tuple[list[Asked], list[NextSeen]]:
    turned = {"left": "right", "right": "left", "both": "both"}
    asked, seen, day = list[Asked](), list[NextSeen](), 0.0
    for pause, loss, gap, side in gaps:
        own = turned[side] if mirrored else side
        sides = ("right", "left") if mirrored else ("left", "right")
        done = sides if side == "both" else (own,)
        asked += [Asked("chest", one, day, loss) for one in done]  # type: ignore[arg-type]
        day += pause
        seen.append(NextSeen(day, "fly", gap, 2.0, {"chest": 1.0}, own))  # type: ignore[arg-type]
    return asked, seen


@settings(max_examples=40)
@given(GAPS)
def test_swapping_left_and_right_changes_nothing_that_is_learned(
    gaps: list[tuple[float, float, float, str]],
) -> None:
    one, other = (learn(*_log(gaps, mirrored), ["chest"])["chest"] for mirrored in (False, True))
    assert one.ln_loss == pytest.approx(other.ln_loss, abs=1e-9)
    assert one.ln_tau == pytest.approx(other.ln_tau, abs=1e-9)
    assert one.prior_share == pytest.approx(other.prior_share, abs=1e-9)


@settings(max_examples=40)
@given(GAPS)
def test_what_is_learned_is_never_less_sure_than_people_in_general(
    gaps: list[tuple[float, float, float, str]],
) -> None:
    belief = learn(*_log(gaps, False), ["chest"])["chest"]
    usual = FatigueBelief()
    assert belief.loss_sd <= usual.loss_sd + 1e-9
    assert belief.tau_sd <= usual.tau_sd + 1e-9
    assert 0.0 < belief.prior_share <= 1.0
