"""Loads made from the bars and discs that the federations prescribe, and the exact pound.

Bars and discs: [IWF2018]_ and [IPF2014]_, read in pages that repeat the rules; per-side loads are
arithmetic on them. Pounds: 1 lb = 0.45359237 kg exactly [Astin1959]_. Tolerance: exact, or half a unit of
the last printed digit.
"""

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from service.core.loadable import Bar, Mass, PlatePair, options, plates_per_side
from service.core.units import mass_from_kg

pytestmark = pytest.mark.quick

IWF_DISCS = (25, 20, 15, 10, 5, 2.5, 2, 1.5, 1, 0.5)
IPF_DISCS = (50, 25, 20, 15, 10, 5, 2.5, 1.25)
COLLARS = 5.0
MEN = Bar("men's bar with collars", Mass(20 + COLLARS))
WOMEN = Bar("women's bar with collars", Mass(15 + COLLARS))
POUNDS = list(csv.DictReader((Path(__file__).parent / "pounds.csv").read_text().splitlines()))


def _discs(masses, pairs=2):
    return tuple(PlatePair(Mass(mass), pairs) for mass in masses)


def _side(plates):
    return [mass.value for mass, count in plates for _ in range(count)]


def test_100_kg_on_a_mens_bar_with_collars_is_25_10_and_2_5_a_side():
    assert _side(plates_per_side(MEN, _discs(IWF_DISCS), Mass(100))) == [25, 10, 2.5]


def test_61_kg_on_a_womens_bar_with_collars_is_20_and_0_5_a_side():
    assert _side(plates_per_side(WOMEN, _discs(IWF_DISCS), Mass(61))) == [20, 0.5]


@pytest.mark.parametrize(("disc", "step"), [(0.5, 1.0), (1.25, 2.5), (2.5, 5.0)])
def test_the_smallest_symmetric_step_is_twice_the_smallest_disc(disc, step):
    discs = _discs((25, 20, 15, 10, 5, disc), pairs=4)
    loads = [option.load_kg for option in options((MEN, *discs), "total")]
    assert loads[1] - loads[0] == step


def test_weightlifting_discs_make_every_whole_kilogram_that_a_competition_can_call():
    """Competition progresses by 1 kg [IWF2018]_; two pairs of every disc reach 25 + 2 x 165 kg."""
    loads = [option.load_kg for option in options((MEN, *_discs(IWF_DISCS)), "total")]
    assert loads == [25.0 + step for step in range(331)]


def test_powerlifting_discs_make_every_multiple_of_2_5_kg():
    """Discs and the 25 kg of bar with collars as prescribed [IPF2014]_; one pair of each reaches 282.5 kg."""
    loads = [option.load_kg for option in options((MEN, *_discs(IPF_DISCS, pairs=1)), "total")]
    assert loads[0] == 25
    assert loads[-1] == 25 + 2 * sum(IPF_DISCS)
    assert {load % 2.5 for load in loads} == {0}
    assert {160.0, 182.5, 282.5} <= set(loads)


@pytest.mark.parametrize("row", POUNDS, ids=lambda row: f"{row['value']} {row['unit']}")
def test_pounds_and_kilograms_convert_as_printed(row):
    mass = Mass(float(row["value"]), row["unit"])
    if row["unit"] == "lb":
        assert mass.exact_kg == Fraction(row["expected"])
    else:
        half_last_digit = 0.5 * 10 ** -len(row["expected"].split(".")[1])
        assert mass_from_kg(mass.kg, "lb") == pytest.approx(float(row["expected"]), abs=half_last_digit)


def test_a_45_lb_bar_with_two_plates_of_2_5_lb_is_50_lb_exactly():
    bar, plates = Bar("bar", Mass(45, "lb")), (PlatePair(Mass(2.5, "lb"), 1),)
    made = options((bar, *plates), "total")[-1]
    assert (made.value, made.unit) == (50.0, "lb")
    assert made.load_kg == float(Fraction("22.6796185"))
