"""A lift of which nothing but misses is logged: a lift like it and the misses together tell a load, or there is none."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World

#: Told by the bench press; at about 93 kg here, and lower by what is missed.
CLOSE_GRIP = "close-grip-bench-press"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


@pytest.fixture
def benching(lifter: Callable[..., Lifter]) -> Lifter:
    person = lifter(BAR_AND_PLATES)
    for day in range(60, 9, -3):
        person.logs("bench-press", day, 80, 8, reps_in_reserve=2)
    return person


def misses(person: Lifter, *loads: float, days_ago: float = 8) -> None:
    for place, load in enumerate(loads):
        person.logs(CLOSE_GRIP, days_ago - 0.01 * place, load, 0, to_failure=True)


def one_rep_max(person: Lifter) -> tuple[Json, Json]:
    (item,) = person.asks("capability", exercise_id=CLOSE_GRIP, reps=1)["items"]
    return item, item["loads"][0]["load"]


@pytest.mark.parametrize("loads", [(90.0,), (70.0,), (100.0, 90.0), (60.0, 60.0, 60.0)])
def test_a_lift_like_it_and_the_misses_tell_a_low_start(benching: Lifter, loads: tuple[float, ...]) -> None:
    misses(benching, *loads)
    item = benching.next(exercise_id=CLOSE_GRIP)
    assert (item["decision"], item["action"]["code"]) == ("do", "start_low")
    assert item["load"]["value"] <= 0.9 * min(loads)
    assert item["reserve_low"] >= 4
    assert item["p_too_hard"] <= 0.05
    assert item["reasons"][0]["code"] == "progression_only_missed"
    assert "progression_first_time" in codes(item["cautions"])
    everything = benching.asks()["items"]
    assert [one for one in everything if one["exercise_id"] == CLOSE_GRIP] == [item]


def test_a_miss_lowers_what_the_other_lift_tells_and_leaves_the_interval_wide(benching: Lifter) -> None:
    unasked, from_elsewhere = one_rep_max(benching)
    misses(benching, 90)
    item, bounded = one_rep_max(benching)
    assert "capability_only_missed" not in codes(unasked["reasons"])
    assert item["reasons"][0]["code"] == "capability_only_missed"
    assert bounded["value"] < min(90, from_elsewhere["value"])
    ends = bounded["interval"]
    assert ends["upper"] / ends["lower"] > 1.2
    assert ends["upper"] < from_elsewhere["interval"]["upper"]


def test_the_misses_of_other_days_hold_too(benching: Lifter) -> None:
    misses(benching, 70)
    misses(benching, 90, days_ago=5)
    assert benching.next(exercise_id=CLOSE_GRIP)["load"]["value"] <= 0.9 * 70


def test_warm_ups_that_went_up_are_no_working_sets(benching: Lifter) -> None:
    benching.logs(CLOSE_GRIP, 8.1, 40, 8, purpose="warm_up")
    misses(benching, 90)
    assert benching.next(exercise_id=CLOSE_GRIP)["reasons"][0]["code"] == "progression_only_missed"


def test_a_miss_in_the_session_that_is_on_is_followed_by_less(benching: Lifter) -> None:
    session = benching.visits(0.05)
    misses(benching, 85, days_ago=5)
    benching.logs(CLOSE_GRIP, 0.04, 80, 0, to_failure=True, session_id=session)
    item = benching.asks("next-set", exercise_id=CLOSE_GRIP, session_id=session)["items"][0]
    # One set was tried the last time and one today: that is enough, and nothing heavier is named.
    assert item["decision"] == "enough"
    misses(benching, 85, 85, 85, days_ago=5.2)
    item = benching.asks("next-set", exercise_id=CLOSE_GRIP, session_id=session)["items"][0]
    assert (item["decision"], item["reasons"][0]["code"]) == ("do", "progression_only_missed")
    assert item["load"]["value"] <= 0.9 * 80


@pytest.mark.parametrize("load", [20.0, 40.0])
def test_where_the_miss_contradicts_the_other_lift_no_load_is_named(benching: Lifter, load: float) -> None:
    misses(benching, load)
    for answer in ("load-progression", "next-set"):
        refused = benching.asks(answer, exercise_id=CLOSE_GRIP, status=409)
        assert refused["code"] == "nothing_to_compute_on"
        assert "missed lift is logged" in refused["detail"]
    assert benching.asks("capability", exercise_id=CLOSE_GRIP, status=409)
    assert [one for one in benching.asks()["items"] if one["exercise_id"] == CLOSE_GRIP] == []


def test_the_plan_names_the_same_load(benching: Lifter) -> None:
    aim = {"kind": "raise_lift", "exercise_id": CLOSE_GRIP}
    assert benching.client.put(f"{benching.path}/aims/{benching.new_id()}", json=aim).status_code == 201
    misses(benching, 90)
    planned = benching.asks("next-session", minutes=90)["items"]
    (item,) = [one for one in planned if one["exercise_id"] == CLOSE_GRIP]
    loads = {one["load"]["value"] for one in item["sets"] if not one["ramp"]}
    assert loads == {benching.next(exercise_id=CLOSE_GRIP)["load"]["value"]}
    assert "progression_only_missed" in codes(item["reasons"])


def test_a_set_that_went_up_is_stronger_than_both(benching: Lifter) -> None:
    misses(benching, 90)
    benching.logs(CLOSE_GRIP, 5, 70, 6, reps_in_reserve=2)
    item = benching.next(exercise_id=CLOSE_GRIP)
    assert "progression_only_missed" not in codes(item["reasons"])
    assert "capability_only_missed" not in codes(one_rep_max(benching)[0]["reasons"])
