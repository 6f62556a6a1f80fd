"""Every index is a function of one log ratio: mirror images, order and agreement with the printed quotients."""

from math import log

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.core.estimates import Interval
from service.core.symmetry.indices import INDICES, render, render_from_limbs

pytestmark = pytest.mark.quick

LIMB = st.floats(1, 1000)
SIDE = st.sampled_from(["left", "right"])
LOG_RATIO = st.floats(-2, 2)
SIGNED = ("limb_symmetry_right_left", "symmetry_right_left", "symmetry_left_right_of_sum", "symmetry_angle",
          "log_ratio_right_left", "log_ratio_left_right")  # fmt: skip
BY_DOMINANCE = ("bilateral_asymmetry_of_sum", "bilateral_asymmetry_of_mean", "asymmetry_by_dominance")
UNSIGNED = (
    "bilateral_strength_asymmetry",
    "symmetry_of_sum",
    "standard_percentage_difference",
    "larger_over_smaller",
)


def _values(rendered):
    return {item.index_id: item.value for item in rendered}


@given(left=LIMB, right=LIMB, dominant=SIDE)
def test_exchanging_the_sides_negates_signed_indices_and_leaves_unsigned_ones(left, right, dominant):
    values = _values(render_from_limbs(left, right, dominant))
    mirrored = _values(render_from_limbs(right, left, dominant))
    for index_id in (*SIGNED, *BY_DOMINANCE):
        assert mirrored[index_id] == pytest.approx(-values[index_id], abs=1e-9)
    for index_id in UNSIGNED:
        assert mirrored[index_id] == pytest.approx(values[index_id], rel=1e-9, abs=1e-9)


@given(left=LIMB, right=LIMB)
def test_naming_the_other_side_dominant_negates_the_differences_by_dominance(left, right):
    one, other = (_values(render_from_limbs(left, right, side)) for side in ("left", "right"))
    for index_id in BY_DOMINANCE:
        assert one[index_id] == pytest.approx(-other[index_id], abs=1e-9)


@given(first=LOG_RATIO, second=LOG_RATIO)
def test_all_unsigned_indices_put_people_in_the_same_order(first, second):
    assume(abs(abs(first) - abs(second)) > 1e-9)
    orders = {render(i, first).value < render(i, second).value for i in UNSIGNED}
    orders.add(
        render("bilateral_strength_deficit", first).value > render("bilateral_strength_deficit", second).value
    )
    assert len(orders) == 1


@given(left=LIMB, right=LIMB)
def test_the_printed_quotients_of_the_limbs_are_met(left, right):
    values = _values(render_from_limbs(left, right, "right", "left"))
    high, low = max(left, right), min(left, right)
    quotients = {
        "limb_symmetry_of_dominant": left / right,
        "limb_symmetry_of_nondominant": right / left,
        "limb_symmetry_deficit": 1 - left / right,
        "limb_symmetry_of_uninvolved": left / right,
        "bilateral_strength_asymmetry": (high - low) / high,
        "bilateral_strength_deficit": (low - high) / high,
        "symmetry_of_sum": (high - low) / (high + low),
        "symmetry_left_right_of_sum": (left - right) / (left + right),
        "symmetry_right_left": (right - left) / (0.5 * (right + left)),
        "larger_over_smaller": high / low - 1,
        "log_ratio_right_left": log(right / left),
    }
    for index_id, quotient in quotients.items():
        assert values[index_id] == pytest.approx(100 * quotient, rel=1e-9, abs=1e-9), index_id


@given(ends=st.tuples(LOG_RATIO, LOG_RATIO), share=st.floats(0, 1), dominant=SIDE, involved=SIDE)
def test_every_index_of_a_t_inside_the_interval_lies_inside_the_index_interval(
    ends, share, dominant, involved
):
    lower, upper = sorted(ends)
    t = lower + share * (upper - lower)
    for index_id in INDICES:
        rendered = render(
            index_id, t, interval=Interval(lower, upper), dominant_side=dominant, involved_side=involved
        )
        assert rendered.interval.lower - 1e-9 <= rendered.value <= rendered.interval.upper + 1e-9
