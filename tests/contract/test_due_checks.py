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


def test_no_hold_is_tested_of_people_who_had_better_breathe_freely(lifter: Callable[..., Lifter]) -> None:
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


def is_limited(person: Lifter, **limit: Any) -> None:
    put = person.client.put(f"{person.path}/limits/{person.new_id()}", json={"mode": "improve", **limit})
    assert put.status_code == 201, put.text


def measures(person: Lifter, days_ago: float, **read: Any) -> None:
    at = (NOW - timedelta(days=days_ago)).isoformat()
    put = person.client.put(f"{person.path}/measurements/{person.new_id()}", json={"at": at, **read})
    assert put.status_code == 201, put.text


def turns(person: Lifter, days_ago: float, test: str, side: str, degrees: float = 31) -> None:
    measures(person, days_ago, kind="joint_motion", test=test, side=side, readings_deg=[degrees])


def retests(person: Lifter) -> list[tuple[str, str | None]]:
    """The side and test of each that is due now, as `trends` and `tolerance` tell alike."""
    told = [one for one in person.asks("trends")["due_checks"] if one["kind"] == "retest"]
    now = [one for one in told if one["due_on"] <= f"{NOW:%Y-%m-%d}"]
    found = sorted((one["side"], one.get("test")) for one in now)
    again = [one for one in person.asks("tolerance")["due_checks"] if "retest" in one["kind"]]
    assert sorted((one["side"], one.get("test")) for one in again) == found
    assert sorted(one["due_from"][:10] for one in again) == sorted(one["due_on"] for one in now)
    return found


def ankle(side: str = "left") -> Json:
    joint = {"motion": "ankle_dorsiflexion", "from_deg": 0, "to_deg": 20, "side": side}
    return {
        "kind": "range_of_motion", "region": "ankle", "side": side, "joint_limit": joint,
        "starts_on": "2026-08-03",
    }  # fmt: skip


@pytest.mark.parametrize("test", ["ankle-dorsiflexion", "weight-bearing-lunge"])
def test_a_joint_that_was_measured_is_not_due_until_four_weeks_later(
    lifter: Callable[..., Lifter], test: str
) -> None:
    person = lifter(BAR_AND_PLATES)
    is_limited(person, **ankle())
    assert retests(person) == [("left", None)]
    turns(person, 31, test, "left")
    assert retests(person) == [("left", test)]
    turns(person, 2, "hip-extension", "left")
    turns(person, 2, test, "right")
    assert retests(person) == [("left", test)]
    turns(person, 2, test, "left")
    assert retests(person) == []


def test_a_limit_of_both_sides_is_due_until_both_were_measured(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    is_limited(person, **ankle("both"))
    turns(person, 2, "ankle-dorsiflexion", "left")
    assert retests(person) == [("both", None)]
    turns(person, 1, "ankle-dorsiflexion", "right")
    assert retests(person) == []


def test_a_pain_to_be_improved_is_tested_by_telling_it(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    is_limited(person, kind="pain", region="shoulder", side="right", score=3, starts_on="2026-10-01")
    for side, due in (("left", [("right", None)]), ("right", [])):
        body = {"at": NOW.isoformat(), "pain": [{"region": "shoulder", "side": side, "during": 0}]}
        put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
        assert put.status_code == 201, put.text
        assert retests(person) == due


def test_a_technique_is_asked_for_until_it_was_looked_at_or_its_limit_ends(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    where, version = f"{person.path}/limits/{person.new_id()}", 0

    def changed(**told: Any) -> list[Json]:
        nonlocal version
        limit = {
            "kind": "technique",
            "mode": "improve",
            "exercise_ids": ["back-squat"],
            "starts_on": "2026-09-01",
        }
        headers = {"If-Match": f'"{version}"'} if version else {}
        put = person.client.put(where, json={**limit, **told}, headers=headers)
        assert put.status_code in {200, 201}, put.text
        version += 1
        again = person.asks("tolerance")["due_checks"]
        checks: list[Json] = person.asks("trends")["due_checks"]
        assert [one["reason"] for one in again] == [
            one["reason"] for one in checks if one["due_on"] <= "2026-11-27"
        ]
        return checks

    (due,) = changed()
    assert (due["kind"], due["due_on"]) == ("retest", "2026-09-29")
    assert "back squat" in due["reason"]["text"]
    assert "end the limit; if not, tell it the day on which you looked" in due["reason"]["text"]
    assert changed(reviewed_on="2026-11-20") == []
    (due,) = changed(reviewed_on="2026-10-30")
    assert due["due_on"] == "2026-11-27"
    assert changed(ends_on="2026-11-26") == []
    (due,) = changed(exercise_ids=[])
    assert "(" not in due["reason"]["text"]


def test_a_limit_was_looked_at_on_no_day_to_come(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    limit = {"kind": "technique", "mode": "improve", "reviewed_on": "2026-12-05"}
    put = person.client.put(f"{person.path}/limits/{person.new_id()}", json=limit)
    assert put.status_code == 409, put.text
    (fault,) = put.json()["errors"]
    assert (fault["pointer"], fault["code"]) == ("#/reviewed_on", "in_the_future")


def test_a_joint_test_of_no_limit_is_due_again_in_every_answer(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    turns(person, 31, "wall-slide-invented", "right")
    assert retests(person) == []
    is_limited(person, **ankle())
    turns(person, 2, "ankle-dorsiflexion", "left")
    assert retests(person) == [("right", "wall-slide-invented")]


def test_a_girth_is_due_by_the_side_that_was_read_longer_ago(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    aim = {"kind": "grow_muscle", "muscle_id": "biceps-brachii"}
    put = person.client.put(f"{person.path}/aims/{person.new_id()}", json=aim)
    assert put.status_code == 201, put.text

    def reads(days_ago: float, side: str) -> None:
        measures(
            person, days_ago, kind="girth", site="upper-arm-relaxed", side=side, readings=[36, 36, 36], unit="cm"
        )  # fmt: skip

    reads(70, "left")
    reads(70, "right")
    reads(2, "left")
    (check,) = person.asks("trends")["due_checks"]
    assert (check["kind"], check["due_on"]) == ("girth", "2026-10-30")
    reads(1, "right")
    assert kinds(person.asks("trends")) == []
