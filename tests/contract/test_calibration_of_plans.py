"""Issued plans against what happened, asked for over HTTP by an invented athlete."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World


@pytest.fixture
def person(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    return lifters(shared_world, new_id)(BAR_AND_PLATES)


def issued(person: Lifter, p_too_hard: float = 0.1, load: float = 80.0) -> tuple[str, str]:
    """Issue a plan of a ramp set and two working sets of the bench press; return the plan's and the item's id."""
    plan, item = str(uuid4()), str(uuid4())
    kg = {"value": load, "unit": "kg"}
    work = {"side": "both", "load": kg, "reps_low": 8, "reps_high": 10, "reps_in_reserve": 2}
    body = {
        "items": [
            {
                "item_id": item, "exercise_id": "bench-press", "exercise_name": "Bench press", "role": "main",
                "minutes": 9.0,
                "sets": [
                    {"side": "both", "ramp": True, "load": {"value": 40, "unit": "kg"}, "reps_low": 6, "reps_high": 6},
                    {
                        **work, "expected_reps": 11.0, "expected_reps_lower": 9.0, "expected_reps_upper": 13.0,
                        "interval_mass": 0.8, "p_wanted": 0.6, "p_too_hard": p_too_hard,
                    },
                    work,
                ],
            }
        ],
        "minutes": 9.0, "as_of": NOW.isoformat(), "model_version": "plan/1",
    }  # fmt: skip
    kept = person.client.put(f"{person.path}/plans/{plan}", json=body)
    assert kept.status_code == 201, kept.text
    return plan, item


def done(person: Lifter, days_ago: float, reps: int, load: float = 80.0, **said: Any) -> None:
    plan, item = issued(person, said.pop("p_too_hard", 0.1))
    named = {"plan_id": plan, "plan_item_id": item}
    person.logs("bench-press", days_ago + 0.01, 40, 6, **{**named, "purpose": "warm_up"})
    person.logs("bench-press", days_ago, load, reps, **named, **said)
    person.logs("bench-press", days_ago - 0.01, 80, 3, **named, to_failure=True)


def judged(person: Lifter, **asked: Any) -> Json:
    told: Json = person.asks("calibration", **asked)["plans"]
    return told


def test_without_plans_nothing_is_made_up(person: Lifter) -> None:
    told = judged(person)
    assert (told["planned"], told["changed"], told["effort_untold"]) == (0, 0, 0)
    assert "too_hard" not in told
    assert "intervals" not in told
    assert codes(told["reasons"]) == {"calibration_plans_too_few"}


def test_only_the_first_working_set_of_a_planned_exercise_is_judged(person: Lifter) -> None:
    done(person, 3, 9, reps_in_reserve=2)
    told = judged(person)
    assert told["planned"] == 1
    assert told["intervals"]["count"] == told["too_hard"]["count"] == 1
    assert told["too_hard"]["seen"]["value"] == 0.0
    assert told["intervals"]["seen"]["value"] == 1.0
    assert told["intervals"]["stated"] == 0.8


@pytest.mark.parametrize(
    ("reps", "said", "hard"),
    [
        (9, {"reps_in_reserve": 2}, 0.0),
        (9, {"reps_in_reserve": 0}, 1.0),
        (9, {"to_failure": True}, 1.0),
        (7, {"reps_in_reserve": 3}, 1.0),
    ],
)
def test_too_hard_is_nothing_left_or_short_of_the_repetitions(
    person: Lifter, reps: int, said: Json, hard: float
) -> None:
    done(person, 3, reps, **said)
    assert judged(person)["too_hard"]["seen"]["value"] == hard


def test_a_set_that_tells_no_effort_is_counted_and_not_judged(person: Lifter) -> None:
    done(person, 3, 9)
    done(person, 5, 7)
    told = judged(person)
    assert (told["planned"], told["effort_untold"]) == (2, 2)
    assert "too_hard" not in told


def test_another_load_is_not_the_plans(person: Lifter) -> None:
    done(person, 3, 9, load=90.0, to_failure=True)
    told = judged(person)
    assert (told["planned"], told["changed"]) == (1, 1)
    assert "too_hard" not in told
    done(person, 6, 9, load=80.2, reps_in_reserve=2)
    assert judged(person)["changed"] == 1


@pytest.mark.parametrize(
    ("p_too_hard", "hard_sets", "code"),
    [
        (0.1, 1, "calibration_plans_hold"),
        (0.05, 8, "calibration_plans_harder"),
        (0.6, 0, "calibration_plans_easier"),
    ],
)
def test_what_was_said_is_held_against_what_was_seen(
    person: Lifter, p_too_hard: float, hard_sets: int, code: str
) -> None:
    for number in range(12):
        effort = {"to_failure": True} if number < hard_sets else {"reps_in_reserve": 2}
        done(person, 1 + 2 * number, 9, p_too_hard=p_too_hard, **effort)
    told = judged(person)
    assert told["too_hard"]["stated"] == pytest.approx(p_too_hard)
    assert told["too_hard"]["seen"]["value"] == pytest.approx(hard_sets / 12, abs=1e-3)
    assert codes(told["reasons"]) == {code}


def test_the_window_the_instant_and_the_exercise_are_heeded(person: Lifter) -> None:
    done(person, 3, 9, reps_in_reserve=2)
    done(person, 30, 9, reps_in_reserve=2)
    assert judged(person)["planned"] == 2
    assert judged(person, weeks=2)["planned"] == 1
    earlier = NOW.replace(day=10).isoformat()
    assert judged(person, as_of=earlier)["planned"] == 1
    assert judged(person, exercise_id="back-squat")["planned"] == 0
