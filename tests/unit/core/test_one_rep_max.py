"""What the comparison of formulas refuses, and how it says so."""

import json
import math
from pathlib import Path

import pytest

from service.core.errors import OutsideValidity
from service.core.one_rep_max import FORMULAS, compare, load_for_repetitions, one_rep_max
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

TEXTS = json.loads(
    (Path(__file__).parents[3] / "service/catalogue/data/texts/en/one_rep_max.json").read_text()
)


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=lambda f: f.id)
def test_every_formula_and_its_range_stand_in_the_registry_of_sources(formula):
    assert {formula.source, formula.range_source} <= SOURCES.keys()
    assert 1 <= formula.valid_from < formula.valid_to
    assert formula.valid_to < min(formula.pole or math.inf, formula.turning_point or math.inf)


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=lambda f: f.id)
def test_more_repetitions_never_mean_a_smaller_maximum_inside_the_range(formula):
    steps = [formula.valid_from + (formula.valid_to - formula.valid_from) * k / 50 for k in range(51)]
    maxima = [one_rep_max(formula.id, 60, r) for r in steps]
    assert maxima == sorted(maxima)


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=lambda f: f.id)
def test_the_load_for_repetitions_undoes_the_maximum(formula):
    for repetitions in (formula.valid_from, 4.5, formula.valid_to):
        maximum = one_rep_max(formula.id, 62.5, repetitions)
        assert load_for_repetitions(formula.id, maximum, repetitions) == pytest.approx(62.5, rel=1e-12)


@pytest.mark.parametrize(
    ("formula_id", "valid_from", "valid_to"),
    [
        ("epley", 1, 10),
        ("brzycki", 1, 10),
        ("lander", 1, 10),
        ("lombardi", 1, 20),
        ("mayhew", 1, 20),
        ("oconner", 1, 10),
        ("wathen", 1, 20),
        ("kemmler", 3, 20),
    ],
)
def test_the_ends_of_the_range_are_answered_and_a_hair_beyond_is_refused(formula_id, valid_from, valid_to):
    """Ends published by [Mayhew1995]_ (Brzycki) and [Kemmler2006]_; all others are our judgement."""
    for repetitions in (valid_from, valid_to):
        assert one_rep_max(formula_id, 100, repetitions) >= 100
    for repetitions in (valid_from - 0.01, valid_to + 0.01):
        with pytest.raises(OutsideValidity):
            one_rep_max(formula_id, 100, repetitions)


def test_fifteen_repetitions_leave_only_the_curved_formulas():
    comparison = compare(40, 15)
    assert [r.formula_id for r in comparison.results] == ["lombardi", "mayhew", "wathen", "kemmler"]
    refused = {r.formula_id: r.reason.code for r in comparison.refused}
    assert refused["brzycki"] == "one_rep_max.outside_published_range"
    assert refused["epley"] == "one_rep_max.outside_judgement_range"
    assert [c.code for c in comparison.cautions] == ["one_rep_max.computed_not_lifted"]


def test_two_repetitions_are_outside_the_range_that_kemmler_published():
    assert [r.formula_id for r in compare(40, 2).refused] == ["kemmler"]


def test_one_repetition_has_no_spread_and_no_caution():
    comparison = compare(80, 1)
    assert comparison.spread.lowest_kg == comparison.spread.highest_kg == 80
    assert comparison.cautions == ()


def test_thirty_repetitions_are_answered_by_no_formula():
    comparison = compare(40, 30)
    assert comparison.results == ()
    assert comparison.spread is None
    assert comparison.reasons[0].code == "one_rep_max.no_formula_holds"


@pytest.mark.parametrize("load", [0, -5, math.nan, math.inf])
def test_a_load_that_is_no_load_is_refused(load):
    with pytest.raises(OutsideValidity):
        compare(load, 5)
    with pytest.raises(OutsideValidity):
        load_for_repetitions("epley", load, 5)


@pytest.mark.parametrize("repetitions", [0, -1, 0.5, math.nan, math.inf])
def test_repetitions_below_one_or_not_finite_are_refused(repetitions):
    with pytest.raises(OutsideValidity):
        compare(100, repetitions)
    with pytest.raises(OutsideValidity):
        one_rep_max("lombardi", 100, repetitions)


def test_an_unknown_formula_is_refused_with_the_known_ones():
    with pytest.raises(OutsideValidity) as refusal:
        one_rep_max("unheard_of", 100, 5)
    assert refusal.value.facts["known"] == tuple(FORMULAS)


@pytest.mark.parametrize("repetitions", [1, 2, 5, 15, 30])
def test_every_reason_and_caution_has_a_text_that_takes_its_numbers(repetitions):
    comparison = compare(100, repetitions)
    spoken = [*comparison.reasons, *comparison.cautions, *(r.reason for r in comparison.refused)]
    for item in spoken:
        assert TEXTS[item.code].format(**item.params)
