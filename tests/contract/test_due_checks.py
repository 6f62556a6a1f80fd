"""What is due between sessions, over HTTP: mornings, sides, test sets, tests again and girths."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.contract.lifting import LEG_PRESS as SLED
from tests.contract.trend_cases import asked
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def kinds(answer: Json) -> list[str]:
    return [one["kind"] for one in answer["due_checks"]]


def test_pain_asks_for_the_next_morning_until_it_is_told(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    hurt = [{"region": "shoulder", "side": "right", "during": 4}]
    person.logs("bench-press", 1.2, 60, 8, reps_in_reserve=3, pain=hurt)
    for answer in ("trends", "next-session"):
        (check,) = person.asks(answer)["due_checks"]
        assert (check["kind"], check["due_on"], check["region"], check["exercise_id"]) == (
            "next_morning_pain", "2026-11-27", "shoulder", "bench-press",
        )  # fmt: skip
    body = {
        "at": (NOW - timedelta(hours=1)).isoformat(),
        "pain": [{"region": "shoulder", "side": "right", "next_morning": 1}],
    }
    put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
    assert put.status_code == 201, put.text
    assert kinds(person.asks("trends")) == []


def test_the_morning_after_is_the_athletes_own(lifter: Callable[..., Lifter]) -> None:
    """A set at 09:30 of 27 November in Auckland, entered in UTC, asks on the 28th and is answered on it."""
    person = lifter(BAR_AND_PLATES, time_zone="Pacific/Auckland")
    hurt = [{"region": "shoulder", "during": 4}]
    said = person.did("bench-press", 0.9, 60, 8, reps_in_reserve=3, pain=hurt)
    person.sends({**said, "performed_at": "2026-11-26T20:30:00Z"})
    (check,) = person.asks("trends")["due_checks"]
    assert check["due_on"] == "2026-11-28"
    body = {"at": "2026-11-27T17:30:00Z", "pain": [{"region": "shoulder", "next_morning": 1}]}
    put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
    assert put.status_code == 201, put.text
    assert kinds(person.asks("trends")) == []


def test_sides_that_copy_each_other_are_asked_for_their_effort(lifter: Callable[..., Lifter]) -> None:
    """Situation 16."""
    person = lifter(BAR_AND_PLATES)
    for day in range(28, 0, -4):
        person.logs("one-arm-dumbbell-curl", day, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
        person.logs("one-arm-dumbbell-curl", day, 20, 10, side="left", ordinal=1)
    assert "effort_of_sides" in kinds(person.asks("trends"))
    assert kinds(person.asks("imbalance-indices")) == ["effort_of_sides"]
    person.logs("one-arm-dumbbell-curl", 0.5, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
    person.logs("one-arm-dumbbell-curl", 0.5, 20, 11, side="left", reps_in_reserve=1, ordinal=1)
    assert "effort_of_sides" not in kinds(person.asks("trends"))


def test_a_silent_log_is_asked_for_one_test_set_on_a_machine(lifter: Callable[..., Lifter]) -> None:
    """Situation 6: after eight sessions."""
    person = lifter(SLED)
    for day in range(25, 2, -3):
        person.logs("leg-press", day, 150, 10)
    (check,) = person.asks("trends")["due_checks"]
    assert (check["kind"], check["exercise_id"]) == ("test_set", "leg-press")
    person.logs("leg-press", 1, 150, 12, reps_in_reserve=2)
    assert kinds(person.asks("trends")) == []


def holds(person: Lifter, exercise_id: str, day: float, seconds: float, **said: Any) -> None:
    body = person.did(exercise_id, day, 0, 0, hold_s=seconds, **said)
    del body["load"], body["reps"]
    person.sends(body)


def test_a_hold_is_told_and_tested_in_seconds(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in range(25, 2, -3):
        holds(person, "plank", day, 30)
    answer = person.asks("trends")
    (check,) = answer["due_checks"]
    assert (check["kind"], check["exercise_id"]) == ("test_set", "plank")
    assert check["reason"]["code"] == "due_test_set_timed"
    assert check["reason"]["params"] | {"more": 8.0, "unit": "s", "left": 2.0} == check["reason"]["params"]
    (item,) = asked(person, "plank")["items"]
    assert "repetitions" not in item
    assert f"trend_length_{item['state']}" in codes(item["reasons"])


def test_a_test_set_leaves_what_the_screening_asks_for(lifter: Callable[..., Lifter]) -> None:
    """A clinician's reserve is kept; no hold to near failure is asked of people who had better breathe freely."""
    person = lifter(SLED)
    word = {
        "by": "Invented Clinic", "role": "physician", "given_on": "2026-11-20", "min_reps_in_reserve": 3,
    }  # fmt: skip
    person.is_screened("cleared", clearance=word)
    for day in range(25, 2, -3):
        person.logs("leg-press", day, 150, 10)
        holds(person, "plank", day, 30)
        holds(person, "plank", day, 30)
    (check,) = person.asks("trends")["due_checks"]
    assert check["exercise_id"] == "leg-press"
    assert check["reason"]["params"]["left"] == 3.0
    holder = lifter(BAR_AND_PLATES)
    holder.is_screened(conditions=["hypertension"])
    for day in range(25, 2, -3):
        holds(holder, "plank", day, 30)
    assert kinds(holder.asks("trends")) == []


def test_a_limit_to_improve_is_tested_again_and_a_girth_read_again(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    limit = {
        "kind": "range_of_motion", "mode": "improve", "region": "ankle", "side": "left",
        "joint_limit": {"motion": "ankle_dorsiflexion", "from_deg": 0, "to_deg": 15, "side": "left"},
        "starts_on": "2026-10-30",
    }  # fmt: skip
    put = person.client.put(f"{person.path}/limits/{person.new_id()}", json=limit)
    assert put.status_code == 201, put.text
    aim = {"kind": "grow_muscle", "muscle_id": "biceps-brachii"}
    put = person.client.put(f"{person.path}/aims/{person.new_id()}", json=aim)
    assert put.status_code == 201, put.text
    girth = {
        "kind": "girth", "at": (NOW - timedelta(weeks=6)).isoformat(), "site": "upper-arm", "side": "left",
        "readings": [36.1, 36.2, 36.0], "unit": "cm",
    }  # fmt: skip
    put = person.client.put(f"{person.path}/measurements/{person.new_id()}", json=girth)
    assert put.status_code == 201, put.text
    found = {one["kind"]: one["due_on"] for one in person.asks("trends")["due_checks"]}
    assert found == {"retest": "2026-11-27", "girth": "2026-11-27"}
