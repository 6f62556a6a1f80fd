"""Weeks of work in a row: a set of one limb is half a set of both, as in the weekly volume."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Lifter, lifters
from tests.world import World

SIDES = ("left", "right")


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def rows(person: Lifter, week: int, *, by_sides: bool) -> None:
    """Log two sessions of three sets of rows, by each arm or with both. [weeks ago]"""
    for day in (5, 2):
        for number in range(3):
            at = 7 * week + day - 0.01 * number
            if not by_sides:
                person.logs("barbell-row", at, 60, 8, reps_in_reserve=2)
                continue
            for side in SIDES:
                person.logs("one-arm-dumbbell-row", at, 24, 8, side=side, reps_in_reserve=2)


@pytest.mark.parametrize("sides_first", [True, False])
def test_the_same_dose_by_limbs_and_by_both_is_no_easier_week(
    lifter: Callable[..., Lifter], sides_first: bool
) -> None:
    person = lifter(BAR_AND_PLATES)
    for week in range(9, -1, -1):
        rows(person, week, by_sides=sides_first == (week >= 4))
    assert person.asks("trends")["easier_week"]["weeks_in_a_row"] >= 9
