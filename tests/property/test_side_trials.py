"""Trials of two sides in the mirror and in another unit: what turns turns exactly, what does not stays."""

from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.core.symmetry.indices import INDICES, render_all
from service.core.symmetry.posterior import SidePrior
from service.core.symmetry.trials import (
    SideTrials,
    central,
    compare_trials,
    faults_of,
    p_beyond,
    size_interval,
    with_prior,
)

pytestmark = pytest.mark.quick
_TRIALS = st.lists(st.floats(20.0, 60.0), min_size=1, max_size=5)
_SUMMARY = st.sampled_from(["geometric_mean_of_trials", "mean_of_trials", "best_of_trials"])
_SD = st.one_of(st.none(), st.floats(0.005, 0.3))
#: What each index becomes when the sides are swapped and everything else stays, by orientation.
_TURNED = {"right_to_left": -1, "left_to_right": -1, "stronger_to_weaker": 1}


def _compared(left, right, summary, paired, sd, visit_sd):
    sides = SideTrials(tuple(left), sd), SideTrials(tuple(right), sd)
    assume(not faults_of(*sides, paired=paired, summary=summary))
    return compare_trials(*sides, summary=summary, paired=paired, visit_sd=visit_sd)


@given(
    left=_TRIALS,
    right=_TRIALS,
    summary=_SUMMARY,
    paired=st.booleans(),
    sd=_SD,
    visit_sd=st.sampled_from([0.0, 0.04]),
)
def test_swapped_sides_negate_t_and_turn_its_chances_exactly(left, right, summary, paired, sd, visit_sd):
    one = _compared(left, right, summary, paired, sd, visit_sd)
    other = _compared(right, left, summary, paired, sd, visit_sd)
    assert other.t == -one.t
    assert other.variance == one.variance
    if one.belief is None:
        assert other.belief is None
        return
    assert other.belief.above(0.0) == pytest.approx(1.0 - one.belief.above(0.0), abs=1e-12)
    assert p_beyond(other.belief, 0.05) == pytest.approx(p_beyond(one.belief, 0.05), abs=1e-12)
    held, turned = central(one.belief), central(other.belief)
    assert (turned.lower, turned.upper) == pytest.approx((-held.upper, -held.lower), abs=1e-9)
    prior = SidePrior()
    assert with_prior(other, prior).mean() == pytest.approx(-with_prior(one, prior).mean(), abs=1e-12)


@given(
    left=_TRIALS,
    right=_TRIALS,
    summary=_SUMMARY,
    dominant=st.sampled_from(["left", "right"]),
    sd=st.floats(0.005, 0.3),
)
def test_each_index_turns_in_the_mirror_as_its_orientation_says(left, right, summary, dominant, sd):
    """With everything swapped, dominance too, an index by dominance stays; a signed one is negated; an unsigned one stays."""
    one = _compared(left, right, summary, False, sd, 0.0)
    other = _compared(right, left, summary, False, sd, 0.0)
    mirror = {"left": "right", "right": "left"}
    sides = [
        render_all(
            found.t, side, side, interval=central(found.belief), size_interval=size_interval(found.belief),
            definition=found.definition,
        )
        for found, side in ((one, dominant), (other, mirror[dominant]))
    ]  # fmt: skip
    for plain, turned in zip(*sides, strict=True):
        sign = _TURNED.get(INDICES[plain.index_id].orientation, 1)
        assert turned.value == pytest.approx(sign * plain.value, rel=1e-9, abs=1e-9), plain.index_id
        ends = (plain.interval.lower, plain.interval.upper)
        expected = ends if sign == 1 else (-ends[1], -ends[0])
        assert (turned.interval.lower, turned.interval.upper) == pytest.approx(expected, rel=1e-7, abs=1e-7)
        assert plain.interval.lower - 1e-9 <= plain.value <= plain.interval.upper + 1e-9


@given(left=_TRIALS, right=_TRIALS, summary=_SUMMARY, paired=st.booleans(), factor=st.floats(0.001, 1000.0))
def test_a_change_of_unit_changes_nothing(left, right, summary, paired, factor):
    one = _compared(left, right, summary, paired, None, 0.0)
    other = compare_trials(
        SideTrials(tuple(factor * value for value in left)), SideTrials(tuple(factor * value for value in right)),
        summary=summary, paired=paired,
    )  # fmt: skip
    assert other.t == pytest.approx(one.t, abs=1e-9)
    if one.variance is not None and one.variance > 1e-12:
        assert other.variance == pytest.approx(one.variance, rel=1e-6)


@given(left=_TRIALS, right=_TRIALS, sd=st.floats(0.005, 0.3))
def test_more_trials_of_the_same_error_never_widen_the_interval(left, right, sd):
    one = _compared(left, right, "geometric_mean_of_trials", False, sd, 0.0)
    more = _compared([*left, *left], [*right, *right], "geometric_mean_of_trials", False, sd, 0.0)
    assert more.variance < one.variance < inf
