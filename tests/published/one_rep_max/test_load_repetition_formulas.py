"""The load-repetition formulas against their published equations.

``bare_equations.csv`` holds the arithmetic of each cited form at 100 kg, printed to six decimals; the column
``provenance`` says how the form was seen. Values at one repetition are those of the bare equation, which
the service replaces by the load. Tolerance: half a unit of the last printed digit.
"""

import csv
from pathlib import Path

import pytest

from service.core.errors import OutsideValidity
from service.core.one_rep_max import (
    BRZYCKI,
    EPLEY,
    FORMULAS,
    KEMMLER,
    LANDER,
    compare,
    load_for_repetitions,
    one_rep_max,
)

pytestmark = pytest.mark.quick

HALF_LAST_DIGIT = 0.5e-6
ROWS = list(csv.DictReader((Path(__file__).parent / "bare_equations.csv").read_text().splitlines()))


def _valid(row: dict[str, str]) -> bool:
    formula = FORMULAS[row["formula"]]
    return formula.valid_from <= float(row["repetitions"]) <= formula.valid_to


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['formula']}-{r['form']}-{r['repetitions']}")
def test_each_bare_equation_gives_its_published_arithmetic(row):
    formula = FORMULAS[row["formula"]]
    multiple = formula.multiple if row["form"] == "main" else formula.also_printed[0].multiple
    value = float(row["load_kg"]) * multiple(float(row["repetitions"]))
    assert value == pytest.approx(float(row["expected_kg"]), abs=HALF_LAST_DIGIT)


@pytest.mark.parametrize(
    "row",
    [r for r in ROWS if r["form"] == "main" and _valid(r) and r["repetitions"] != "1"],
    ids=lambda r: f"{r['formula']}-{r['repetitions']}",
)
def test_the_service_answers_with_the_equation_inside_the_valid_range(row):
    value = one_rep_max(row["formula"], float(row["load_kg"]), float(row["repetitions"]))
    assert value == pytest.approx(float(row["expected_kg"]), abs=HALF_LAST_DIGIT)


@pytest.mark.parametrize("row", [r for r in ROWS if r["form"] == "main" and not _valid(r)
                                 and r["repetitions"] != "1"],
                         ids=lambda r: f"{r['formula']}-{r['repetitions']}")  # fmt: skip
def test_the_service_refuses_the_equation_outside_the_valid_range(row):
    with pytest.raises(OutsideValidity) as refusal:
        one_rep_max(row["formula"], 100, float(row["repetitions"]))
    formula = FORMULAS[row["formula"]]
    assert refusal.value.facts == {
        "formula": formula.id,
        "repetitions": float(row["repetitions"]),
        "valid_from": formula.valid_from,
        "valid_to": formula.valid_to,
        "pole": formula.pole,
    }


@pytest.mark.parametrize("formula_id", FORMULAS)
def test_one_repetition_is_the_load_exactly_whatever_the_bare_equation_says(formula_id):
    assert one_rep_max(formula_id, 97.5, 1) == 97.5
    assert load_for_repetitions(formula_id, 97.5, 1) == 97.5


@pytest.mark.parametrize(
    ("formula_id", "bare_kg"),
    [("epley", 103.333333), ("wathen", 101.304191), ("kemmler", 100.024160)],
)
def test_the_bare_equation_at_one_repetition_is_not_what_is_answered(formula_id, bare_kg):
    """Values at r = 1 of the cited forms, 100 kg [Epley1985]_, [Wathen1994]_, [Kemmler2006]_."""
    assert 100 * FORMULAS[formula_id].multiple(1) == pytest.approx(bare_kg, abs=HALF_LAST_DIGIT)
    assert one_rep_max(formula_id, 100, 1) != pytest.approx(bare_kg, abs=0.01)


def test_mayhews_bare_equation_adds_nine_kilograms_to_a_single_of_100():
    """108.86 for 100 kg x 1, printed to two decimals [Mayhew1992]_."""
    assert 100 * FORMULAS["mayhew"].multiple(1) == pytest.approx(108.86, abs=0.005)


@pytest.mark.parametrize(("formula", "pole"), [(BRZYCKI, 36.971223), (LANDER, 37.922605)])
def test_poles_lie_where_the_denominator_vanishes_and_far_outside_the_range(formula, pole):
    """Algebra of the cited forms, six decimals."""
    assert formula.pole == pytest.approx(pole, abs=HALF_LAST_DIGIT)
    assert formula.multiple(pole - 0.01) > 1000
    assert formula.multiple(pole + 0.01) < 0
    assert formula.valid_to < pole / 3


def test_the_rounded_brzycki_form_has_its_pole_at_37_repetitions():
    with pytest.raises(ZeroDivisionError):
        BRZYCKI.also_printed[0].multiple(37)


def test_kemmlers_cubic_turns_over_beyond_its_range():
    """Turning point 24.1477 [Kemmler2006]_, algebra of the cited cubic, four decimals."""
    assert KEMMLER.turning_point == pytest.approx(24.1477, abs=0.5e-4)
    assert KEMMLER.multiple(24.1477) > KEMMLER.multiple(23) > KEMMLER.multiple(22)
    assert KEMMLER.multiple(26) < KEMMLER.multiple(24.1477)
    assert KEMMLER.valid_to < KEMMLER.turning_point


@pytest.mark.parametrize(
    ("formula", "share", "repetitions", "digits"),
    [
        (EPLEY, 0.90, 3.333333, 6),
        (EPLEY, 0.80, 7.500000, 6),
        (BRZYCKI, 0.80, 8.194245, 6),
    ],
)
def test_repetitions_at_a_share_of_the_maximum_invert_the_equation(formula, share, repetitions, digits):
    """Algebra of the cited forms [Epley1985]_, [Brzycki1993]_; the answer is checked in load, 100 kg
    maximum."""
    slope_bound = 100 * 0.03 * 0.5 * 10**-digits
    assert load_for_repetitions(formula.id, 100, repetitions) == pytest.approx(100 * share, abs=slope_bound)


@pytest.mark.parametrize(
    ("repetitions", "lowest", "highest"), [(5, 108, 119), (10, 122, 135), (15, 131, 164), (20, 135, 212)]
)
def test_all_bare_equations_together_spread_as_published(repetitions, lowest, highest):
    """Whole kilograms at 100 kg, computed from the cited forms, the valid range set aside."""
    maxima = [100 * formula.multiple(repetitions) for formula in FORMULAS.values()]
    assert min(maxima) == pytest.approx(lowest, abs=0.5)
    assert max(maxima) == pytest.approx(highest, abs=0.5)


def test_a_set_of_five_is_answered_by_every_formula_between_the_published_extremes():
    comparison = compare(100, 5)
    assert {r.formula_id for r in comparison.results} == set(FORMULAS)
    assert comparison.refused == ()
    assert comparison.spread.lowest_kg == pytest.approx(108.02, abs=HALF_LAST_DIGIT)
    assert comparison.spread.highest_kg == pytest.approx(119.010680, abs=HALF_LAST_DIGIT)
