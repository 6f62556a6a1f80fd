"""What an index does with zeros, missing sides, intervals and values that are none."""

import json
from math import inf, log, nan
from pathlib import Path

import pytest

from service.core.errors import OutsideValidity
from service.core.estimates import Interval
from service.core.symmetry.deficit import bilateral_index
from service.core.symmetry.indices import (
    INDICES,
    false_flag_probability,
    minimal_detectable_change,
    render,
    render_all,
    render_from_limbs,
    standard_error_of_measurement,
)

pytestmark = pytest.mark.quick

TEXTS = json.loads((Path(__file__).parents[3] / "service/catalogue/data/texts/en/indices.json").read_text())


def by_id(rendered):
    return {item.index_id: item for item in rendered}


def test_two_zeros_have_no_index_at_all_and_say_why():
    rendered = render_from_limbs(0, 0, "right", "left")
    assert len(rendered) == len(INDICES)
    assert {item.value for item in rendered} == {None}
    assert {item.reason.code for item in rendered} == {"indices.both_limbs_zero"}


@pytest.mark.parametrize(("left", "right", "angle"), [(0, 12, 50), (12, 0, -50)])
def test_one_zero_leaves_the_bounded_indices_and_takes_the_ratios(left, right, angle):
    rendered = by_id(render_from_limbs(left, right, "right", "left"))
    assert rendered["symmetry_angle"].value == pytest.approx(angle, abs=1e-12)
    assert rendered["bilateral_strength_asymmetry"].value == 100
    assert rendered["symmetry_of_sum"].value == 100
    assert abs(rendered["limb_symmetry_right_left"].value) == 200
    for undefined in ("log_ratio_right_left", "log_ratio_left_right", "larger_over_smaller"):
        assert rendered[undefined].value is None
        assert rendered[undefined].reason.code == "indices.one_limb_zero"


def test_a_zero_on_the_reference_limb_takes_that_ratio_only():
    rendered = by_id(render_from_limbs(10, 0, "right"))
    assert rendered["limb_symmetry_of_dominant"].value is None
    assert rendered["limb_symmetry_of_nondominant"].value == 0


@pytest.mark.parametrize(("left", "right"), [(-1, 5), (5, -1), (nan, 5), (5, inf)])
def test_limb_values_below_zero_or_not_finite_are_refused(left, right):
    with pytest.raises(OutsideValidity):
        render_from_limbs(left, right)


def test_an_index_without_the_side_it_needs_says_which_side_to_name():
    rendered = by_id(render_all(0.1))
    assert rendered["limb_symmetry_of_dominant"].reason.code == "indices.needs_dominance"
    assert rendered["limb_symmetry_of_uninvolved"].reason.code == "indices.needs_involved_side"
    assert {i for i, r in rendered.items() if r.value is None} == {
        index.id for index in INDICES.values() if index.needs != "none"
    }


def test_the_clinical_index_reads_below_100_where_the_involved_limb_is_weaker():
    assert render("limb_symmetry_of_uninvolved", log(0.8), involved_side="right").value == pytest.approx(80)
    assert render("limb_symmetry_of_uninvolved", log(0.8), involved_side="left").value == pytest.approx(125)


def test_a_dominance_referenced_ratio_is_no_mirror_image():
    t = log(25 / 20)
    assert render("limb_symmetry_of_dominant", t, dominant_side="right").value == pytest.approx(80)
    assert render("limb_symmetry_of_dominant", t, dominant_side="left").value == pytest.approx(125)


def test_the_interval_of_a_signed_index_follows_t_from_end_to_end():
    interval = Interval(-0.05, 0.15)
    assert render("log_ratio_right_left", 0.05, interval=interval).interval == Interval(-5.0, 15.0)
    assert render("log_ratio_left_right", 0.05, interval=interval).interval == Interval(-15.0, 5.0)


@pytest.mark.parametrize(
    ("lower", "upper", "folded"),
    [
        (-0.05, 0.15, (0, 0.15)),
        (-0.15, 0.05, (0, 0.15)),
        (0.05, 0.15, (0.05, 0.15)),
        (-0.15, -0.05, (0.05, 0.15)),
    ],
)
def test_the_interval_of_an_unsigned_index_folds_at_equality(lower, upper, folded):
    t = (lower + upper) / 2
    rendered = render("larger_over_smaller", t, interval=Interval(lower, upper))
    expected = [render("larger_over_smaller", end).value for end in folded]
    assert [rendered.interval.lower, rendered.interval.upper] == pytest.approx(expected)


def test_a_falling_index_keeps_its_interval_in_order():
    rendered = render("limb_symmetry_of_dominant", 0.1, interval=Interval(0.0, 0.2), dominant_side="right")
    assert rendered.interval.lower < rendered.value < rendered.interval.upper == 100


def test_mass_and_kind_of_the_interval_are_kept():
    rendered = render("symmetry_angle", 0.1, interval=Interval(0.0, 0.2, mass=0.5, kind="prediction"))
    assert (rendered.interval.mass, rendered.interval.kind) == (0.5, "prediction")


def test_a_difference_beyond_all_measure_does_not_overflow():
    assert render("larger_over_smaller", 5000.0).value is None
    assert render("symmetry_angle", 5000.0).value == pytest.approx(50)


def test_an_unknown_index_and_a_t_that_is_no_number_are_refused():
    with pytest.raises(OutsideValidity):
        render("unheard_of", 0.1)
    with pytest.raises(OutsideValidity):
        render("symmetry_angle", nan)


@pytest.mark.parametrize(
    "compute",
    [
        lambda: standard_error_of_measurement(-1, 0.9),
        lambda: standard_error_of_measurement(1, 1.1),
        lambda: minimal_detectable_change(-1),
        lambda: minimal_detectable_change(inf),
        lambda: bilateral_index(10, 0, 0),
        lambda: bilateral_index(-1, 5, 5),
        lambda: false_flag_probability(0),
        lambda: false_flag_probability(0.05, trials=0),
        lambda: false_flag_probability(0.05, cut=1),
    ],
)
def test_reliability_figures_refuse_impossible_inputs(compute):
    with pytest.raises(OutsideValidity):
        compute()


def test_every_reason_has_a_text_that_takes_its_numbers():
    reasons = [r.reason for r in (*render_from_limbs(0, 0), *render_from_limbs(0, 1)) if r.reason]
    assert {reason.code for reason in reasons} == TEXTS.keys()
    for reason in reasons:
        assert TEXTS[reason.code].format(**reason.params)


def test_no_text_speaks_of_injury_risk():
    assert not [text for text in TEXTS.values() if "risk" in text or "injur" in text]
