"""A limit binds the plan, the next load and the next set alike, and of a lift of one limb no more than its own side.

All people here are invented.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.contract.test_next_session import (
    GYM,
    LIFTS,
    NOW,
    Case,
    Json,
    codes,
    demands_of,
    ids,
    kg,
    make_case,
    two_sided_rows,
    work_sets,
    world_now,
)
from tests.world import World

__all__ = ["world_now"]

ROW = "one-arm-dumbbell-row"
HINGE = "one-leg-romanian-deadlift"
PRESS = "seated-dumbbell-overhead-press"


def _answer(case: Case, answer: str, exercise_id: str) -> dict[str, Json]:
    found = case.client.get(f"{case.athlete}/{answer}", params={"exercise_id": exercise_id})
    assert found.status_code == 200, found.text
    return {item["side"]: item for item in found.json()["items"]}


def _planned(case: Case, exercise_id: str, side: str) -> list[Json]:
    (item,) = [one for one in case.plan()["items"] if one["exercise_id"] == exercise_id]
    return [one for one in item["sets"] if not one["ramp"] and one["side"] == side]


def _rower(world: World) -> Case:
    case = make_case(world, training_years=5)
    case.screened()
    two_sided_rows(case)
    case.put("aims", {"kind": "close_gap", "exercise_id": ROW, "priority": 1})
    return case


def _limit(case: Case, **said: Any) -> str:
    return str(case.put("limits", {"kind": "clinician", "mode": "improve", **said})["id"])


@pytest.mark.parametrize(("bound", "free"), [("left", "right"), ("right", "left")])
def test_a_cap_of_one_side_binds_that_side_alone(world_now: World, bound: str, free: str) -> None:
    before, case = _rower(world_now), _rower(world_now)
    _limit(case, side=bound, load_cap=kg(15))
    assert {one["load"]["value"] for one in _planned(case, ROW, bound)} == {15}
    assert min(one["load"]["value"] for one in _planned(case, ROW, free)) > 20
    for answer in ("load-progression", "next-set"):
        sides = _answer(case, answer, ROW)
        assert sides[bound]["load"]["value"] == 15
        assert sides[free]["load"]["value"] >= _answer(before, answer, ROW)[free]["load"]["value"]
    # The left side lags: it goes first, and sets no load for the other one.
    first = _answer(case, "load-progression", ROW)["left"]
    assert "load_progression_lagging_side_goes_first" in codes(first["reasons"])


@pytest.mark.parametrize(("bound", "free"), [("left", "right"), ("right", "left")])
def test_a_reserve_of_one_side_binds_that_side_alone(world_now: World, bound: str, free: str) -> None:
    case = _rower(world_now)
    _limit(case, side=bound, min_reps_in_reserve=6)
    assert all(one["reps_in_reserve"] >= 6 for one in _planned(case, ROW, bound))
    assert all(one["reps_in_reserve"] < 4 for one in _planned(case, ROW, free))
    for answer in ("load-progression", "next-set"):
        sides = _answer(case, answer, ROW)
        assert sides[bound]["reserve_low"] == 6
        assert sides[free]["reserve_low"] < 4


@pytest.mark.parametrize("side", ["left", "right", "both"])
def test_a_limit_of_one_side_binds_what_both_limbs_do_at_once(world_now: World, side: str) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    _limit(case, side=side, load_cap=kg(50), min_reps_in_reserve=4)
    planned = _planned(case, "bench-press", "both")
    assert all(one["load"]["value"] <= 50 and one["reps_in_reserve"] >= 4 for one in planned)
    item = _answer(case, "load-progression", "bench-press")["both"]
    assert item["load"]["value"] <= 50
    assert item["reserve_low"] == 4


def test_an_issued_plan_is_held_to_the_limits_of_each_side(world_now: World) -> None:
    case = _rower(world_now)
    plan = case.plan()
    _limit(case, side="left", load_cap=kg(15), min_reps_in_reserve=3)
    for item in plan["items"]:
        for one in item["sets"]:
            one["reps_in_reserve"] = 3
            if one["side"] == "left" and item["exercise_id"] == ROW:
                one["load"] = kg(15)
    issued = case.issue(plan)
    assert issued.status_code == 201, issued.text
    (row,) = [item for item in plan["items"] if item["exercise_id"] == ROW]
    for one in row["sets"]:
        one["load"], one["reps_in_reserve"] = kg(20), 1
    refused = case.issue(plan)
    assert refused.status_code == 409
    place = plan["items"].index(row)
    named = {one["pointer"] for one in refused.json()["errors"]}
    bound = [number for number, one in enumerate(row["sets"]) if one["side"] == "left"]
    working = [number for number in bound if not row["sets"][number]["ramp"]]
    assert named == {
        *(f"#/items/{place}/sets/{number}/load" for number in bound),
        *(f"#/items/{place}/sets/{number}/reps_in_reserve" for number in working),
    }


def test_a_cap_counts_what_both_hands_hold_in_every_answer(world_now: World) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    _limit(case, load_cap=kg(30))
    assert max(one["load"]["value"] for one in _planned(case, PRESS, "both")) <= 15
    for answer in ("load-progression", "next-set"):
        assert _answer(case, answer, PRESS)["both"]["load"]["value"] <= 15


def test_under_a_cap_no_level_is_named_for_what_it_weighs_is_not_known(world_now: World) -> None:
    labels = [str(number) for number in range(1, 13)]
    station = {"kind": "levels", "name": "Raise", "station": "lateral-raise", "labels": labels}
    case = make_case(world_now, items=[station])
    case.screened()
    for _ in range(3):
        at = NOW - timedelta(days=4)
        case.log("lateral-raise-machine", None, 10, at, level="7", reps_in_reserve=2)
    _limit(case, load_cap=kg(20))
    assert "lateral-raise-machine" not in ids(case.plan())
    item = _answer(case, "load-progression", "lateral-raise-machine")["both"]
    assert (item["decision"], item.get("load")) == ("leave_out", None)


@pytest.mark.parametrize("side", [None, "left"])
def test_a_reserve_and_a_cap_of_a_region_bind_the_lifts_that_load_it_alone(
    world_now: World, side: str | None
) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    plan = case.plan()
    assert {"back-squat", "bench-press"} <= set(ids(plan))
    told = {"side": side} if side else {}
    _limit(case, region="Knee", load_cap=kg(50), min_reps_in_reserve=5, **told)
    # A row is held up by the legs; what is done lying or seated, and a light curl, are none of the knee's.
    free = {"bench-press", "dumbbell-curl", "seated-dumbbell-overhead-press"}
    for answer in ("load-progression", "next-set"):
        items = {lift: _answer(case, answer, lift)["both"] for lift in LIFTS}
        assert {lift for lift, item in items.items() if item["reserve_low"] < 5} == free
        assert {lift for lift, item in items.items() if item["load"]["value"] > 50} == {"bench-press"}
    after = {item["exercise_id"]: item for item in case.plan()["items"]}
    assert max(one["load"]["value"] for one in after["bench-press"]["sets"]) > 50
    assert max(one["load"]["value"] for one in after["back-squat"]["sets"]) <= 50
    refused = case.issue(plan)
    assert refused.status_code == 409
    places = {int(one["pointer"].split("/")[2]) for one in refused.json()["errors"]}
    named = {plan["items"][place]["exercise_id"] for place in places}
    assert "back-squat" in named
    assert not named & free


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_region_of_the_trunk_is_bound_on_both_sides_whichever_was_told(world_now: World, side: str) -> None:
    case = _rower(world_now)
    _limit(case, side=side, region="lower back", load_cap=kg(15), min_reps_in_reserve=5)
    for answer in ("load-progression", "next-set"):
        sides = _answer(case, answer, ROW)
        assert {(one["load"]["value"], one["reserve_low"]) for one in sides.values()} == {(15, 5)}
    planned = [one for of in ("left", "right") for one in _planned(case, ROW, of)]
    assert all(one["load"]["value"] <= 15 and one["reps_in_reserve"] >= 5 for one in planned)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(("region", "both"), [("lower back", True), ("hip", False)])
def test_a_region_of_the_trunk_rests_on_both_sides_whichever_was_told(
    world_now: World, side: str, region: str, both: bool
) -> None:
    case = _rower(world_now)
    for back in (10, 6, 3):
        for number, of in enumerate(("left", "right", "left", "right")):
            at = NOW - timedelta(days=back, minutes=60 - 3 * number)
            case.log(HINGE, 20, 10, at, side=of, reps_in_reserve=2)
    _limit(case, side=side, region=region)
    for answer in ("load-progression", "next-set"):
        closed = {of for of, one in _answer(case, answer, HINGE).items() if one["decision"] == "leave_out"}
        assert closed == ({"left", "right"} if both else {side})
    in_plan = {
        one["side"] for item in case.plan()["items"] if item["exercise_id"] == HINGE for one in item["sets"]
    }
    assert not in_plan & closed


HOW_TO: list[Json] = [
    {"kind": "clinician", "min_reps_in_reserve": 2},
    {"kind": "preference", "load_cap": kg(60)},
    {"kind": "pain", "score": 3, "min_reps_in_reserve": 2},
    {"kind": "technique"},
    {"kind": "range_of_motion", "joint_limit": {"motion": "knee_flexion", "from_deg": 0, "to_deg": 140}},
]
AGAINST: list[Json] = [{"kind": "preference"}, {"kind": "pain", "score": 4}]


@pytest.mark.parametrize("limit", [*HOW_TO, *AGAINST])
def test_a_limit_that_says_how_to_do_a_lift_does_not_keep_it_out_of_the_session(
    world_now: World, limit: Json
) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    assert "bench-press" in ids(case.plan(minutes=45))
    case.put("limits", {"mode": "improve", "exercise_ids": ["bench-press"], **limit})
    assert ("bench-press" in ids(case.plan(minutes=45))) == (limit in HOW_TO)


def test_a_preference_against_one_side_of_a_lift_leaves_the_other_side_in(world_now: World) -> None:
    case = make_case(world_now, training_years=5)
    case.screened()
    two_sided_rows(case)
    before = case.plan()
    (row,) = [item for item in before["items"] if item["exercise_id"] == ROW]
    assert {one["side"] for one in row["sets"]} == {"left", "right"}
    case.put("limits", {"kind": "preference", "mode": "improve", "side": "left", "exercise_ids": [ROW]})
    (row,) = [item for item in case.plan()["items"] if item["exercise_id"] == ROW]
    assert {one["side"] for one in row["sets"] if not one["ramp"]} == {"right"}
    (why,) = [one for one in row["reasons"] if one["code"] == "planning_one_side_unwanted"]
    assert why["params"]["side"] == "right"


def _unknown(told: list[Json]) -> list[str]:
    return [one["params"]["region"] for one in told if one["code"] == "planning_limit_region_not_known"]


@pytest.mark.parametrize("closes", [False, True])
def test_a_region_that_is_not_known_binds_every_lift_and_is_named(world_now: World, closes: bool) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    for seconds in (40, 45):
        at = NOW - timedelta(days=3)
        case.put(
            "sets",
            {"exercise_id": "plank", "performed_at": at.isoformat(), "hold_s": seconds, "purpose": "work"},
        )
    _limit(case, region="The bit_under", **({} if closes else {"min_reps_in_reserve": 5}))
    for answer in ("load-progression", "next-set"):
        for lift in LIFTS:
            item = _answer(case, answer, lift)["both"]
            assert item["decision"] == ("leave_out" if closes else "do")
            assert closes or item["reserve_low"] == 5
            assert _unknown(item["reasons"]) == ["the bit under"]
            assert item["reasons"][0]["code"] != "planning_limit_region_not_known"
        assert _unknown(_answer(case, answer, "plank")["both"]["reasons"]) == ["the bit under"]
    plan = case.plan()
    assert bool(plan["items"]) is not closes
    assert _unknown(plan["reasons"]) == ["the bit under"]


@pytest.mark.parametrize(
    "limit", [{"region": "left wrist", "min_reps_in_reserve": 5}, {"kind": "preference", "region": "?"}]
)
def test_a_region_that_is_known_or_binds_nothing_is_not_named(world_now: World, limit: Json) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    _limit(case, **limit)
    assert _unknown(_answer(case, "load-progression", "bench-press")["both"]["reasons"]) == []
    assert _unknown(case.plan()["reasons"]) == []


def test_a_region_binds_only_the_lifts_that_are_named_where_some_are(world_now: World) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    _limit(case, region="wrist", exercise_ids=["bench-press"], min_reps_in_reserve=5)
    assert _answer(case, "load-progression", "bench-press")["both"]["reserve_low"] == 5
    assert _answer(case, "load-progression", "barbell-row")["both"]["reserve_low"] < 5


@pytest.mark.parametrize("bound", ["both", "left", "right"])
def test_a_plan_that_names_a_level_under_a_cap_is_not_issued(world_now: World, bound: str) -> None:
    labels = [str(number) for number in range(1, 13)]
    station = {"kind": "levels", "name": "Raise", "station": "lateral-raise", "labels": labels}
    case = make_case(world_now, items=[*GYM, station], training_years=5)
    case.screened()
    for back in (11, 8, 4):
        for number in range(3):
            at = NOW - timedelta(days=back, minutes=3 * number)
            case.log("lateral-raise-machine", None, 10, at, level="7", reps_in_reserve=2)
    plan = case.plan()
    (place,) = [
        number for number, one in enumerate(plan["items"]) if one["exercise_id"] == "lateral-raise-machine"
    ]
    sets = plan["items"][place]["sets"]
    assert all("level" in one for one in sets)
    assert case.issue(plan).status_code == 201
    _limit(case, side=bound, load_cap=kg(20), exercise_ids=["lateral-raise-machine"])
    refused = case.issue(plan)
    assert refused.status_code == 409
    assert {one["code"] for one in refused.json()["errors"]} == {"level_under_cap"}
    named = [(one["pointer"], one["detail"]) for one in refused.json()["errors"]]
    assert named == [(f"#/items/{place}/sets/{n}/level", one["level"]) for n, one in enumerate(sets)]
    assert "at most 20 kg" in refused.json()["errors"][0]["expected"]
    for one in sets:
        del one["level"]
        one["load"] = kg(20)
    assert case.issue(plan).status_code == 201


def test_a_clearance_binds_all_answers_whatever_the_screening_found(world_now: World) -> None:
    case = make_case(world_now)
    given = {"by": "Dr. I. Invented", "role": "physician", "given_on": "2026-11-20"}
    case.screened(clearance={**given, "load_cap": kg(50), "min_reps_in_reserve": 4})
    case.weeks(NOW - timedelta(days=3), sessions=2)
    planned = work_sets(case.plan())
    assert planned
    assert all(one.get("load", kg(0))["value"] <= 50 and one["reps_in_reserve"] >= 4 for one in planned)
    item = _answer(case, "load-progression", "bench-press")["both"]
    assert item["load"]["value"] <= 50
    assert item["reserve_low"] == 4


@pytest.mark.parametrize("kind", ["preference", "range_of_motion", "technique"])
@pytest.mark.parametrize("mode", ["improve", "replace"])
def test_a_joint_range_closes_lifts_in_every_answer_whatever_it_stands_beside(
    world_now: World, kind: str, mode: str
) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    assert "back-squat" in ids(case.plan())
    knee = {"motion": "knee_flexion", "from_deg": 0, "to_deg": 60, "side": "both"}
    case.put("limits", {"kind": kind, "mode": mode, "joint_limit": knee})
    assert "back-squat" not in ids(case.plan())
    item = _answer(case, "load-progression", "back-squat")["both"]
    assert (item["decision"], item.get("load")) == ("leave_out", None)
    assert "load_progression_outside_joint_range" in codes(item["reasons"])
    assert "load" in _answer(case, "load-progression", "dumbbell-curl")["both"]


def test_a_joint_range_is_kept_with_the_spread_of_people_to_spare_in_every_answer(world_now: World) -> None:
    case = make_case(world_now)
    case.screened()
    case.weeks(NOW - timedelta(days=3), sessions=2)
    (needed,) = demands_of(case, "back-squat", "knee_flexion")
    knee = {"motion": "knee_flexion", "from_deg": 0, "to_deg": needed + 2, "side": "both"}
    case.put("limits", {"kind": "range_of_motion", "mode": "improve", "joint_limit": knee})
    assert "back-squat" not in ids(case.plan())
    assert _answer(case, "load-progression", "back-squat")["both"]["decision"] == "leave_out"
