"""What a first session may hold, over HTTP: nothing that takes teaching for those who should be taught first."""

from datetime import timedelta

import pytest

from service.catalogue import load_catalogue
from tests.contract.test_next_session import NOW, Case, make_case, world_now
from tests.world import World

__all__ = ["world_now"]

TAUGHT = {exercise.exercise_id for exercise in load_catalogue() if exercise.skill >= 2}


def _planned(case: Case, **params: object) -> set[str]:
    return {item["exercise_id"] for item in case.plan(**params)["items"]}


@pytest.mark.parametrize("born", [1964, 2010])
def test_older_people_and_minors_are_given_no_lift_that_takes_teaching(world_now: World, born: int) -> None:
    case = make_case(world_now, birth_year=born, training_years=4)
    case.screened()
    planned = _planned(case, minutes=60)
    assert planned
    assert planned.isdisjoint(TAUGHT)


def test_a_demanding_lift_that_is_in_the_log_stays(world_now: World) -> None:
    case = make_case(world_now, birth_year=1964, training_years=10)
    case.screened()
    case.weeks(NOW - timedelta(days=4), lifts={"back-squat": (80, 8), "bench-press": (60, 8)})
    assert _planned(case, minutes=60) & {"back-squat", "bench-press"}


def test_the_first_time_counts_every_reserve_from_the_wanted_one_up_as_wanted(world_now: World) -> None:
    case = make_case(world_now, birth_year=1990, training_years=5)
    case.screened()
    case.weeks(NOW - timedelta(days=4), lifts={"lat-pulldown": (60, 10), "bench-press": (80, 8)})
    first = [
        one
        for item in case.plan(minutes=90)["items"]
        if any(caution["code"] == "first_time" for caution in item["cautions"])
        for one in item["sets"]
        if one.get("p_wanted") is not None
    ]
    assert first
    assert [one for one in first if one["p_wanted"] <= 0.5] == []


def test_a_coach_may_issue_a_lift_that_the_plan_would_not_bring_in(world_now: World) -> None:
    case = make_case(world_now, birth_year=1964, training_years=4)
    case.screened()
    plan = case.plan(minutes=60)
    taught = {**plan["items"][0], "exercise_id": "deadlift", "exercise_name": "Deadlift"}
    assert case.issue({**plan, "items": [taught]}).status_code == 201
