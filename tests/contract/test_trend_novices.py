"""Trends of somebody who learns several lifts at once, over HTTP: one that does not rise is not told to rise."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Lifter, lifters
from tests.world import World

WEEKS = 10
#: What each lift's load grows by in a week, as a share of where it began.
RATES = {"bench-press": -0.01, "back-squat": 0.04, "barbell-row": 0.04, "deadlift": 0.04}


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def test_a_lift_that_falls_beside_rising_ones_is_no_progress(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES, training_years=0.1)
    for exercise_id, rate in RATES.items():
        sets = []
        for week in range(WEEKS):
            load = 2.5 * round(32.0 * (1.0 + rate * week))
            for day in (1.0, 3.0, 5.0):
                ago = 7.0 * (WEEKS - 1 - week) + day
                done = (
                    person.did(exercise_id, ago, load, 8, reps_in_reserve=2, ordinal=ordinal)
                    for ordinal in range(3)
                )
                sets.extend({**one, "id": person.new_id()} for one in done)
        kept = person.client.post(f"{person.path}/sets", json={"sets": sets})
        assert kept.status_code == 201, kept.text
    found = {
        item["exercise_id"]: item
        for item in person.asks("trends", weeks=16)["items"]
        if item["scope"] == "exercise"
    }
    assert {found[name]["state"] for name, rate in RATES.items() if rate > 0.0} == {"progress"}
    assert found["bench-press"]["state"] != "progress"
    # It was told to rise by 2 %. It fell by 9 % and is told to fall by 2: still too little, but nobody is told to go on.
    assert found["bench-press"]["change"]["value"] < 0.0
    assert found["bench-press"]["p_progress"] < 0.25
