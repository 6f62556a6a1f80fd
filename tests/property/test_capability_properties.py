"""What must hold of the capability filter for any log."""

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.capability.former import CapabilityPrior, CapabilityState, SetEvidence, Side, fold, predict
from service.core.curve import CURVE_PRIORS
from service.core.units import KG_PER_LB

pytestmark = pytest.mark.quick

PRIOR = CapabilityPrior(CURVE_PRIORS["upper_press"], "unknown")
SWAPPED: dict[Side, Side] = {"left": "right", "right": "left", "both": "both", "unspecified": "unspecified"}
FEW = settings(max_examples=40, deadline=None)


@st.composite
def logs(draw: st.DrawFn) -> list[SetEvidence]:
    maximum = draw(st.floats(10.0, 200.0))
    kept: list[SetEvidence] = []
    day = 0.0
    for session in range(draw(st.integers(1, 5))):
        day += draw(st.floats(0.5, 30.0))
        kept += [
            SetEvidence(
                day,
                session,
                maximum * draw(st.floats(0.5, 0.9)),
                draw(st.integers(1, 20)),
                reps_in_reserve=draw(st.one_of(st.none(), st.integers(0, 5).map(float))),
                to_failure=draw(st.booleans()),
                side=draw(st.sampled_from(list(SWAPPED))),
                hard_sets_before=float(position),
            )
            for position in range(draw(st.integers(1, 3)))
        ]
    return kept


def folded(log_kept: list[SetEvidence]) -> CapabilityState:
    state = fold(log_kept, PRIOR)
    assert state is not None
    return state


@FEW
@given(log_kept=logs())
def test_a_change_of_unit_scales_loads_and_leaves_repetitions(log_kept: list[SetEvidence]) -> None:
    scaled = [replace(item, load_kg=item.load_kg / KG_PER_LB) for item in log_kept]
    day, load = log_kept[-1].day + 3.0, log_kept[-1].load_kg
    kilograms, pounds = predict(folded(log_kept), day), predict(folded(scaled), day)
    assert pounds.load_for(8.0).value * KG_PER_LB == pytest.approx(kilograms.load_for(8.0).value, rel=1e-6)
    assert pounds.repetitions_at(load / KG_PER_LB).median == pytest.approx(
        kilograms.repetitions_at(load).median, abs=1e-4
    )


@FEW
@given(log_kept=logs())
def test_swapping_the_sides_negates_the_gap_and_nothing_else(log_kept: list[SetEvidence]) -> None:
    here = folded(log_kept)
    there = folded([replace(item, side=SWAPPED[item.side]) for item in log_kept])
    mirror = np.array([1.0, 1.0, 1.0, 1.0, -1.0, 1.0, 1.0, 1.0])
    np.testing.assert_allclose(there.mean, here.mean * mirror, atol=1e-9)
    np.testing.assert_allclose(there.covariance, here.covariance * np.outer(mirror, mirror), atol=1e-9)


@FEW
@given(log_kept=logs())
def test_the_covariance_stays_a_covariance(log_kept: list[SetEvidence]) -> None:
    covariance = folded(log_kept).covariance
    np.testing.assert_allclose(covariance, covariance.T, atol=1e-12)
    assert np.linalg.eigvalsh(covariance).min() > -1e-9


@FEW
@given(log_kept=logs())
def test_folding_twice_gives_the_same_state(log_kept: list[SetEvidence]) -> None:
    np.testing.assert_array_equal(folded(log_kept).mean, folded(list(log_kept)).mean)


@FEW
@given(load=st.floats(20.0, 200.0), reps=st.integers(3, 15), more=st.integers(1, 6))
def test_more_repetitions_with_a_load_never_mean_less_strength(load: float, reps: int, more: int) -> None:
    known = replace(PRIOR, ln_one_rep_max=(log(load * exp(0.3)), 0.1))
    states = [fold([SetEvidence(0.0, 0, load, n, to_failure=True)], known) for n in (reps, reps + more)]
    low, high = (predict(state, 0.0).load_for(5.0).value for state in states if state is not None)
    assert high > low


@FEW
@given(first=st.integers(4, 12), fewer=st.integers(0, 2))
def test_the_order_of_two_fresh_sets_of_one_time_hardly_matters(first: int, fewer: int) -> None:
    known = replace(PRIOR, ln_one_rep_max=(log(105.0), 0.1))
    sets = [SetEvidence(0.0, 0, 80.0, n, to_failure=True) for n in (first, first - fewer)]
    one, other = fold(sets, known), fold(sets[::-1], known)
    assert one is not None
    assert other is not None
    here, there = predict(one, 0.0).load_for(8.0), predict(other, 0.0).load_for(8.0)
    assert abs(here.value - there.value) < 0.5 * here.sd
