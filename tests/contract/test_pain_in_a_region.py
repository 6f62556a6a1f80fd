"""What a check-in or a limit says of a region holds for every lift under which it cannot rest. All people here are invented."""

from datetime import timedelta
from typing import Any

import pytest

from service.catalogue.loading import load_catalogue
from service.usecases.answers.regions import burdened_joints
from tests.contract.test_next_session import LIFTS, NOW, Case, make_case, world_now
from tests.world import World

__all__ = ["world_now"]

Json = dict[str, Any]


def _lifter(world: World) -> Case:
    case = make_case(world, training_years=4)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=3)
    return case


def _checked_in(case: Case, hours_ago: float, **pain: Any) -> None:
    case.put("checkins", {"at": (NOW - timedelta(hours=hours_ago)).isoformat(), "pain": [pain]})


def _next_load(case: Case, exercise_id: str) -> Json:
    answer = case.client.get(
        f"{case.athlete}/load-progression", params={"exercise_id": exercise_id, "site_id": case.site}
    )
    assert answer.status_code == 200, answer.text
    (item,) = answer.json()["items"]
    return item


def _stressing_the_shoulder(case: Case) -> set[str]:
    return {"bench-press", "seated-dumbbell-overhead-press"} & {
        one["exercise_id"] for one in case.plan()["items"]
    }


def test_pain_of_seven_in_a_shoulder_leaves_out_what_stresses_it(world_now: World) -> None:
    case = _lifter(world_now)
    assert "load" in _next_load(case, "bench-press")
    assert _stressing_the_shoulder(case)
    _checked_in(case, 2, region="Shoulder", side="right", during=7)
    item = _next_load(case, "bench-press")
    assert (item["decision"], item.get("load")) == ("leave_out", None)
    assert [reason["code"] for reason in item["reasons"]] == [
        "planning_veto_pain", "tolerance_pain_of_region", "tolerance_pain_above_five_on",
    ]  # fmt: skip
    assert "pain_stop" in {caution["code"] for caution in item["cautions"]}
    assert not _stressing_the_shoulder(case)
    # A bar that hangs from the shoulder or lies on it gives it no rest.
    for exercise_id in ("romanian-deadlift", "back-squat"):
        assert _next_load(case, exercise_id)["decision"] == "leave_out"
    assert case.plan()["items"]


def test_a_region_trains_again_when_a_later_check_in_tells_less_and_not_when_it_is_silent(
    world_now: World,
) -> None:
    case = _lifter(world_now)
    _checked_in(case, 60, region="lower back", during=6)
    _checked_in(case, 50, region="wrist", during=1)
    assert _next_load(case, "romanian-deadlift")["decision"] == "leave_out"
    # Neither too soon, nor by a pain of the middle zone, nor by one that has no number: as tolerance says.
    for hours_ago, pain in ((40, 2), (6, 4), (4, None)):
        _checked_in(case, hours_ago, region="lower back", **({} if pain is None else {"during": pain}))
        assert _next_load(case, "romanian-deadlift")["decision"] == "leave_out"
        asked = case.client.get(f"{case.athlete}/tolerance").json()
        back = next(one for one in asked["items"] if one["region"] == "lower_back")
        assert back["action"] == "stop_movement"
    _checked_in(case, 1, region="lower back", during=2)
    item = _next_load(case, "romanian-deadlift")
    assert "tolerance_pain_restart" in {reason["code"] for reason in item["reasons"]}
    assert "load" in item


@pytest.mark.parametrize("limit", [{"kind": "pain", "score": 8}, {"kind": "clinician"}])
def test_a_limit_on_a_region_closes_the_next_load_as_it_closes_the_session(
    world_now: World, limit: Json
) -> None:
    case = _lifter(world_now)
    case.put("limits", {"mode": "improve", "region": "knee", **limit})
    assert _next_load(case, "back-squat")["decision"] == "leave_out"
    assert "load" in _next_load(case, "bench-press")


def test_a_clinicians_word_on_one_lift_closes_it_even_to_improve(world_now: World) -> None:
    case = _lifter(world_now)
    case.put("limits", {"kind": "clinician", "mode": "improve", "exercise_ids": ["bench-press"]})
    assert _next_load(case, "bench-press")["decision"] == "leave_out"


@pytest.mark.parametrize(
    "limit",
    [
        {"kind": "clinician", "min_reps_in_reserve": 5},
        {"kind": "clinician", "load_cap": {"value": 40, "unit": "kg"}},
        {"kind": "clinician", "region": "knee", "side": "both", "min_reps_in_reserve": 5},
        {"kind": "pain", "region": "shoulder", "score": 3},
        {"kind": "preference"},
    ],
)
def test_a_lift_that_is_to_be_replaced_is_left_out_of_the_session_as_of_the_next_load(
    world_now: World, limit: Json
) -> None:
    case = _lifter(world_now)
    trained = [one["exercise_id"] for one in case.plan()["items"]]
    assert {"back-squat", "bench-press"} <= set(trained)
    case.put("limits", {"mode": "replace", "exercise_ids": trained, **limit})
    left = {one["exercise_id"] for one in case.plan()["items"]}
    assert left
    assert not left & set(trained)
    for exercise_id in ("back-squat", "bench-press"):
        item = _next_load(case, exercise_id)
        assert (item["decision"], item.get("load")) == ("leave_out", None)


def test_a_region_that_a_clinician_has_replaced_rests_whatever_reserve_is_allowed(world_now: World) -> None:
    case = _lifter(world_now)
    case.put(
        "limits", {"kind": "clinician", "mode": "replace", "region": "shoulder", "min_reps_in_reserve": 4}
    )
    assert not _stressing_the_shoulder(case)
    assert _next_load(case, "bench-press")["decision"] == "leave_out"


def test_the_reserve_of_a_region_that_rests_binds_what_loads_it_a_little(world_now: World) -> None:
    case = _lifter(world_now)
    case.put("limits", {"kind": "clinician", "mode": "replace", "region": "knee", "min_reps_in_reserve": 4})
    assert _next_load(case, "romanian-deadlift")["decision"] == "leave_out"
    assert _next_load(case, "barbell-row")["reserve_low"] >= 4


RESTS: list[tuple[str, Json]] = [
    ("limits", {"kind": "clinician", "mode": "improve", "region": "hip"}),
    ("limits", {"kind": "pain", "mode": "improve", "score": 8, "region": "hip"}),
    ("checkins", {"at": (NOW - timedelta(hours=2)).isoformat(), "pain": [{"region": "hip", "during": 7}]}),
    (
        "checkins",
        {
            "at": (NOW - timedelta(hours=2)).isoformat(),
            "pain": [{"region": "hip", "during": 1}],
            "flags": ["locking"],
        },
    ),
]


@pytest.mark.parametrize(("of", "told"), RESTS)
def test_a_hip_that_rests_does_so_under_what_moves_it_too_in_every_answer(
    world_now: World, of: str, told: Json
) -> None:
    """A good-morning and a goblet squat are rated to stress the hip with 0; they move it under the load."""
    moving = {"good-morning": (50, 10), "goblet-squat": (30, 10)}
    case = make_case(world_now, training_years=4)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=3, lifts={**LIFTS, **moving})
    asked = {"exercise_id": "back-squat", "site_id": case.site, "unavailable": ["Bar"]}
    instead = case.client.get(f"{case.athlete}/next-set", params=asked).json()["instead"]
    assert "goblet-squat" in {one["exercise_id"] for one in instead}
    plan = case.plan()
    case.put(of, told)
    for answer in ("load-progression", "next-set"):
        for exercise_id in moving:
            params = {"exercise_id": exercise_id, "site_id": case.site}
            (item,) = case.client.get(f"{case.athlete}/{answer}", params=params).json()["items"]
            assert (item["decision"], item.get("load")) == ("leave_out", None)
    instead = case.client.get(f"{case.athlete}/next-set", params=asked).json().get("instead", [])
    assert not {one["exercise_id"] for one in instead} & set(moving)
    catalogue = load_catalogue().exercises
    planned = {one["exercise_id"] for one in case.plan()["items"]}
    assert planned
    assert [lift for lift in planned if "hip" in burdened_joints(catalogue[lift])] == []
    places = {int(one["pointer"].split("/")[2]) for one in case.issue(plan).json()["errors"]}
    refused = {plan["items"][place]["exercise_id"] for place in places}
    assert refused == {
        one["exercise_id"] for one in plan["items"] if "hip" in burdened_joints(catalogue[one["exercise_id"]])
    }


def test_pain_of_four_in_a_hip_eases_what_stresses_it_alone(world_now: World) -> None:
    case = make_case(world_now, training_years=4)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=3, lifts={**LIFTS, "good-morning": (50, 10)})
    before = _next_load(case, "good-morning")
    _checked_in(case, 2, region="hip", during=4)
    after = _next_load(case, "good-morning")
    assert after["load"] == before["load"]
    assert "tolerance_pain_of_region" not in {one["code"] for one in after["reasons"]}
    eased = {one["code"] for one in _next_load(case, "back-squat")["reasons"]}
    assert "tolerance_pain_of_region" in eased


def _loads(case: Case, exercise_id: str) -> set[float]:
    """Return the working loads that the next load, the next set and the plan name. [kg]"""
    params = {"exercise_id": exercise_id, "site_id": case.site}
    (item,) = case.client.get(f"{case.athlete}/next-set", params=params).json()["items"]
    planned = {
        one["load"]["value"]
        for item in case.plan()["items"]
        if item["exercise_id"] == exercise_id
        for one in item["sets"]
        if not one["ramp"]
    }
    return {_next_load(case, exercise_id)["load"]["value"], item["load"]["value"], *planned}


@pytest.mark.parametrize(
    ("region", "moved", "load"),
    [("hip", "good-morning", 50), ("wrist", "romanian-deadlift", 80), ("shoulder", "back-squat", 100)],
)
def test_what_a_rest_of_a_region_closed_comes_back_as_what_hurt_does(
    world_now: World, region: str, moved: str, load: int
) -> None:
    """Lifts that move the region, or grip or carry through it, return with the same 30 % off as lifts that stress it."""
    case = make_case(world_now, training_years=4)
    case.screened()
    lifts = {**LIFTS, "good-morning": (50, 10), moved: (load, 8)}
    case.weeks(NOW - timedelta(days=6), sessions=3, lifts=lifts)
    assert _next_load(case, moved)["load"]["value"] >= load
    _checked_in(case, 60, region=region, during=7)
    assert _next_load(case, moved)["decision"] == "leave_out"
    _checked_in(case, 1, region=region, during=1)
    assert max(_loads(case, moved)) <= 0.7 * load
    item = _next_load(case, moved)
    assert (item["decision"], item["policy"]) == ("do", "reduce_load")
    (why,) = [one for one in item["reasons"] if one["code"] == "tolerance_pain_restart_of_region"]
    assert why["params"] == {"region": region, "load_percent": 30}
    assert "30 % off the last load before the rest" in why["text"]
    assert "watch_next_morning" in {one["code"] for one in item["cautions"]}


def test_what_came_off_after_a_rest_comes_off_once_and_rises_after_a_session_that_tells_of_no_pain(
    world_now: World,
) -> None:
    case = make_case(world_now, training_years=4)
    case.screened()
    lifts = {**LIFTS, "good-morning": (50, 10)}
    case.weeks(NOW - timedelta(days=9), sessions=3, lifts=lifts)
    _checked_in(case, 8.5 * 24, region="hip", side="left", during=7)
    _checked_in(case, 6 * 24, region="hip", side="left", during=1)
    for number in range(3):
        case.log("good-morning", 35, 10, NOW - timedelta(days=4, minutes=30 - 9 * number), reps_in_reserve=4)
    held = _next_load(case, "good-morning")
    assert (held["load"]["value"], held["policy"]) == (35, "hold_load")
    _checked_in(case, 3.7 * 24, region="hip", side="left", during=0, next_morning=0)
    assert _next_load(case, "good-morning")["load"]["value"] > 35


def test_a_rest_of_one_side_brings_the_other_side_back_with_nothing_off(world_now: World) -> None:
    case = make_case(world_now, training_years=4)
    case.screened()
    for back in (13, 10, 6):
        for number in range(4):
            at = NOW - timedelta(days=back, minutes=60 - 3 * number)
            case.log(
                "one-arm-dumbbell-row", 20, 10, at, side=("left", "right")[number % 2], reps_in_reserve=2
            )
    _checked_in(case, 60, region="elbow", side="left", during=7)
    _checked_in(case, 1, region="elbow", side="left", during=1)
    params = {"exercise_id": "one-arm-dumbbell-row", "site_id": case.site}
    items = case.client.get(f"{case.athlete}/load-progression", params=params).json()["items"]
    loads = {one["side"]: one["load"]["value"] for one in items}
    assert loads["left"] <= 14
    assert loads["right"] >= 20


def test_a_wrist_neither_rests_under_a_press_with_a_neutral_grip_nor_goes_uneased(world_now: World) -> None:
    press = "neutral-grip-dumbbell-press"
    case = make_case(world_now, training_years=4)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=3, lifts={**LIFTS, press: (20, 10)})
    assert _next_load(case, press)["load"]["value"] >= 20
    _checked_in(case, 6, region="wrist", during=4)
    assert max(_loads(case, press)) <= 15
    _checked_in(case, 2, region="wrist", during=7)
    assert _next_load(case, press)["decision"] == "leave_out"
    assert press not in {item["exercise_id"] for item in case.plan()["items"]}


def test_a_shoulder_rests_under_what_is_held_by_a_forearm_that_lies_on_something(world_now: World) -> None:
    case = make_case(world_now, training_years=4)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=3, lifts={**LIFTS, "wrist-curl": (10, 15)})
    case.put("limits", {"kind": "clinician", "mode": "replace", "region": "shoulder"})
    assert _next_load(case, "bench-press")["decision"] == "leave_out"
    assert _next_load(case, "wrist-curl")["decision"] == "do"
    case.put("limits", {"kind": "clinician", "mode": "replace", "region": "wrist"})
    assert _next_load(case, "wrist-curl")["decision"] == "leave_out"
