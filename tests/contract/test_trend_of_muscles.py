"""Trends of muscles: the changes of their lifts are counted together over the same days, which the answer names."""

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, lifters
from tests.world import World

OTHERS = ("machine-chest-press", "incline-bench-press", "cable-fly", "dumbbell-bench-press")


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def rises(person: Lifter, exercise_id: str, sessions: int, ended: float = 1.0, start: float = 40.0) -> None:
    for number in range(sessions):
        day = ended + 3.5 * (sessions - 1 - number)
        session, load = person.visits(day), round(start * 1.015**number, 2)
        for place in range(2):
            person.logs(exercise_id, day - 0.01 * place, load, 8, reps_in_reserve=1, session_id=session)


def chest(person: Lifter, **asked: object) -> tuple[Json, dict[str, Json]]:
    items = person.asks("trends", muscle_id="pectoralis-major-sternal", **asked)["items"]
    (muscle,) = [item for item in items if item["scope"] == "muscle"]
    return muscle, {item["exercise_id"]: item for item in items if item["scope"] == "exercise"}


def test_lifts_that_rise_alike_make_a_muscle_that_rises_as_they_do(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    rises(person, "bench-press", 20)
    for number, exercise_id in enumerate(OTHERS):
        rises(person, exercise_id, 9, ended=1.05 + 0.05 * number)
    muscle, lifts = chest(person)
    weekly = [item["weekly_change"]["value"] for item in lifts.values()]
    assert min(weekly) <= muscle["weekly_change"]["value"] <= max(weekly)
    assert set(muscle["exercise_ids"]) == set(lifts)
    assert muscle["from"] == max(item["from"] for item in lifts.values())
    assert muscle["to"] == min(item["to"] for item in lifts.values())
    assert muscle["sessions"] < lifts["bench-press"]["sessions"] + 4 * 9


def test_a_muscles_weekly_change_is_that_of_the_days_that_it_names(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    rises(person, "bench-press", 16)
    rises(person, "cable-fly", 10, ended=2.3)
    muscle, _ = chest(person)
    length = datetime.fromisoformat(muscle["to"]) - datetime.fromisoformat(muscle["from"])
    weeks = length / timedelta(weeks=1)
    whole, weekly = (1.0 + muscle[name]["value"] / 100.0 for name in ("change", "weekly_change"))
    assert weekly**weeks == pytest.approx(whole, abs=1e-3)
    (told,) = [one for one in muscle["reasons"] if one["code"] == "trend_lifts_pooled"]
    assert told["params"]["weeks"] == pytest.approx(weeks, abs=0.01)
    assert (told["params"]["lifts"], told["params"]["left_out"]) == (2, 0)


def test_a_lift_given_up_weeks_ago_is_left_out(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    rises(person, "bench-press", 9, ended=26.0)
    rises(person, "cable-fly", 8)
    muscle, lifts = chest(person)
    assert muscle["exercise_ids"] == ["cable-fly"]
    assert (muscle["from"], muscle["to"]) == (lifts["cable-fly"]["from"], lifts["cable-fly"]["to"])
