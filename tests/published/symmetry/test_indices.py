"""Indices of side-to-side difference and their reliability against published forms and figures.

``indices.csv`` holds values worked from the published forms [Bishop2016]_, the larger side being the dominant one
unless said otherwise; ``provenance`` says how the form was seen. Tolerance: half a unit of the last printed digit.
"""

import csv
from math import log
from pathlib import Path

import pytest

from service.core.sources import SOURCES
from service.core.symmetry.deficit import bilateral_index
from service.core.symmetry.indices import (
    INDICES,
    false_flag_probability,
    minimal_detectable_change,
    render,
    render_from_limbs,
    standard_error_of_measurement,
)

pytestmark = pytest.mark.quick

ROWS = list(csv.DictReader((Path(__file__).parent / "indices.csv").read_text().splitlines()))


def _half_last_digit(printed):
    return 0.5 * 10 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(
    "row", ROWS, ids=lambda r: f"{r['index']}-{r['left']}-{r['right']}-{r['dominant_side']}"
)
def test_every_index_rendered_from_the_log_ratio_equals_its_published_form(row):
    t = log(float(row["right"]) / float(row["left"]))
    rendered = render(row["index"], t, dominant_side=row["dominant_side"])
    assert rendered.value == pytest.approx(float(row["expected"]), abs=_half_last_digit(row["expected"]))


def test_the_published_rows_cover_every_index_but_three_whose_twins_they_cover():
    covered = {row["index"] for row in ROWS}
    assert INDICES.keys() - covered == {
        "limb_symmetry_of_uninvolved", "symmetry_right_left", "log_ratio_right_left",
    }  # fmt: skip


def test_25_against_20_reads_as_the_catalogue_of_indices_prints_it():
    """Right 25, left 20, right dominant, left involved, worked from the catalogue [Bishop2016]_, forms secondary."""
    expected = {
        "limb_symmetry_of_dominant": "80",
        "limb_symmetry_deficit": "20",
        "limb_symmetry_right_left": "22.222",
        "limb_symmetry_of_nondominant": "125",
        "limb_symmetry_of_uninvolved": "80",
        "bilateral_strength_asymmetry": "20",
        "bilateral_strength_deficit": "-20",
        "bilateral_asymmetry_of_sum": "11.111",
        "bilateral_asymmetry_of_mean": "22.222",
        "asymmetry_by_dominance": "22.222",
        "symmetry_right_left": "22.222",
        "symmetry_of_sum": "11.111",
        "symmetry_left_right_of_sum": "-11.111",
        "symmetry_angle": "7.045",
        "standard_percentage_difference": "20",
        "larger_over_smaller": "25",
        "log_ratio_right_left": "22.314",
        "log_ratio_left_right": "-22.314",
        "relative_asymmetry_left_right": "-0.1111",
        "asymmetry_of_mean": "0.2222",
    }
    rendered = {r.index_id: r.value for r in render_from_limbs(20, 25, "right", "left")}
    assert rendered.keys() == expected.keys()
    for index_id, printed in expected.items():
        half_last_digit = min(_half_last_digit(printed), 1e-9 if "." not in printed else 1)
        assert rendered[index_id] == pytest.approx(float(printed), abs=half_last_digit), index_id


def test_the_sum_referenced_index_divides_by_the_whole_sum():
    """(D - ND) / (D + ND / 2), a misreading of the printed form, would give 14.285714 for 25 and 20."""
    value = render("bilateral_asymmetry_of_sum", log(25 / 20), dominant_side="right").value
    assert value == pytest.approx(11.111111, abs=0.5e-6)


def test_an_r_packages_documented_example_of_the_mean_referenced_index_is_met():
    """2 |A - B| / (A + B) = 0.5 for 5 and 3, printed output of a public R package's manual page; read."""
    value = render("asymmetry_by_dominance", log(3 / 5), dominant_side="left").value
    assert value == pytest.approx(100 * 0.5, abs=1e-10)


def test_every_index_stands_on_a_registered_work():
    assert {index.source for index in INDICES.values()} <= SOURCES.keys()


def test_the_published_smallest_sem_and_mdc_belong_together():
    """SEM 5.0 and MDC 13.9 percentage points [Zoeger2025]_, abstract; 13.859 rounds to 13.9."""
    assert minimal_detectable_change(5.0) == pytest.approx(13.859293, abs=0.5e-6)
    assert round(minimal_detectable_change(5.0), 1) == 13.9


def test_the_published_largest_sem_and_mdc_agree_within_the_rounding_of_the_sem():
    """SEM 8.3 and MDC 22.9 percentage points [Zoeger2025]_, abstract: 8.25 to 8.35 gives 22.87 to 23.15."""
    assert minimal_detectable_change(8.25) - 0.05 <= 22.9 <= minimal_detectable_change(8.35) + 0.05
    assert minimal_detectable_change(8.3) == pytest.approx(23.006426, abs=0.5e-6)


@pytest.mark.from_memory
def test_the_standard_error_follows_from_spread_and_correlation():
    """SD 10 and ICC 0.90 give 3.162278 [Weir2005]_; formula from memory, arithmetic to six decimals."""
    assert standard_error_of_measurement(10, 0.90) == pytest.approx(3.162278, abs=0.5e-6)


@pytest.mark.parametrize(
    ("cv", "single", "mean_of_three"),
    [(0.03, "1.3", "0.002"), (0.05, "13.6", "1.0"), (0.08, "35.2", "10.7"), (0.10, "45.6", "19.7")],
)
def test_a_fixed_ten_percent_cut_flags_equal_limbs_this_often(cv, single, mean_of_three):
    """Derived percentages, 2 (1 - Phi(-ln 0.9 / (sqrt(2) CV / sqrt(n)))), printed as here."""
    assert 100 * false_flag_probability(cv) == pytest.approx(float(single), abs=_half_last_digit(single))
    averaged = 100 * false_flag_probability(cv, trials=3)
    assert averaged == pytest.approx(float(mean_of_three), abs=_half_last_digit(mean_of_three))


@pytest.mark.parametrize(
    ("cv", "single", "mean_of_three"),
    [(0.05, 0.136218, 0.009857), (0.08, 0.351717, 0.106745), (0.10, 0.456265, 0.196913)],
)
def test_the_false_flag_probability_agrees_to_six_decimals(cv, single, mean_of_three):
    """The same derivation, six decimals."""
    assert false_flag_probability(cv) == pytest.approx(single, abs=0.5e-6)
    assert false_flag_probability(cv, trials=3) == pytest.approx(mean_of_three, abs=0.5e-6)


@pytest.mark.from_memory
def test_a_bilateral_deficit_reads_below_zero():
    """180 together, 100 and 95 one by one: -7.692308 % [Howard1991]_, from memory."""
    assert bilateral_index(180, left=95, right=100) == pytest.approx(-7.692308, abs=0.5e-6)


def test_the_bilateral_index_without_the_hundred_taken_off_is_the_form_that_was_read():
    """92.307692 for the same three values in the form printed without -100, read in a methods paper."""
    assert bilateral_index(180, left=95, right=100) + 100 == pytest.approx(92.307692, abs=0.5e-6)
