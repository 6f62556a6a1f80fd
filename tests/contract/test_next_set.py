"""The next set in a session that is on, asked for over HTTP by invented athletes."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, FIVE_POUND_STEPS, Json, Lifter, codes, lifters
from tests.world import World

PRESS = "one-arm-overhead-press"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def trained(person: Lifter, weeks: int = 4, load: float = 80) -> None:
    """Three sets of eight a week, with two in reserve."""
    for week in range(weeks):
        for ordinal in range(3):
            person.logs("bench-press", 4 + 7 * week, load, 8, reps_in_reserve=2, ordinal=ordinal)


def next_set(person: Lifter, session: str, exercise_id: str = "bench-press", **asked: Any) -> list[Json]:
    items: list[Json] = person.asks("next-set", exercise_id=exercise_id, session_id=session, **asked)["items"]
    return items


def test_the_first_set_is_what_the_next_load_would_be(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    (item,) = next_set(person, session)
    usual = person.next(exercise_id="bench-press")
    assert (item["load"], item["reps"], item["sets"]) == (usual["load"], usual["reps"], 3)
    assert item["sets_done"] == 0


def test_sets_that_are_done_leave_fewer_and_then_it_is_enough(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    left = []
    for ordinal in range(3):
        person.logs("bench-press", 0.04, 80, 8, reps_in_reserve=2, ordinal=ordinal, session_id=session)
        (item,) = next_set(person, session)
        left.append((item["sets_done"], item.get("sets")))
    assert left == [(1, 2), (2, 1), (3, None)]
    assert (item["decision"], item["action"]["code"]) == ("enough", "enough")
    assert "load" not in item


def test_a_bad_day_is_seen_in_the_first_set_and_lowers_what_comes_next(lifter: Callable[..., Lifter]) -> None:
    expected = {}
    for reps in (4, 8):
        person = lifter(BAR_AND_PLATES)
        trained(person)
        session = person.visits(0.05)
        person.logs("bench-press", 0.04, 80, reps, reps_in_reserve=1, session_id=session)
        (item,) = next_set(person, session)
        expected[reps] = item
    bad, good = expected[4], expected[8]
    assert (bad["load"]["value"], bad["reps"]) < (good["load"]["value"], good["reps"])
    assert bad["action"]["code"] in {"reduce_load", "fewer_repetitions"}
    assert "load_progression_weaker_today" in codes(bad["reasons"])


def test_a_set_far_too_light_raises_the_next_one_by_a_step(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    person.logs("bench-press", 0.04, 60, 8, reps_in_reserve=9, session_id=session)
    (item,) = next_set(person, session)
    assert 60 < item["load"]["value"] <= 63
    assert item["action"]["code"] == "raise_load"


def test_pain_in_the_session_ends_the_movement_at_once(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    pain = [{"region": "shoulder", "during": 7}]
    person.logs("bench-press", 0.04, 80, 5, session_id=session, pain=pain)
    (item,) = next_set(person, session)
    assert item["decision"] == "stop"
    assert "load" not in item


def test_the_other_side_does_what_the_first_one_did(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS, unit="lb")
    for days_ago in (12, 9, 6, 3):
        for ordinal, (side, reps) in enumerate((("right", 8), ("left", 12))):
            person.logs(PRESS, days_ago, 25, reps, side=side, reps_in_reserve=1, unit="lb", ordinal=ordinal)
    session = person.visits(0.05)
    before = next_set(person, session, PRESS)
    assert [item["side"] for item in before] == ["right", "left"]
    person.logs(PRESS, 0.04, 25, 7, side="right", reps_in_reserve=1, unit="lb", session_id=session)
    turn, _ = next_set(person, session, PRESS)
    assert (turn["side"], turn["reps"], turn["load"]["value"]) == ("left", 7, 25)
    assert "load_progression_matches_other_side" in codes(turn["reasons"])
    (only,) = next_set(person, session, PRESS, side="right")
    assert only["side"] == "right"


def test_a_return_stays_light_through_its_whole_session(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for week in range(6):
        for ordinal in range(3):
            person.logs("bench-press", 16 + 7 * week, 100, 8, reps_in_reserve=2, ordinal=ordinal)
    session = person.visits(0.05)
    person.logs("bench-press", 0.04, 92.5, 8, reps_in_reserve=5, session_id=session)
    (item,) = next_set(person, session)
    assert item["load"]["value"] <= 95
    assert item["reserve_low"] >= 3
    assert (item["sets_done"], item["sets"]) == (1, 1)


def test_a_session_that_never_arrived_is_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    unknown = person.asks("next-set", status=409, exercise_id="bench-press", session_id=person.new_id())
    assert unknown["code"] == "unknown_reference"
    session = person.visits(0.05)
    nothing = person.asks("next-set", status=409, exercise_id="leg-press", session_id=session)
    assert nothing["code"] == "nothing_to_compute_on"


def test_without_a_named_session_the_one_that_is_on_is_meant(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    assert "session_id" not in person.asks("next-set", exercise_id="bench-press")
    person.logs("bench-press", 0.04, 80, 8, reps_in_reserve=2)
    (item,) = person.asks("next-set", exercise_id="bench-press")["items"]
    assert item["sets_done"] == 1
    session = person.visits(0.05)
    answer = person.asks("next-set", exercise_id="bench-press")
    assert answer["session_id"] == session
    assert answer["items"][0]["sets_done"] == 0


def test_asking_stores_nothing_and_can_be_revalidated(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    parameters = {"exercise_id": "bench-press", "session_id": session}
    first = person.client.get(f"{person.path}/next-set", params=parameters)
    tag = first.headers["ETag"]
    again = person.client.get(f"{person.path}/next-set", params=parameters, headers={"If-None-Match": tag})
    assert again.status_code == 304
    person.logs("bench-press", 0.04, 80, 8, session_id=session)
    changed = person.client.get(f"{person.path}/next-set", params=parameters, headers={"If-None-Match": tag})
    assert changed.status_code == 200


def test_the_minutes_that_are_left_bound_the_sets(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    (usual,) = next_set(person, session)
    (short,) = next_set(person, session, minutes_left=4)
    (hurried,) = next_set(person, session, minutes_left=0.3)
    (ample,) = next_set(person, session, minutes_left=60)
    assert 1 <= short["sets"] < usual["sets"] == ample["sets"]
    assert "load_progression_time_for_sets" in codes(short["reasons"])
    assert short["load"] == usual["load"]
    assert (hurried["decision"], hurried["action"]["code"]) == ("enough", "enough")
    assert "load_progression_no_time_left" in codes(hurried["reasons"])


def test_a_rest_already_taken_is_time_gained(lifter: Callable[..., Lifter]) -> None:
    left = {}
    for minutes_ago in (0.2, 4.0):
        person = lifter(BAR_AND_PLATES)
        trained(person)
        session = person.visits(0.05)
        person.logs("bench-press", minutes_ago / 1440, 80, 8, reps_in_reserve=2, session_id=session)
        (item,) = next_set(person, session, minutes_left=2)
        left[minutes_ago] = item.get("sets", 0)
    assert left[0.2] < left[4.0]


def test_what_is_taken_is_not_loaded(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    session = person.visits(0.05)
    (item,) = next_set(person, session, unavailable=["1.25 kg", "2.5 kg"])
    assert item["load"]["value"] in {60, 70, 80, 90}


def test_where_nothing_is_left_another_of_ones_own_lifts_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(
        [
            *BAR_AND_PLATES,
            {"kind": "dumbbells", "name": "Pairs", "unit": "kg", "first": 5, "last": 50, "step": 2.5},
        ]
    )
    trained(person)
    for week in range(3):
        person.logs("dumbbell-bench-press", 5 + 7 * week, 30, 10, reps_in_reserve=2)
        person.logs("barbell-curl", 5 + 7 * week, 35, 10, reps_in_reserve=2)
    session = person.visits(0.05)
    answer = person.asks("next-set", exercise_id="bench-press", session_id=session, unavailable=["Bar"])
    assert answer["items"][0]["decision"] == "not_here"
    assert [one["exercise_id"] for one in answer["instead"]] == ["dumbbell-bench-press"]
    nothing = person.asks(
        "next-set", exercise_id="bench-press", session_id=session, unavailable=["Bar", "Pairs"]
    )
    assert nothing["instead"] == []


def test_an_implement_that_is_not_there_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person)
    problem = person.asks("next-set", status=409, exercise_id="bench-press", unavailable=["Golden bar"])
    assert problem["code"] == "unknown_reference"
    assert "Golden bar" in problem["errors"][0]["detail"]
