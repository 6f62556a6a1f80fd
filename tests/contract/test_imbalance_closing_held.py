"""No closing plan gives further sets, or asks for a set to the same reserve, where something holds the lift or a side of it."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest

from tests.contract.comparing import NOW, PRESS, ROW, Compared, codes, compared
from tests.world import World

PULLDOWN = "one-arm-lat-pulldown"
CLOSED = {"kind": "clinician", "mode": "replace"}


@pytest.fixture
def athlete(shared_world: World, new_id: Callable[[], str]) -> Iterator[Callable[..., Compared]]:
    yield compared(shared_world, new_id)
    shared_world.clock.instant = None


def is_limited(someone: Compared, **limit: Any) -> None:
    put = someone.client.put(f"{someone.path}/limits/{someone.new_id()}", json=limit)
    assert put.status_code == 201, put.text


def tells(someone: Compared, days_ago: float, **told: Any) -> None:
    body = {"at": (NOW - timedelta(days=days_ago)).isoformat(), **told}
    put = someone.client.put(f"{someone.path}/checkins/{someone.new_id()}", json=body)
    assert put.status_code == 201, put.text


def hurts(someone: Compared, side: str, during: int) -> None:
    """One more set of the press, of which pain is told."""
    load = 20.0 if side == "right" else 22.5
    pain = [{"region": "shoulder", "side": side, "during": during}]
    someone.logs(PRESS, 1, side, load, 8, reps_in_reserve=2, pain=pain)


Held = tuple[Callable[[Compared], None], str]
HELD: dict[str, Held] = {
    "pain that stops the side that lags": (lambda one: hurts(one, "right", 8), "pain"),
    "pain that stops the side that leads": (lambda one: hurts(one, "left", 8), "pain"),
    "pain that holds the side that lags": (lambda one: hurts(one, "right", 4), "pain"),
    "pain of a region that rests": (
        lambda one: tells(one, 0.1, pain=[{"region": "shoulder", "side": "right", "during": 7}]), "pain",
    ),
    "a sign of its region": (
        lambda one: tells(one, 0.1, flags=["locking"], pain=[{"region": "shoulder", "side": "right", "during": 3}]),
        "sign",
    ),
    "a sign of which nobody told the place": (lambda one: tells(one, 0.1, flags=["locking"]), "sign"),
    "a clinician who closes the lift": (lambda one: is_limited(one, **CLOSED, exercise_ids=[PRESS]), "limit"),
    "a clinician who closes one side of it": (
        lambda one: is_limited(one, **CLOSED, exercise_ids=[PRESS], side="right"), "limit",
    ),
    "a clinician who closes its other side": (
        lambda one: is_limited(one, **CLOSED, exercise_ids=[PRESS], side="left"), "limit",
    ),
    "a clinician who rests the shoulder": (
        lambda one: is_limited(one, **CLOSED, region="shoulder", side="right"), "limit",
    ),
    "a joint range that it leaves": (
        lambda one: is_limited(
            one, kind="range_of_motion", mode="improve", side="right",
            joint_limit={"motion": "shoulder_elevation", "side": "right", "from_deg": 0, "to_deg": 90},
        ),
        "limit",
    ),
    "an illness since": (lambda one: one.is_screened("clear", conditions=["illness"], performed_on="2026-11-26"), "break"),
}  # fmt: skip


@pytest.mark.parametrize("held", HELD)
def test_a_lift_that_is_held_gets_no_further_sets(athlete: Callable[..., Compared], held: str) -> None:
    someone = athlete()
    someone.is_screened("clear")
    someone.presses(20, 22.5)
    plan = someone.gap(exercise_id=PRESS)["closing_plan"]
    assert (plan["lagging_side"], plan["extra_sets"]) == ("right", 2)
    assert "closing_effort_check" in codes(plan["reasons"])
    happens, by = HELD[held]
    happens(someone)
    item = someone.gap(exercise_id=PRESS)
    assert item["state"] == "left_ahead"
    assert "closing_plan" not in item
    refused = item["no_closing_plan"]
    assert refused["code"] == f"closing_held_by_{by}"
    assert refused["params"]["exercise"] in refused["text"]
    assert item["forecast"]["with_plan"] is False


@pytest.mark.parametrize(("idle", "held"), [(7, False), (14, True), (45, True)])
def test_a_lift_that_comes_back_from_a_break_gets_no_further_sets(
    athlete: Callable[..., Compared], idle: int, held: bool
) -> None:
    """The newest session is so many days ago."""
    someone = athlete()
    for session in range(6):
        for ordinal, (side, load) in enumerate((("right", 20), ("left", 22.5)) * 2):
            days_ago = idle + 7 * session - 0.01 * ordinal
            someone.logs(PRESS, days_ago, side, load, 8, reps_in_reserve=2, ordinal=ordinal)
    item = someone.gap(exercise_id=PRESS)
    assert item["state"] == "left_ahead"
    assert ("closing_plan" not in item) is held
    assert item.get("no_closing_plan", {}).get("code") == ("closing_held_by_break" if held else None)


def test_the_careful_weeks_after_a_break_get_no_further_sets(athlete: Callable[..., Compared]) -> None:
    """Eight weeks off, a week back."""
    someone = athlete()
    for days_ago in (98, 91, 84, 77, 70, 63, 6, 3):
        for ordinal, (side, load) in enumerate((("right", 20), ("left", 22.5)) * 2):
            someone.logs(PRESS, days_ago - 0.01 * ordinal, side, load, 8, reps_in_reserve=2, ordinal=ordinal)
    item = someone.gap(exercise_id=PRESS)
    assert item["state"] == "left_ahead"
    assert item["no_closing_plan"]["code"] == "closing_held_by_break"


def test_another_lift_carries_the_sets_and_the_plan_says_why(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.is_screened("clear")
    someone.presses(30, 36, exercise_id=ROW)
    someone.presses(30, 36, exercise_id=PULLDOWN)
    before = someone.gap(exercise_id=ROW)["closing_plan"]
    assert [one["exercise_id"] for one in before["lifts"]] == [ROW]
    assert "closing_held_by_limit" not in codes(before["reasons"])
    is_limited(someone, **CLOSED, exercise_ids=[ROW])
    plan = someone.gap(exercise_id=ROW)["closing_plan"]
    assert [one["exercise_id"] for one in plan["lifts"]] == [PULLDOWN]
    (why,) = [one for one in plan["reasons"] if one["code"] == "closing_held_by_limit"]
    assert why["params"]["exercise"] in why["text"]
    # What would have got no sets anyway is not talked about.
    assert "closing_held_by_limit" not in codes(someone.gap(exercise_id=PULLDOWN)["closing_plan"]["reasons"])
    is_limited(someone, **CLOSED, exercise_ids=[PULLDOWN])
    for lift in (ROW, PULLDOWN):
        assert someone.gap(exercise_id=lift)["no_closing_plan"]["code"] == "closing_held_by_limit"
    pooled = [one for one in someone.asks()["items"] if one["scope"] == "muscle"]
    assert pooled
    assert {one["no_closing_plan"]["code"] for one in pooled} == {"closing_held_by_limit"}


def test_a_smaller_limb_gets_no_further_sets_of_a_lift_that_hurts(athlete: Callable[..., Compared]) -> None:
    curl, arm = "one-arm-dumbbell-curl", "upper-arm-relaxed"
    someone = athlete()
    for days_ago in (40, 20, 1):
        someone.measures(arm, "right", [38.0, 38.1], days_ago)
        someone.measures(arm, "left", [35.5, 35.6], days_ago)
    someone.presses(12, 12, exercise_id=curl)
    assert "closing_plan" in someone.gap("size", "site")
    pain = [{"region": "elbow", "side": "left", "during": 8}]
    someone.logs(curl, 1, "left", 12, 8, reps_in_reserve=2, pain=pain)
    assert someone.gap("size", "site")["no_closing_plan"]["code"] == "closing_held_by_pain"


def test_what_holds_another_lift_holds_no_plan(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.presses(20, 22.5)
    is_limited(someone, **CLOSED, exercise_ids=[ROW])
    tells(someone, 0.1, pain=[{"region": "knee", "side": "right", "during": 8}])
    assert someone.gap(exercise_id=PRESS)["closing_plan"]["extra_sets"] == 2


def test_the_plan_asks_for_no_effort_nearer_failure_than_a_limit_allows(
    athlete: Callable[..., Compared],
) -> None:
    someone = athlete()
    someone.is_screened("clear")
    someone.presses(20, 22.5)
    is_limited(
        someone, kind="clinician", mode="improve", side="left", min_reps_in_reserve=4.5, exercise_ids=[PRESS]
    )
    reasons = someone.gap(exercise_id=PRESS)["closing_plan"]["reasons"]
    assert "closing_effort_check" not in codes(reasons)
    (check,) = [one for one in reasons if one["code"] == "closing_effort_check_leaving"]
    assert check["params"]["left"] == 5.0
    assert "leaving at least 5 on both" in check["text"]


UNTESTED: dict[str, Callable[[Compared], None]] = {
    "nobody screened them": lambda _: None,
    "cardiac history": lambda one: one.is_screened("clear", conditions=["cardiac_history"]),
    "a cap of the load": lambda one: (
        one.is_screened("clear"),
        is_limited(
            one, kind="clinician", mode="improve", exercise_ids=[PRESS], load_cap={"value": 25, "unit": "kg"}
        ),
    )[0],
}


@pytest.mark.parametrize("who", UNTESTED)
def test_the_plan_asks_nobody_for_an_effort_check_whom_no_test_may_be_asked_of(
    athlete: Callable[..., Compared], who: str
) -> None:
    someone = athlete()
    UNTESTED[who](someone)
    someone.presses(20, 22.5)
    reasons = codes(someone.gap(exercise_id=PRESS)["closing_plan"]["reasons"])
    assert "closing_told_reserve" in reasons
    assert not reasons & {"closing_effort_check", "closing_effort_check_leaving"}
