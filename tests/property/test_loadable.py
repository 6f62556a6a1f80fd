"""Plate sums against brute force, on invented sites."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.errors import NothingLoadable
from service.core.loadable import Bar, Mass, PlatePair, options, plates_per_side

pytestmark = pytest.mark.quick

MASSES = st.builds(
    Mass,
    st.sampled_from([0.25, 0.5, 1.25, 2.5, 5, 10, 15, 20, 25, 35, 45]),
    st.sampled_from(["kg", "lb"]),
)
PLATES = st.lists(st.builds(PlatePair, MASSES, st.integers(0, 3)), max_size=4)
BARS = st.builds(Bar, st.just("bar"), st.sampled_from([Mass(20), Mass(15), Mass(45, "lb")]))


def _by_brute_force(bar, plates):
    """Every exact load with the smallest number of plates on a side that makes it."""
    fewest = {}
    for counts in product(*(range(p.pairs + 1) for p in plates)):
        side = sum((n * p.mass.exact_kg for n, p in zip(counts, plates, strict=True)), Fraction(0))
        load = bar.mass.exact_kg + 2 * side
        fewest[load] = min(sum(counts), fewest.get(load, 99))
    return fewest


@given(bar=BARS, plates=PLATES)
@settings(max_examples=150, deadline=None)
def test_options_are_exactly_the_loads_that_brute_force_finds_with_the_fewest_plates(bar, plates):
    expected = _by_brute_force(bar, plates)
    found = options((bar, *plates), "total")
    assert [o.load_kg for o in found] == [float(load) for load in sorted(expected)]
    assert [len(o.made_of) - 1 for o in found] == [expected[load] for load in sorted(expected)]


@given(bar=BARS, plates=PLATES, data=st.data())
@settings(max_examples=100, deadline=None)
def test_plates_per_side_add_up_to_the_load_and_never_exceed_the_inventory(bar, plates, data):
    counts = [data.draw(st.integers(0, p.pairs)) for p in plates if p.mass.unit == bar.mass.unit]
    same_unit = [p for p in plates if p.mass.unit == bar.mass.unit]
    side = sum((n * p.mass.value for n, p in zip(counts, same_unit, strict=True)), 0.0)
    target = Mass(bar.mass.value + 2 * side, bar.mass.unit)
    laid = plates_per_side(bar, plates, target)
    assert bar.mass.exact_kg + 2 * sum((n * m.exact_kg for m, n in laid), Fraction(0)) == target.exact_kg
    for mass, _ in laid:
        used = sum(n for m, n in laid if m == mass)
        assert used <= sum(p.pairs for p in plates if p.mass == mass)


@given(bar=BARS, plates=PLATES, highest=st.floats(1, 200))
@settings(max_examples=100, deadline=None)
def test_a_limit_only_cuts_the_list_off(bar, plates, highest):
    everything = options((bar, *plates), "total")
    kept = tuple(option for option in everything if option.load_kg <= highest + 1e-6)
    try:
        assert options((bar, *plates), "total", highest_kg=highest) == kept
    except NothingLoadable:
        assert kept == ()
