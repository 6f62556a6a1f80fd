"""Which loads the implements of an invented site make, and how each is made."""

import json
import math
from pathlib import Path

import pytest

from service.core.errors import NothingLoadable, OutsideValidity
from service.core.loadable import (
    Bar,
    Belt,
    DumbbellRack,
    Handle,
    Levels,
    Mass,
    PlatePair,
    Stack,
    explain,
    loads_near,
    nearest,
    options,
    plates_per_side,
)

pytestmark = pytest.mark.quick

TEXTS = json.loads((Path(__file__).parents[3] / "service/catalogue/data/texts/en/loadable.json").read_text())
BAR = Bar("bar", Mass(20))
PLATES = (PlatePair(Mass(20), 1), PlatePair(Mass(10), 2), PlatePair(Mass(2.5), 1))
RACK = DumbbellRack(tuple(Mass(pounds, "lb") for pounds in (15, 20, 25)))


def loads(found):
    return [option.load_kg for option in found]


def test_a_bar_with_plates_makes_every_symmetric_load_once():
    expected = sorted(
        {20 + 2 * (20 * a + 10 * b + 2.5 * c) for a in (0, 1) for b in (0, 1, 2) for c in (0, 1)}
    )
    assert loads(options((BAR, *PLATES), "total")) == expected


def test_equal_loads_are_made_with_the_fewest_plates():
    at_60 = nearest(options((BAR, *PLATES), "total"), 60).at
    assert at_60.made_of == ("bar 20 kg", "20 kg")


def test_a_tie_in_the_number_of_plates_goes_to_the_heavier_plate_first():
    plates = tuple(PlatePair(Mass(mass), 2) for mass in (15, 20, 25))
    assert plates_per_side(BAR, plates, Mass(100)) == ((Mass(25), 1), (Mass(15), 1))


def test_where_two_bars_make_a_load_the_one_with_fewer_plates_is_offered():
    light = Bar("light bar", Mass(10))
    assert nearest(options((light, BAR, *PLATES), "total"), 40).at.made_of == ("bar 20 kg", "10 kg")


def test_a_single_sleeve_takes_plates_one_by_one():
    post = Bar("post", Mass(0), sleeves=1)
    assert loads(options((post, PlatePair(Mass(5), 1)), "total")) == [0, 5, 10]


def test_pounds_and_kilograms_on_one_bar_stay_traceable_to_what_was_entered():
    found = options((BAR, PlatePair(Mass(45, "lb"), 1)), "total")
    assert found[1].made_of == ("bar 20 kg", "45 lb")
    assert (found[1].value, found[1].unit) == (found[1].load_kg, "kg")
    assert found[1].load_kg == pytest.approx(20 + 90 * 0.45359237, abs=1e-12)


def test_a_pound_bar_among_kilogram_plates_still_speaks_pounds_when_empty():
    found = options((Bar("bar", Mass(45, "lb")), PlatePair(Mass(10), 1)), "total")
    assert (found[0].value, found[0].unit) == (45.0, "lb")
    assert found[1].unit == "kg"


def test_dumbbells_are_counted_in_each_hand_and_answered_in_the_unit_entered():
    found = options((RACK,), "per_hand")
    assert [(option.value, option.unit) for option in found] == [(15, "lb"), (20, "lb"), (25, "lb")]


def test_two_dumbbells_lifted_together_count_twice_on_the_basis_total():
    found = options((RACK,), "total", dumbbells_held=2)
    assert [option.value for option in found] == [30, 40, 50]
    assert found[0].made_of == ("dumbbell", "15 lb", "15 lb")


def test_loadable_handles_share_the_pairs_between_both_hands():
    handle = Handle("handle", Mass(2))
    found = options((handle, PlatePair(Mass(1.25), 3)), "per_hand")
    assert loads(found) == [2, 4.5]
    single = Handle("handle", Mass(2), count=1)
    assert loads(options((single, PlatePair(Mass(1.25), 3)), "per_hand"))[-1] == 9.5


def test_a_stack_takes_its_add_ons_in_every_combination():
    stack = Stack("pulley", (Mass(5), Mass(10)), add_ons=(Mass(1.25), Mass(2.5)))
    found = options((stack,), "total")
    assert loads(found) == [5, 6.25, 7.5, 8.75, 10, 11.25, 12.5, 13.75]
    assert found[3].label == "5 kg + 1.25 kg + 2.5 kg"


def test_a_movable_pulley_halves_what_reaches_the_handle_and_the_label_names_the_pin():
    found = options((Stack("pulley", (Mass(10), Mass(20)), ratio=0.5),), "total")
    assert [(option.load_kg, option.label) for option in found] == [(5, "10 kg"), (10, "20 kg")]


def test_added_loads_begin_with_the_body_alone_and_hang_plates_one_by_one():
    found = options((Belt(), PlatePair(Mass(5), 1), DumbbellRack((Mass(8),))), "added")
    assert loads(found) == [0, 5, 8, 10]
    assert found[0].made_of == ()


def test_without_a_belt_nothing_is_hung_on_the_body():
    assert loads(options((BAR, *PLATES, RACK), "added")) == [0]


def test_assistance_comes_from_assisting_stacks_only():
    assisting = Stack("assisted pull-up", (Mass(7), Mass(14)), assists=True)
    found = options((assisting, Stack("pulley", (Mass(5),))), "assistance")
    assert loads(found) == [0, 7, 14]
    assert loads(options((assisting, Stack("pulley", (Mass(5),))), "total")) == [5]


def test_levels_are_ranks_with_a_label_and_no_mass():
    found = options((Levels("leg curl by the window", ("A", "B", "C")),), "level")
    assert [(option.value, option.unit, option.label) for option in found] == [
        (1, "{level}", "A"),
        (2, "{level}", "B"),
        (3, "{level}", "C"),
    ]


def test_levels_of_two_stations_are_never_put_on_one_line():
    with pytest.raises(OutsideValidity):
        options((Levels("one", ("1",)), Levels("other", ("1",))), "level")


def test_an_unloaded_exercise_has_one_option():
    assert loads(options((), "none")) == [0]


@pytest.mark.parametrize("basis", ["total", "per_hand", "level"])
def test_a_site_without_a_suitable_implement_is_said_to_have_none(basis):
    with pytest.raises(NothingLoadable):
        options(PLATES, basis)


def test_the_search_stops_at_the_highest_load_asked_for_and_includes_it():
    assert loads(options((BAR, *PLATES), "total", highest_kg=45)) == [20, 25, 40, 45]
    pounds = (Bar("bar", Mass(45, "lb")),)
    assert len(options(pounds, "total", highest_kg=45 * 0.45359237)) == 1
    with pytest.raises(NothingLoadable):
        options((BAR,), "total", highest_kg=19.9)


def test_the_options_around_a_load_are_found():
    found = options((BAR, *PLATES), "total")
    around = nearest(found, 62)
    assert (around.below.load_kg, around.at, around.above.load_kg) == (60, None, 65)
    exact = nearest(found, 60)
    assert (exact.below.load_kg, exact.at.load_kg, exact.above.load_kg) == (45, 60, 65)
    assert nearest(found, 1).below is None
    assert nearest(found, 1000).above is None


def test_loads_near_come_sorted_and_the_lighter_wins_a_tie():
    found = options((DumbbellRack(tuple(Mass(kg) for kg in (6, 8, 10, 12))),), "per_hand")
    assert loads(loads_near(found, 9, 1)) == [8]
    assert loads(loads_near(found, 9, 3)) == [6, 8, 10]


def test_a_load_the_bar_cannot_make_is_refused_with_its_neighbours():
    with pytest.raises(NothingLoadable) as refusal:
        plates_per_side(BAR, PLATES, Mass(62))
    assert refusal.value.facts == {"target": "62 kg", "below_kg": 60, "above_kg": 65}


def test_a_load_under_the_bar_is_refused():
    with pytest.raises(NothingLoadable):
        plates_per_side(BAR, PLATES, Mass(15))


def test_the_empty_bar_needs_no_plates():
    assert plates_per_side(BAR, PLATES, Mass(20)) == ()


@pytest.mark.parametrize("value", [-1, math.nan, math.inf])
def test_a_mass_that_is_no_mass_is_refused(value):
    with pytest.raises(OutsideValidity):
        Mass(value)


def test_impossible_implements_are_refused():
    for build in (
        lambda: PlatePair(Mass(0), 1),
        lambda: PlatePair(Mass(5), -1),
        lambda: Stack("s", (Mass(5),), ratio=0),
        lambda: Handle("h", Mass(2), count=0),
        lambda: DumbbellRack((Mass(0),)),
        lambda: Levels("s", ("1", "1")),
        lambda: options((RACK,), "total", dumbbells_held=0),
        lambda: options((RACK,), "total", highest_kg=math.inf),
        lambda: nearest((), math.nan),
    ):
        with pytest.raises(OutsideValidity):
            build()


def test_an_inventory_beyond_all_reason_is_refused_instead_of_being_added_up():
    plates = tuple(PlatePair(Mass(1 + n / 997), 40) for n in range(12))
    with pytest.raises(OutsideValidity):
        options((BAR, *plates), "total")


@pytest.mark.parametrize("target", [10, 20, 62, 500])
def test_every_explanation_has_a_text_that_takes_its_numbers(target):
    reason = explain(nearest(options((BAR, *PLATES), "total"), target), target)
    assert TEXTS[reason.code].format(**reason.params)


def test_stacks_with_more_settings_than_can_be_listed_are_refused_before_they_are_all_listed():
    add_ons = tuple(Mass(0.001 * 2**k) for k in range(10))
    stacks = [Stack(f"stack {n}", tuple(map(Mass, range(1, 101))), add_ons) for n in range(100)]
    with pytest.raises(OutsideValidity) as refused:
        options(stacks, "total")
    assert refused.value.facts["ways_at_most"] == 250_000


def test_of_equally_few_plates_the_heavier_go_on_first_among_hundreds_of_kinds():
    """The ways to lay them are more than the largest float; only a light load keeps their sums few."""
    lighter = [PlatePair(Mass(0.5 + n / 1000), 40) for n in range(300)]
    heavier = [PlatePair(Mass(whole), 40) for whole in (1, 2, 3)]
    found = options([BAR, *heavier, *lighter], "total", highest_kg=20.0 + 2 * 1.003)
    assert found[-1].load_kg == pytest.approx(22.006)
    assert found[-1].made_of[1:] == ("0.503 kg", "0.5 kg")
