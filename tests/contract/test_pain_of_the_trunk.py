"""Pain and joint ranges of the trunk bind the sets of either limb, whichever side was told. All people here are invented."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.contract.lifting import FIVE_POUND_STEPS, Json, Lifter, codes, lifters
from tests.contract.test_next_session import CLEARANCE, NOW, Case, make_case, world_now
from tests.world import World

__all__ = ["world_now"]

ROW, HINGE = "one-arm-dumbbell-row", "one-leg-romanian-deadlift"
BOTH = ("left", "right")
#: 30 lb: three quarters of what was done. [kg]
LIGHT = 13.61


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def _trained(person: Lifter, exercise_id: str, **newest: Any) -> None:
    """Log four sessions of both sides; ``newest`` is said of the left sets of the last one."""
    for day in (10, 7, 4, 2):
        for ordinal in range(4):
            side = BOTH[ordinal % 2]
            said = newest if day == 2 and side == "left" else {}
            person.logs(
                exercise_id, day - 0.003 * ordinal, 40, 10, unit="lb", side=side, reps_in_reserve=2, **said
            )


def _sides(person: Lifter, answer: str, exercise_id: str) -> dict[str, Json]:
    return {one["side"]: one for one in person.asks(answer, exercise_id=exercise_id)["items"]}


def _planned(person: Lifter, exercise_id: str) -> dict[str, set[float]]:
    sets = [
        one
        for item in person.asks("next-session")["items"]
        if item["exercise_id"] == exercise_id
        for one in item["sets"]
        if not one["ramp"]
    ]
    return {side: {one["load"]["value"] for one in sets if one["side"] == side} for side in BOTH}


@pytest.mark.parametrize("told", BOTH)
@pytest.mark.parametrize(("region", "both"), [("Lower back", True), ("spine", True), ("hip", False)])
def test_a_check_in_of_one_side_of_the_trunk_takes_load_off_both(
    lifter: Callable[..., Lifter], told: str, region: str, both: bool
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    _trained(person, HINGE)
    body = {
        "at": (NOW - timedelta(hours=3)).isoformat(),
        "pain": [{"region": region, "side": told, "during": 4}],
    }
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    for answer in ("load-progression", "next-set"):
        sides = _sides(person, answer, HINGE)
        eased = {side for side, one in sides.items() if one["load"]["value"] <= LIGHT}
        assert eased == (set(BOTH) if both else {told})
        for side in eased:
            assert "tolerance_pain_of_region" in codes(sides[side]["reasons"])
    planned = _planned(person, HINGE)
    assert all(planned[side] and max(planned[side]) <= LIGHT for side in BOTH if both or side == told)


@pytest.mark.parametrize(("region", "both"), [("lower back", True), ("neck", True), ("shoulder", False)])
@pytest.mark.parametrize("side", [{"side": "left"}, {}])
def test_pain_of_the_trunk_told_with_a_set_of_one_side_takes_load_off_the_other(
    lifter: Callable[..., Lifter], region: str, both: bool, side: Json
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    _trained(person, ROW, pain=[{"region": region, **side, "during": 4}])
    for answer in ("load-progression", "next-set"):
        sides = _sides(person, answer, ROW)
        assert sides["left"]["load"]["value"] <= LIGHT
        assert (sides["right"]["load"]["value"] <= LIGHT) is both
        assert ("tolerance_pain_of_either_side" in codes(sides["right"]["reasons"])) is both
        assert "tolerance_pain_of_either_side" not in codes(sides["left"]["reasons"])
    assert (max(_planned(person, ROW)["right"]) <= LIGHT) is both


def test_what_came_off_one_side_for_the_trunk_comes_off_the_other_too_and_off_neither_twice(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day, left, right in ((9, 40, 40), (6, 40, 40), (3, 30, 40)):
        said = {"pain": [{"region": "lower back", "side": "left", "during": 4, "next_morning": 1}]}
        for ordinal in range(4):
            side, load = BOTH[ordinal % 2], (left, right)[ordinal % 2]
            more = said if day == 6 and side == "left" else {}
            person.logs(ROW, day - 0.003 * ordinal, load, 10, unit="lb", side=side, reps_in_reserve=2, **more)
    sides = _sides(person, "load-progression", ROW)
    assert {side: one["load"]["value"] for side, one in sides.items()} == pytest.approx(
        {"left": LIGHT, "right": LIGHT}, rel=1e-3
    )
    assert "tolerance_pain_load_is_off" in codes(sides["left"]["reasons"])
    assert "tolerance_pain_load_is_off" not in codes(sides["right"]["reasons"])
    assert sides["right"]["policy"] == "reduce_load"


@pytest.mark.parametrize("told", BOTH)
def test_pain_above_five_of_the_trunk_with_a_set_of_one_side_ends_the_lift_on_both(
    lifter: Callable[..., Lifter], told: str
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    _trained(person, ROW, pain=[{"region": "lower back", "side": told, "during": 7}])
    sides = _sides(person, "load-progression", ROW)
    assert {one["decision"] for one in sides.values()} == {"stop"}
    assert all("pain_stop" in codes(one["cautions"]) for one in sides.values())
    assert not any(_planned(person, ROW).values())


def _hinged(world: World) -> Case:
    case = make_case(world, training_years=5)
    for back in (10, 6, 3):
        for number in range(4):
            at = NOW - timedelta(days=back, minutes=60 - 3 * number)
            case.log(HINGE, 20, 10, at, side=BOTH[number % 2], reps_in_reserve=5)
    return case


@pytest.mark.parametrize("told", BOTH)
@pytest.mark.parametrize(("motion", "both"), [("lumbar_flexion", True), ("hip_flexion", False)])
@pytest.mark.parametrize("by", ["limit", "limit_side", "clearance"])
def test_a_range_of_the_trunk_binds_both_sides_whichever_was_told(
    world_now: World, told: str, motion: str, both: bool, by: str
) -> None:
    case = _hinged(world_now)
    within = {"motion": motion, "from_deg": 0, "to_deg": 30, "side": told}
    if by == "clearance":
        case.screened("cleared", clearance={**CLEARANCE, "joint_limits": [within]})
    else:
        case.screened()
        sided = {"side": told} if by == "limit_side" else {}
        joint = {**within, "side": "both"} if by == "limit_side" else within
        case.put("limits", {"kind": "range_of_motion", "mode": "improve", "joint_limit": joint, **sided})
    closed = set(BOTH) if both else {told}
    for answer in ("load-progression", "next-set"):
        got = case.client.get(f"{case.athlete}/{answer}", params={"exercise_id": HINGE, "site_id": case.site})
        assert got.status_code == 200, got.text
        assert {one["side"] for one in got.json()["items"] if one["decision"] == "leave_out"} == closed
    planned = [item for item in case.plan()["items"] if item["exercise_id"] == HINGE]
    assert not {one["side"] for item in planned for one in item["sets"]} & closed


def test_a_sign_of_one_side_of_the_trunk_rests_what_was_told_of_the_other(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for hours, side, flags in ((30, "right", []), (3, "left", ["locking"])):
        body = {
            "at": (NOW - timedelta(hours=hours)).isoformat(), "flags": flags,
            "pain": [{"region": "lower back", "side": side, "during": 1}],
        }  # fmt: skip
        assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    items = person.asks("tolerance")["items"]
    assert {one["side"]: one["action"] for one in items} == dict.fromkeys(BOTH, "rest_region")
