"""No set whose effort is told is asked for, over HTTP, where something stops or holds the lift, nor below what must be left."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, LEG_PRESS, NOW, Json, Lifter, lifters
from tests.world import World

CURL = "one-arm-dumbbell-curl"
CLOSED = {"kind": "clinician", "mode": "replace"}
AT_LEAST_FIVE = {"kind": "clinician", "mode": "improve", "min_reps_in_reserve": 4.5}


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def due(person: Lifter, answer: str, kind: str) -> list[Json]:
    return [one for one in person.asks(answer)["due_checks"] if one["kind"] == kind]


def is_limited(person: Lifter, **limit: Any) -> None:
    put = person.client.put(f"{person.path}/limits/{person.new_id()}", json=limit)
    assert put.status_code == 201, put.text


def tells(person: Lifter, days_ago: float, **told: Any) -> None:
    body = {"at": (NOW - timedelta(days=days_ago)).isoformat(), **told}
    put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
    assert put.status_code == 201, put.text


def is_silent(person: Lifter, since: float = 2.0) -> Lifter:
    """Eight sessions on the leg press of which nobody told the effort, the newest so many days ago."""
    for session in range(8):
        person.logs("leg-press", since + 3 * session, 150, 10)
    return person


def copies(person: Lifter) -> Lifter:
    """Seven sessions of curls of which the left side copies the right one's repetitions."""
    for day in range(28, 0, -4):
        person.logs(CURL, day, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
        person.logs(CURL, day, 20, 10, side="left", ordinal=1)
    return person


def unscreened(person: Lifter) -> Lifter:
    """Another athlete of the same tenant, of whom no screening is known."""
    other = replace(person, path=f"/v1/athletes/{person.new_id()}")
    said = {"time_zone": "Europe/Riga", "training_years": 4, "home_site_id": person.site}
    assert other.client.put(other.path, json=said).status_code == 201
    other.consents()
    return other


def test_a_lift_that_nothing_holds_is_asked_for_a_test_set(lifter: Callable[..., Lifter]) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    for answer in ("trends", "next-session"):
        (check,) = due(person, answer, "test_set")
        assert check["exercise_id"] == "leg-press"
        assert check["reason"]["params"]["left"] == 2.0
    assert person.next(exercise_id="leg-press")["decision"] == "do"


HELD: dict[str, Callable[[Lifter], None]] = {
    "pain that stops it": lambda one: one.logs(
        "leg-press", 1, 150, 10, pain=[{"region": "knee", "during": 8}]
    ),
    "pain that holds it": lambda one: one.logs(
        "leg-press", 1, 150, 10, pain=[{"region": "knee", "during": 3}]
    ),
    "a sign of its region": lambda one: tells(
        one, 0.1, flags=["locking"], pain=[{"region": "knee", "side": "right", "during": 3}]
    ),
    "a sign of another region": lambda one: tells(
        one, 0.1, flags=["locking"], pain=[{"region": "wrist", "side": "right", "during": 3}]
    ),
    "a clinician who closes it": lambda one: is_limited(one, **CLOSED, exercise_ids=["leg-press"]),
    "a clinician who rests the knee": lambda one: is_limited(one, **CLOSED, region="knee"),
    "a cap of its load": lambda one: is_limited(
        one,
        kind="clinician", mode="improve", exercise_ids=["leg-press"], load_cap={"value": 90, "unit": "kg"},
    ),
    "cardiac history": lambda one: one.is_screened(conditions=["cardiac_history", "hypertension"]),
    "later pregnancy": lambda one: one.is_screened(conditions=["later_pregnancy"]),
    "an illness since": lambda one: one.is_screened(conditions=["illness"], performed_on="2026-11-26"),
}  # fmt: skip


@pytest.mark.parametrize("held", HELD)
def test_a_lift_that_is_held_is_not_asked_for_a_test_set(lifter: Callable[..., Lifter], held: str) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    HELD[held](person)
    for answer in ("trends", "next-session"):
        assert due(person, answer, "test_set") == []


def test_a_clinicians_clearance_allows_no_test_set(lifter: Callable[..., Lifter]) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    word = {
        "by": "Invented Clinic", "role": "physician", "given_on": "2026-11-20", "min_reps_in_reserve": 3,
    }  # fmt: skip
    person.is_screened("cleared", clearance=word)
    assert due(person, "trends", "test_set") == []


def test_nobody_who_is_not_grown_up_or_was_not_asked_is_asked_for_a_test_set(
    lifter: Callable[..., Lifter],
) -> None:
    assert due(is_silent(lifter(LEG_PRESS, birth_year=2012)), "trends", "test_set") == []
    assert due(is_silent(unscreened(lifter(LEG_PRESS))), "trends", "test_set") == []


def test_nobody_who_comes_back_from_a_break_is_asked_for_a_test_set(lifter: Callable[..., Lifter]) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990), since=56)
    assert due(person, "trends", "test_set") == []
    person.logs("leg-press", 1, 110, 10)
    assert due(person, "trends", "test_set") == []


def test_a_test_set_leaves_what_a_limit_asks_for(lifter: Callable[..., Lifter]) -> None:
    """Four and a half are five."""
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    is_limited(person, **AT_LEAST_FIVE, exercise_ids=["leg-press"])
    (check,) = due(person, "trends", "test_set")
    assert check["reason"]["params"]["left"] == 5.0
    assert "about 5 are left" in check["reason"]["text"]


def test_another_lift_is_tested_where_the_one_done_most_is_held(lifter: Callable[..., Lifter]) -> None:
    person = is_silent(lifter([*LEG_PRESS, *BAR_AND_PLATES], birth_year=1990))
    for session in range(8):
        body = person.did("plank", 2 + 3 * session, 0, 0, hold_s=30)
        del body["load"], body["reps"]
        person.sends(body)
    is_limited(person, **CLOSED, exercise_ids=["leg-press"])
    (check,) = due(person, "trends", "test_set")
    assert check["exercise_id"] == "plank"


def test_no_test_set_is_asked_for_where_the_lift_cannot_be_done(lifter: Callable[..., Lifter]) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    elsewhere = person.site_with(BAR_AND_PLATES)
    told = person.asks("next-session", site_id=elsewhere)["due_checks"]
    assert [one for one in told if one["kind"] == "test_set"] == []
    assert len(due(person, "next-session", "test_set")) == 1


SIDES_HELD: dict[str, Callable[[Lifter], None]] = {
    "pain that stops one side": lambda one: one.logs(
        CURL, 1, 20, 10, side="right", pain=[{"region": "elbow", "side": "right", "during": 8}]
    ),
    "a clinician who closes it": lambda one: is_limited(one, **CLOSED, exercise_ids=[CURL]),
    "a clinician who rests one side": lambda one: is_limited(one, **CLOSED, region="elbow", side="left"),
    "a sign of its region": lambda one: tells(
        one, 0.1, flags=["locking"], pain=[{"region": "elbow", "side": "right", "during": 3}]
    ),
    "cardiac history": lambda one: one.is_screened(conditions=["cardiac_history"]),
}


@pytest.mark.parametrize("held", SIDES_HELD)
def test_sides_are_not_compared_where_one_is_held(lifter: Callable[..., Lifter], held: str) -> None:
    person = copies(lifter(BAR_AND_PLATES, birth_year=1990))
    for answer in ("trends", "imbalance-indices"):
        assert len(due(person, answer, "effort_of_sides")) == 1
    assert person.asks("imbalance-indices")["ask"]["code"] == "sides_ask_effort_check"
    SIDES_HELD[held](person)
    for answer in ("trends", "imbalance-indices"):
        assert due(person, answer, "effort_of_sides") == []
    assert person.asks("imbalance-indices")["ask"]["code"] == "sides_ask_told_reserve"


def test_an_effort_check_is_not_called_due_where_it_may_not_be_done(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES, birth_year=1990)
    for day in (24, 20, 16, 12, 8, 4):
        person.logs(CURL, day, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
        told = {"reps_in_reserve": 1} if day > 16 else {}
        person.logs(CURL, day, 20, 10, side="left", ordinal=1, **told)

    def reasons() -> set[str]:
        items = person.asks("imbalance-indices")["items"]
        return {reason["code"] for item in items for reason in item["reasons"]}

    assert "sides_effort_check_due" in reasons()
    is_limited(person, **CLOSED, exercise_ids=[CURL])
    assert "sides_effort_check_due" not in reasons()


def test_sides_are_compared_no_nearer_failure_than_a_limit_allows(lifter: Callable[..., Lifter]) -> None:
    person = copies(lifter(BAR_AND_PLATES, birth_year=1990))
    is_limited(person, **AT_LEAST_FIVE, side="left", exercise_ids=[CURL])
    for answer in ("trends", "imbalance-indices"):
        (check,) = due(person, answer, "effort_of_sides")
        assert check["reason"]["code"] == "due_effort_of_sides_leaving"
        assert "leaving at least 5 on both" in check["reason"]["text"]
    ask = person.asks("imbalance-indices")["ask"]
    assert (ask["code"], ask["params"]["left"]) == ("sides_ask_effort_check_leaving", 5.0)


@pytest.mark.parametrize(("lift", "load"), [("leg-press", 150), ("bench-press", 60), ("push-up", 0)])
def test_a_set_to_the_last_repetition_is_asked_for_in_words_that_fit_the_lift(
    lifter: Callable[..., Lifter], lift: str, load: float
) -> None:
    person = lifter([*BAR_AND_PLATES, LEG_PRESS[0]], birth_year=1990)
    person.weighs(40, 80)
    for session in range(8):
        person.logs(lift, 2 + 3 * session, load, 10)
    asked = person.asks(exercise_id=lift)["ask"]
    assert asked["code"] == "load_progression_ask_test_set"
    assert "machine" not in asked["text"]
    assert "when you are rested and could safely fail" in asked["text"]


@pytest.mark.parametrize(
    "limit", [CLOSED, AT_LEAST_FIVE], ids=["a clinician who closes it", "at least five are left"]
)
def test_the_load_answer_asks_for_no_set_to_the_last_repetition_of_a_held_lift(
    lifter: Callable[..., Lifter], limit: Json
) -> None:
    person = is_silent(lifter(LEG_PRESS, birth_year=1990))
    asked = person.asks(exercise_id="leg-press")["ask"]
    assert asked["code"] == "load_progression_ask_test_set"
    is_limited(person, **limit, exercise_ids=["leg-press"])
    asked = person.asks(exercise_id="leg-press")["ask"]
    assert asked["code"] == "load_progression_ask_reserve"
