"""What the sets of either side bear is bound on both: arms that hold what a leg lifts, legs under what an arm carries.

All people here are invented.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.contract.test_next_session import NOW, Case, Json, kg, make_case, world_now
from tests.world import World

__all__ = ["world_now"]

BOTH = ("left", "right")
SPLIT_SQUAT, ROW, PULLDOWN = "split-squat", "one-arm-dumbbell-row", "one-arm-lat-pulldown"


def _trained(world: World, exercise_id: str) -> Case:
    case = make_case(world, training_years=5)
    case.screened()
    for back in (13, 10, 6):
        for number in range(4):
            at = NOW - timedelta(days=back, minutes=60 - 3 * number)
            case.log(exercise_id, 20, 10, at, side=BOTH[number % 2], reps_in_reserve=2)
    return case


def _sides(case: Case, answer: str, exercise_id: str) -> dict[str, Json]:
    got = case.client.get(
        f"{case.athlete}/{answer}", params={"exercise_id": exercise_id, "site_id": case.site}
    )
    assert got.status_code == 200, got.text
    return {one["side"]: one for one in got.json()["items"]}


def _closed(case: Case, exercise_id: str) -> set[str]:
    """Return the sides that are closed, by every answer that names a load alike."""
    found = [
        {side for side, one in _sides(case, answer, exercise_id).items() if one["decision"] == "leave_out"}
        for answer in ("load-progression", "next-set")
    ]
    planned = {
        one["side"]
        for item in case.plan()["items"]
        if item["exercise_id"] == exercise_id
        for one in item["sets"]
    }
    assert found[0] == found[1]
    assert not planned & found[0]
    return found[0]


def _said(by: str, region: str, side: str) -> tuple[str, Json]:
    if by == "clinician":
        return "limits", {"kind": "clinician", "mode": "replace", "region": region, "side": side}
    at = (NOW - timedelta(hours=2)).isoformat()
    return "checkins", {"at": at, "pain": [{"region": region, "side": side, "during": 7}]}


@pytest.mark.parametrize("by", ["clinician", "pain"])
@pytest.mark.parametrize("told", BOTH)
@pytest.mark.parametrize(
    ("lift", "region", "both"),
    [
        (SPLIT_SQUAT, "shoulder", True), (SPLIT_SQUAT, "wrist", True), (ROW, "shoulder", False),
        ("one-arm-carry", "knee", True), ("one-arm-carry", "elbow", False),
    ],
)  # fmt: skip
def test_a_limb_that_bears_the_sets_of_either_side_rests_under_neither(
    world_now: World, by: str, told: str, lift: str, region: str, both: bool
) -> None:
    if lift == "one-arm-carry":
        case = make_case(world_now, training_years=5)
        case.screened()
        for number in range(4):
            at = (NOW - timedelta(days=5, minutes=60 - 3 * number)).isoformat()
            body = {
                "exercise_id": lift,
                "performed_at": at,
                "load": kg(20),
                "distance_m": 30,
                "side": BOTH[number % 2],
            }
            case.put("sets", {**body, "purpose": "work"})
    else:
        case = _trained(world_now, lift)
    assert _closed(case, lift) == set()
    case.put(*_said(by, region, told))
    assert _closed(case, lift) == (set(BOTH) if both else {told})


def test_such_a_lift_comes_back_lighter_on_both_sides(world_now: World) -> None:
    case = _trained(world_now, SPLIT_SQUAT)
    for hours, pain in ((60, 7), (1, 1)):
        at = (NOW - timedelta(hours=hours)).isoformat()
        case.put("checkins", {"at": at, "pain": [{"region": "shoulder", "side": "left", "during": pain}]})
    assert {one["load"]["value"] <= 14 for one in _sides(case, "load-progression", SPLIT_SQUAT).values()} == {
        True
    }


@pytest.mark.parametrize("told", BOTH)
def test_a_cap_of_an_arm_binds_what_it_holds_for_either_leg(world_now: World, told: str) -> None:
    case = _trained(world_now, SPLIT_SQUAT)
    case.put(
        "limits",
        {"kind": "clinician", "mode": "improve", "region": "elbow", "side": told, "load_cap": kg(10)},
    )
    for answer in ("load-progression", "next-set"):
        assert {one["load"]["value"] <= 10 for one in _sides(case, answer, SPLIT_SQUAT).values()} == {True}


@pytest.mark.parametrize("told", BOTH)
@pytest.mark.parametrize(("motion", "both"), [("knee_flexion", True), ("elbow_flexion", False)])
def test_a_range_of_a_leg_binds_what_either_arm_does_over_it(
    world_now: World, told: str, motion: str, both: bool
) -> None:
    case = _trained(world_now, ROW)
    within: dict[str, Any] = {"motion": motion, "from_deg": 0, "to_deg": 30, "side": told}
    case.put("limits", {"kind": "range_of_motion", "mode": "improve", "joint_limit": within})
    assert _closed(case, ROW) == (set(BOTH) if both else {told})
