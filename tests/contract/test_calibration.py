"""An athlete's own predictions against what happened, asked for over HTTP."""

from collections.abc import Callable
from datetime import timedelta
from random import Random

import pytest

from service.core.capability import MODEL_VERSION
from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def steady(person: Lifter, weeks: int = 8, exercise_id: str = "bench-press", seed: int = 3) -> None:
    """Sets to failure around ten, a repetition or so up and down, twice a week."""
    drawn = Random(seed)
    for session in range(2 * weeks):
        reps = 10 + drawn.choice((-1, 0, 0, 1))
        person.logs(exercise_id, 1 + 3.5 * session, 80, reps, to_failure=True)


def by(answer: Json, group: str) -> list[Json]:
    return [item for item in answer["items"] if item["by"] == group]


def test_an_empty_log_asks_for_effort_and_makes_no_number_up(lifter: Callable[..., Lifter]) -> None:
    answer = lifter(BAR_AND_PLATES).asks("calibration")
    assert answer["items"] == []
    assert answer["action"]["code"] == "tell_more_effort"
    assert answer["model_version"] == MODEL_VERSION


def test_a_steady_lifter_is_foretold_as_often_as_was_said(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    steady(person)
    answer = person.asks("calibration")
    (whole,) = by(answer, "all")
    # Before the first set nothing was known, so nothing was foretold.
    assert whole["count"] == 15
    assert 0.65 <= whole["held_80"]["value"] <= 1.0
    interval = whole["held_80"]["interval"]
    assert 0.0 <= interval["lower"] < whole["held_80"]["value"] <= interval["upper"] <= 1.0
    assert abs(whole["bias"]["value"]) < 1.0
    assert answer["action"]["code"] in {"take_as_told", "read_narrower"}


def test_what_was_foretold_rests_on_nothing_of_the_set_itself(lifter: Callable[..., Lifter]) -> None:
    errors = []
    for last in (10, 20):
        person = lifter(BAR_AND_PLATES)
        for session in range(1, 9):
            person.logs("bench-press", 1 + 3.5 * session, 80, 10, to_failure=True)
        person.logs("bench-press", 0.5, 80, last, to_failure=True)
        (whole,) = by(person.asks("calibration"), "all")
        errors.append(whole["bias"]["value"] * whole["count"])
    # Ten repetitions more than expected show in full: the expectation itself has not moved.
    assert errors[0] - errors[1] == pytest.approx(10.0, abs=0.05)


def test_groups_tell_effort_lift_and_repetitions_apart(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    steady(person)
    for session in range(6):
        person.logs("barbell-row", 1 + 3.5 * session, 60, 8, reps_in_reserve=2)
        person.logs("overhead-press", 1 + 3.5 * session, 40, 8)
    answer = person.asks("calibration")
    effort = {item["told"]: item["count"] for item in by(answer, "effort")}
    assert effort == {"to_failure": 15, "reported_reserve": 5}
    lifts = {item["exercise_id"]: item["count"] for item in by(answer, "exercise")}
    assert lifts == {"bench-press": 15, "barbell-row": 5}
    assert sum(item["count"] for item in by(answer, "repetitions")) == 20
    few = next(item for item in by(answer, "exercise") if item["exercise_id"] == "barbell-row")
    assert codes(few["reasons"]) == {"calibration_too_few"}


def test_warm_ups_drops_and_far_reserves_are_not_judged(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for session in range(6):
        day = 1 + 3.5 * session
        person.logs("bench-press", day, 40, 8, purpose="warm_up", reps_in_reserve=3)
        person.logs("bench-press", day, 80, 8, ordinal=1, reps_in_reserve=8)
        person.logs("bench-press", day, 60, 9, ordinal=2, stage=1, to_failure=True)
    assert person.asks("calibration")["items"] == []


def test_only_the_asked_lift_and_weeks_are_looked_at(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    steady(person)
    steady(person, exercise_id="barbell-row", seed=4)
    only = person.asks("calibration", exercise_id="barbell-row")
    assert [item["exercise_id"] for item in by(only, "exercise")] == ["barbell-row"]
    recent = person.asks("calibration", weeks=2)
    assert by(recent, "all")[0]["count"] == 8
    assert person.asks("calibration", exercise_id="no-such-lift", status=409)["code"] == "unknown_reference"


def test_later_sets_do_not_change_an_earlier_answer(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    steady(person)
    then = (NOW - timedelta(days=10)).isoformat()
    before = person.asks("calibration", as_of=then)
    person.logs("bench-press", 2, 80, 25, to_failure=True)
    assert person.asks("calibration", as_of=then)["items"] == before["items"]
    assert person.asks("calibration")["items"] != before["items"]


def test_withdrawn_consent_stops_it_at_once(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    steady(person, weeks=2)
    person.consents(granted=False)
    assert person.asks("calibration", status=403)["code"] == "consent_required"
