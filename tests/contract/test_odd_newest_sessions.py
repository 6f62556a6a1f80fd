"""A newest session that says nothing of strength, and loads that come to nothing, leave every answer standing."""

from collections.abc import Callable
from uuid import uuid4

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Lifter, lifters
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


ANSWERS = (
    "capability",
    "load-progression",
    "next-session",
    "next-set",
    "volume",
    "imbalance-indices",
    "calibration",
    "trends",
)


def answers(person: Lifter) -> dict[str, int]:
    asked = {"next-set": {"exercise_id": "bench-press"}}
    placed = {"load-progression", "next-session", "next-set"}
    return {
        name: person.client.get(
            f"{person.path}/{name}",
            params={**asked.get(name, {}), **({"site_id": person.site} if name in placed else {})},
        ).status_code
        for name in ANSWERS
    }


def test_a_newest_session_of_failed_sets_alone(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    # Known from long ago, and not done since: the plan asks what it would be now.
    person.logs("overhead-press", 300, 40, 8, reps_in_reserve=2)
    for days in (20, 13, 6):
        person.logs("bench-press", days, 80, 8, reps_in_reserve=2)
    person.logs("bench-press", 1, 120, 0)
    assert answers(person) == dict.fromkeys(ANSWERS, 200)


def test_a_newest_session_of_an_unknown_weight_alone(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("back-squat", 4, 100, 5, reps_in_reserve=2)
    person.logs("back-squat", 1, 0.1, 300)
    assert {status for name, status in answers(person).items() if name != "next-set"} == {200}


def test_a_body_that_is_told_to_weigh_next_to_nothing(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    told = {"kind": "body_mass", "at": "2026-11-20T08:00:00Z", "mass": {"value": 1, "unit": "kg"}}
    assert person.client.put(f"{person.path}/measurements/{uuid4()}", json=told).status_code in {201, 422}
    person.logs("bench-press", 3, 60, 8, reps_in_reserve=2)
    assert {answers(person)[name] for name in ("capability", "load-progression", "next-session")} == {200}
