"""Counting sets from a body alone, over HTTP."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World


@pytest.fixture
def person(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    return lifters(shared_world, new_id)(BAR_AND_PLATES)


def counted(person: Lifter, sets: list[Json], status: int = 200, **said: Any) -> Json:
    body = {"screening": "clear", "training": "trained", "sets": sets, **said}
    answer = person.client.post("/v1/compute/volume", json=body)
    assert answer.status_code == status, answer.text
    told: Json = answer.json()
    return told


def of(answer: Json, muscle: str, side: str = "both") -> Json:
    (item,) = [one for one in answer["items"] if (one["muscle_id"], one["side"]) == (muscle, side)]
    told: Json = item
    return told


CURL = {"exercise_id": "barbell-curl", "reps": 10, "reps_in_reserve": 1}


def test_hard_sets_add_up_and_say_why(person: Lifter) -> None:
    item = of(counted(person, [CURL, CURL, {**CURL, "reps_in_reserve": 8}]), "biceps-brachii")
    assert 2.0 < item["hard_sets"]["value"] < 2.6
    assert [one["index"] for one in item["sets"]] == [0, 1, 2]
    assert item["assumed_effort_share"] == 0.0
    assert {one["reason"]["code"] for one in item["sets"]} == {"volume_direct_set"}


def test_a_drop_set_counts_two_and_a_half_at_most(person: Lifter) -> None:
    """Common practice and the trials behind it: 1 + 0.5 a drop."""
    failed = {"exercise_id": "cable-pressdown", "reps": 12, "to_failure": True}
    values = [
        of(counted(person, [{**failed, "drops": drops}]), "triceps-lateral-head")["hard_sets"]["value"]
        for drops in (0, 1, 2, 3, 6)
    ]
    assert values == pytest.approx([1.0, 1.5, 2.0, 2.5, 2.5], abs=0.01)


def test_drops_after_no_work_count_nothing(person: Lifter) -> None:
    warm_up = {"exercise_id": "cable-pressdown", "reps": 12, "drops": 3, "purpose": "warm_up"}
    assert counted(person, [warm_up])["items"] == []
    assert counted(person, [{**warm_up, "purpose": "work", "reps": 0}])["items"] == []


def test_a_side_that_was_told_holds(person: Lifter) -> None:
    row = {"exercise_id": "one-arm-dumbbell-row", "reps": 10, "reps_in_reserve": 1}
    both, left, right = (counted(person, [{**row, "side": side}]) for side in ("both", "left", "right"))
    muscle = both["items"][0]["muscle_id"]
    one_side = of(left, muscle, "left")["hard_sets"]["value"]
    assert of(both, muscle, "left")["hard_sets"]["value"] == one_side
    assert of(both, muscle, "right")["hard_sets"]["value"] == one_side
    assert of(right, muscle, "right")["hard_sets"]["value"] == one_side


def test_an_effort_that_is_not_told_is_an_expectation(person: Lifter) -> None:
    item = of(counted(person, [{"exercise_id": "barbell-curl", "reps": 10}]), "biceps-brachii")
    assert 0.6 <= item["hard_sets"]["value"] <= 0.95
    assert item["assumed_effort_share"] == 1.0
    assert item["sets"][0]["reason"]["code"] == "volume_effort_assumed"


def test_a_one_sided_set_goes_to_its_side_and_is_halved_without_one(person: Lifter) -> None:
    row = {"exercise_id": "one-arm-dumbbell-row", "reps": 10, "reps_in_reserve": 1}
    told = counted(person, [{**row, "side": "left"}])
    left, right = (
        sum(one["hard_sets"]["value"] for one in told["items"] if one["side"] == side)
        for side in ("left", "right")
    )
    assert left > 0.9
    assert right == 0.0
    halved = counted(person, [row])
    assert {one["unspecified_side_share"] for one in halved["items"]} == {1.0}


def test_the_order_of_sets_does_not_matter(person: Lifter) -> None:
    sets = [
        CURL,
        {**CURL, "reps_in_reserve": 4},
        {"exercise_id": "bench-press", "reps": 8, "reps_in_reserve": 2},
    ]
    there, back = (counted(person, one) for one in (sets, sets[::-1]))
    for muscle in {one["muscle_id"] for one in there["items"]}:
        assert of(there, muscle)["hard_sets"] == of(back, muscle)["hard_sets"]


def test_faults_are_named_by_their_place(person: Lifter) -> None:
    unknown = counted(person, [CURL, {"exercise_id": "moon-lift", "reps": 5}], status=409)
    assert unknown["errors"][0]["pointer"] == "#/sets/1/exercise_id"
    nothing = counted(person, [{"exercise_id": "barbell-curl"}], status=409)
    assert nothing["errors"][0]["pointer"] == "#/sets/0"
    assert codes([{"code": nothing["code"]}]) == {"not_possible"}
