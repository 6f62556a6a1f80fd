"""What closes a gap, what it was and will be, and the scenarios of practice, over HTTP. People are invented."""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from tests.contract.comparing import NOW, PRESS, ROW, Compared, codes, compared
from tests.world import World

ARM = "upper-arm-relaxed"
KNEE = "one-leg-knee-extension"


@pytest.fixture
def athlete(shared_world: World, new_id: Callable[[], str]) -> Iterator[Callable[..., Compared]]:
    yield compared(shared_world, new_id)
    shared_world.clock.instant = None


def copying(someone: Compared, sessions: int = 8) -> None:
    for session in range(sessions):
        someone.logs(ROW, 50 - 7 * session + 0.01, "right", 20, 10, reps_in_reserve=1)
        someone.logs(ROW, 50 - 7 * session, "left", 20, 10)


def test_a_side_that_copies_is_undetermined_and_its_reserve_is_asked_for(
    athlete: Callable[..., Compared],
) -> None:
    """Scenario 6: right 20 x 10 with one in reserve, left 20 x 10 unstated, eight sessions."""
    someone = athlete()
    someone.is_screened("clear")
    copying(someone)
    answer = someone.asks()
    (item,) = [one for one in answer["items"] if one["kind"] == "strength" and one["scope"] == "exercise"]
    assert item["state"] == "undetermined"
    assert 0.5 <= item["p_left_ahead"] <= 0.9
    assert "closing_plan" not in item
    assert item["no_closing_plan"]["code"] == "closing_undetermined"
    assert "forecast" not in item
    assert answer["ask"]["code"] == "sides_ask_effort_check"
    assert answer["ask"]["params"]["side"] == "left"
    assert "third week" in answer["ask"]["text"]


@pytest.mark.common_practice
def test_the_effort_check_decides_and_is_asked_for_again_every_third_week(
    athlete: Callable[..., Compared],
) -> None:
    """Situation 16: every third week the side that copies goes to the same reserve (common practice, no source)."""
    someone = athlete()
    someone.is_screened("clear")
    for session in range(9):
        someone.logs(ROW, 58 - 7 * session, "right", 20, 10, reps_in_reserve=1)
        told = {"reps_in_reserve": 4} if session % 3 == 0 else {}
        someone.logs(ROW, 58 - 7 * session - 0.01, "left", 20, 10, **told)
    answer = someone.asks()
    (item,) = [one for one in answer["items"] if one["kind"] == "strength" and one["scope"] == "exercise"]
    assert item["state"] != "undetermined"
    assert item["t"]["value"] < 0.0
    assert "ask" not in answer
    assert "sides_effort_check_due" in codes(item["reasons"])
    newest = NOW - timedelta(days=1)
    someone.logs(ROW, 1, "right", 20, 10, reps_in_reserve=1)
    someone.logs(ROW, 0.9, "left", 20, 10, reps_in_reserve=4)
    again = someone.gap(exercise_id=ROW)
    assert "sides_effort_check_due" not in codes(again["reasons"])
    assert newest - timedelta(days=1) < datetime.fromisoformat(again["basis"]["newest_at"]) <= newest


def two_gaps(someone: Compared) -> None:
    someone.measures(ARM, "right", [36.4, 36.4, 36.4])
    someone.measures(ARM, "left", [35.9, 35.9, 35.9])
    someone.presses(20, 22.5)


def test_a_bigger_right_arm_and_a_stronger_left_press_are_closed_apart(
    athlete: Callable[..., Compared],
) -> None:
    """Scenario 7 and situation 3: two gaps; the right press gets two sets a week more, arm work stays equal, six weeks."""
    someone = athlete()
    someone.is_screened("clear")
    two_gaps(someone)
    answer = someone.asks()
    items = {(one["kind"], one["scope"]): one for one in answer["items"]}
    size, press = items["size", "site"], items["strength", "exercise"]
    assert 0.01 <= size["t"]["value"] <= 0.035
    assert -0.12 <= press["t"]["value"] <= -0.07
    assert press["state"] == "left_ahead"
    assert "biceps" not in str(size)
    assert size["corrected"] is False
    assert size["no_closing_plan"]["code"] in {"closing_not_worth_it", "closing_not_decided"}
    plan = press["closing_plan"]
    assert (plan["lagging_side"], plan["first_side"], plan["extra_sets"]) == ("right", "right", 2)
    (lift,) = plan["lifts"]
    assert (lift["exercise_id"], lift["right_sets"] - lift["left_sets"]) == (PRESS, 2)
    assert date.fromisoformat(plan["recheck_on"]) == NOW.date() + timedelta(weeks=6)
    assert plan["target_ratio"] == 1
    assert {"closing_order", "closing_stop", "closing_effort_check"} <= codes(plan["reasons"])
    assert "Manca2017" in plan["sources"]
    forecast = press["forecast"]
    assert forecast["with_plan"] is True
    assert press["t"]["value"] < forecast["t"]["value"] < 0.0
    assert forecast["t"]["interval"]["kind"] == "prediction"


def test_a_plan_never_feeds_a_gap_that_runs_the_other_way(athlete: Callable[..., Compared]) -> None:
    """The left press leads; the right triceps leads by far in its own lift: pressing more on the right would feed it."""
    someone = athlete()
    someone.presses(20, 22.5)
    plan = someone.gap(exercise_id=PRESS)["closing_plan"]
    assert [one["exercise_id"] for one in plan["lifts"]] == [PRESS]
    someone.presses(20, 15, exercise_id="one-arm-cable-pressdown")
    refused = someone.gap(exercise_id=PRESS)
    assert refused["state"] == "left_ahead"
    assert refused["no_closing_plan"]["code"] == "closing_feeds_opposite_gap"


def operated(someone: Compared, **clearance: Any) -> None:
    someone.is_screened(
        "cleared",
        procedures=[{"region": "knee", "performed_on": "2026-10-10", "side": "right"}],
        clearance={
            "by": "An invented clinician", "role": "physiotherapist", "given_on": "2026-11-20",
            "joint_limits": [{"motion": "knee_flexion", "from_deg": 0, "to_deg": 90}], "min_reps_in_reserve": 4,
            **clearance,
        },
    )  # fmt: skip


def test_an_operated_side_has_its_gap_shown_and_no_plan(athlete: Callable[..., Compared]) -> None:
    """Scenario 13: cleared six weeks after a knee operation, a gap of 30 %; the closing plan is null, with its reason."""
    someone = athlete(birth_year=1964)
    operated(someone)
    someone.presses(28, 40, exercise_id=KNEE, reps_in_reserve=4)
    item = someone.gap(exercise_id=KNEE)
    assert -0.45 <= item["t"]["value"] <= -0.25
    assert (item["state"], item["involved_side"]) == ("left_ahead", "right")
    assert "closing_plan" not in item
    assert item["no_closing_plan"]["code"] == "closing_clinicians_target_needed"
    assert item["forecast"]["with_plan"] is False


def test_a_clinicians_target_opens_the_plan_inside_the_clearance(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    target = {"region": "knee", "side": "right", "percent_of_other_side": 90}
    whole = [{"motion": "knee_flexion", "from_deg": 0, "to_deg": 110}]
    operated(someone, side_targets=[target], joint_limits=whole)
    someone.presses(28, 40, exercise_id=KNEE, reps_in_reserve=4)
    plan = someone.gap(exercise_id=KNEE)["closing_plan"]
    assert plan["lagging_side"] == "right"
    assert plan["target_ratio"] == pytest.approx(0.9)
    assert plan["least_reserve"] == 4
    assert "closing_within_clearance" in codes(plan["cautions"])
    # Under a clearance no test is asked for: what was done is told.
    assert "closing_told_reserve" in codes(plan["reasons"])
    # Where the lift leaves the range that is allowed its next load is closed, and so are further sets of it.
    bent = athlete()
    operated(bent, side_targets=[target])
    bent.presses(28, 40, exercise_id=KNEE, reps_in_reserve=4)
    assert bent.gap(exercise_id=KNEE)["no_closing_plan"]["code"] == "closing_held_by_limit"
    # The target is that of the knee; of another region nothing was said.
    other = athlete()
    operated(other, side_targets=[{**target, "region": "hip"}])
    other.presses(28, 40, exercise_id=KNEE, reps_in_reserve=4)
    assert other.gap(exercise_id=KNEE)["no_closing_plan"]["code"] == "closing_clinicians_target_needed"


def test_closed_plans_close_this_one_too(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.presses(20, 22.5)
    someone.is_screened("referred")
    item = someone.gap(exercise_id=PRESS)
    assert item["state"] == "left_ahead"
    assert item["no_closing_plan"]["code"] == "closing_clearance_required"


def test_both_sides_operated_leave_no_side_to_measure_by(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    procedures = [
        {"region": "knee", "performed_on": "2025-10-10", "side": side} for side in ("left", "right")
    ]
    someone.is_screened("clear", procedures=procedures)
    someone.presses(28, 40, exercise_id=KNEE)
    refused = someone.gap(exercise_id=KNEE)
    assert "closing_plan" not in refused


def test_history_tells_what_the_gap_was_week_by_week(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    for session in range(12):
        days_ago = 2 + 7 * (11 - session)
        right = 20.0 if session < 6 else 22.0
        for side, load in (("right", right), ("left", 22.0)):
            for turn in range(2):
                someone.logs(PRESS, days_ago - 0.01 * turn, side, load, 8, reps_in_reserve=2, ordinal=turn)
    item = someone.gap(exercise_id=PRESS, weeks=26)
    history = item["history"]
    assert 10 <= len(history) <= 12
    assert [one["at"] for one in history] == sorted(one["at"] for one in history)
    assert history[-1]["at"] < NOW.isoformat()
    # Looking back, the gap of the first weeks is there and has gone since.
    assert history[1]["t"]["value"] < history[-1]["t"]["value"] - 0.01
    assert history[-1]["t"]["value"] == pytest.approx(item["t"]["value"], abs=0.01)
    assert all(one["t"]["sd"] > 0 for one in history)
    short = someone.gap(exercise_id=PRESS, weeks=3)
    assert [one["at"] for one in short["history"]] == [one["at"] for one in history[-3:]]
    assert short["history"][-1]["t"]["value"] == pytest.approx(history[-1]["t"]["value"], abs=0.003)
    assert someone.gap(exercise_id=PRESS, weeks=0)["history"] == []
    assert someone.client.get(f"{someone.path}/imbalance-indices", params={"weeks": 27}).status_code == 422


def test_girths_have_a_history_and_a_pooled_muscle_too(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    for days_ago, right in ((60, 36.9), (30, 36.6), (2, 36.3)):
        someone.measures(ARM, "right", [right, right + 0.1], days_ago)
        someone.measures(ARM, "left", [36.0, 36.1], days_ago)
    someone.presses(33, 30, exercise_id=ROW)
    someone.presses(33, 30, exercise_id="one-arm-lat-pulldown")
    size = someone.gap("size", "site", weeks=12)
    assert 8 <= len(size["history"]) <= 9
    assert size["history"][0]["t"]["value"] > size["t"]["value"] > 0.0
    pooled = [one for one in someone.asks(weeks=4)["items"] if one["scope"] == "muscle"]
    assert pooled
    assert all(len(one["history"]) == 4 for one in pooled)
    assert {one["no_closing_plan"]["code"] for one in pooled if "no_closing_plan" in one} <= {
        "closing_in_its_lifts"
    }


def test_an_answer_as_of_an_earlier_day_knows_nothing_later(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.presses(20, 20, sessions=4)
    then = NOW - timedelta(days=2)
    before = someone.asks(as_of=then.isoformat(), weeks=3)
    someone.logs(PRESS, 1, "right", 30, 8, reps_in_reserve=2)
    someone.logs(PRESS, 1, "left", 20, 8, reps_in_reserve=2)
    someone.measures(ARM, "right", [40.0], 0.5)
    after = someone.asks(as_of=then.isoformat(), weeks=3)
    assert before["items"] == after["items"]


def test_corrected_girths_stand_beside_plain_ones_and_are_never_mixed(
    athlete: Callable[..., Compared],
) -> None:
    someone = athlete()
    for side, fold in (("left", 12), ("right", 8)):
        folded = {"value": fold / 10, "unit": "cm"}
        someone.measures(ARM, side, [36.0, 36.0], skinfold=folded)
        someone.measures(ARM, side, [36.0, 36.0], 20)
    items = [one for one in someone.asks()["items"] if one["kind"] == "size"]
    plain, lean = sorted(items, key=lambda one: one["corrected"])
    assert (plain["basis"]["observation_count"], lean["basis"]["observation_count"]) == (2, 1)
    assert abs(plain["t"]["value"]) < 0.001
    assert lean["t"]["value"] > 0.02
    assert plain["technical_error"] > 0.0


def test_a_decimal_slip_among_the_girths_is_left_out_and_told(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.measures(ARM, "right", [36.4, 3.64, 36.4])
    someone.measures(ARM, "left", [35.9, 35.9, 35.9])
    size = someone.gap("size", "site")
    assert 0.01 <= size["t"]["value"] <= 0.035
    (slip,) = [one for one in size["reasons"] if one["code"] == "sides_girth_slip"]
    assert slip["params"]["count"] == 1
    lone = athlete()
    lone.measures(ARM, "right", [3.6])
    lone.measures(ARM, "left", [35.9])
    answer = lone.asks()
    assert answer["items"] == []
    assert [one["site"] for one in answer["not_computed"]] == [ARM]
    assert answer["ask"]["code"] == "sides_ask_girth_again"


def test_joint_motion_is_its_own_kind_in_degrees_without_indices(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.bends("wrist-extension", "right", [40, 42])
    someone.bends("wrist-extension", "left", [66, 65])
    someone.bends("weight-bearing-lunge", "left", [38])
    answer = someone.asks(weeks=4)
    (item,) = answer["items"]
    assert (item["kind"], item["scope"], item["test"]) == ("joint_motion", "test", "wrist-extension")
    assert item["difference"]["unit"] == "deg"
    assert item["difference"]["value"] < -12
    assert item["state"] == "left_ahead"
    assert item["indices"] == []
    assert "t" not in item
    assert item["no_closing_plan"]["code"] == "closing_not_by_sets"
    assert [one["test"] for one in answer["not_computed"]] == ["weight-bearing-lunge"]


def test_no_index_stands_anywhere_without_its_id_reference_limb_and_sign(
    athlete: Callable[..., Compared],
) -> None:
    someone = athlete(dominance={"hand": "right", "leg": "left"})
    two_gaps(someone)
    someone.presses(33, 30, exercise_id=ROW)
    for item in someone.asks()["items"]:
        assert item["indices"]
        for index in item["indices"]:
            assert index["id"]
            assert index["reference_limb"]
            assert index["sign_convention"]
            assert ("value" in index) != ("reason" in index)


def test_sides_swapped_in_every_set_swap_the_answer(athlete: Callable[..., Compared]) -> None:
    swap = {"left": "right", "right": "left"}
    here, there = athlete(), athlete()
    for session in range(6):
        for side, load in (("right", 20), ("left", 22.5)):
            said = {"reps_in_reserve": 2, "ordinal": ("right", "left").index(side)}
            here.logs(PRESS, 38 - 7 * session, side, load, 8, **said)
            there.logs(PRESS, 38 - 7 * session, swap[side], load, 8, **said)
    for side, girths in (("right", [36.4, 36.5]), ("left", [35.9, 35.8])):
        here.measures(ARM, side, girths, 1.0 if side == "right" else 0.9)
        there.measures(ARM, swap[side], girths, 1.0 if side == "right" else 0.9)
    for one, other in zip(here.asks(weeks=4)["items"], there.asks(weeks=4)["items"], strict=True):
        assert other["t"]["value"] == -one["t"]["value"]
        assert (other["p_right_ahead"], other["p_left_ahead"]) == (one["p_left_ahead"], one["p_right_ahead"])
        assert [then["t"]["value"] for then in other["history"]] == [
            -then["t"]["value"] for then in one["history"]
        ]
        assert other["forecast"]["t"]["value"] == -one["forecast"]["t"]["value"]
        if "closing_plan" in one:
            plans = one["closing_plan"], other["closing_plan"]
            assert plans[1]["lagging_side"] == swap[plans[0]["lagging_side"]]
            assert [(x["left_sets"], x["right_sets"]) for x in plans[0]["lifts"]] == [
                (x["right_sets"], x["left_sets"]) for x in plans[1]["lifts"]
            ]


def test_two_lifts_of_one_muscle_that_differ_the_other_way_are_not_fed_against_each_other(
    athlete: Callable[..., Compared],
) -> None:
    someone = athlete()
    someone.presses(30, 36, exercise_id=ROW)
    someone.presses(36, 30, exercise_id="one-arm-lat-pulldown")
    items = [one for one in someone.asks()["items"] if one["kind"] == "strength"]
    lifts = [one for one in items if one["scope"] == "exercise"]
    assert {one["state"] for one in lifts} == {"left_ahead", "right_ahead"}
    assert {one["no_closing_plan"]["code"] for one in lifts} == {"closing_feeds_opposite_gap"}


def test_a_limb_that_is_smaller_gets_sets_of_what_lies_under_the_tape(
    athlete: Callable[..., Compared],
) -> None:
    someone = athlete()
    for days_ago in (40, 20, 1):
        someone.measures(ARM, "right", [38.0, 38.1], days_ago)
        someone.measures(ARM, "left", [35.5, 35.6], days_ago)
    someone.presses(12, 12, exercise_id="one-arm-dumbbell-curl")
    size = someone.gap("size", "site")
    assert size["state"] == "right_ahead"
    plan = size["closing_plan"]
    assert (plan["quality"], plan["lagging_side"]) == ("size", "left")
    (lift,) = plan["lifts"]
    assert lift["exercise_id"] == "one-arm-dumbbell-curl"
    assert lift["left_sets"] - lift["right_sets"] == 2
    # Growth is slow: six weeks close little of it.
    assert size["forecast"]["t"]["value"] > 0.7 * size["t"]["value"]
    assert "biceps" not in str(size)
    # The press would feed the right arm's triceps only where the right side lags.
    someone.presses(22.5, 20)
    assert "closing_plan" in someone.gap(exercise_id=PRESS)


def test_a_press_that_lags_where_the_arm_is_far_bigger_is_not_fed(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    for days_ago in (40, 20, 1):
        someone.measures(ARM, "right", [38.0, 38.1], days_ago)
        someone.measures(ARM, "left", [35.5, 35.6], days_ago)
    someone.presses(20, 22.5)
    assert someone.gap(exercise_id=PRESS)["no_closing_plan"]["code"] == "closing_feeds_opposite_gap"


def test_a_side_that_goes_on_for_longer_is_told_as_endurance_beside_strength(
    athlete: Callable[..., Compared],
) -> None:
    """Heavy sets end together; at two thirds of the load the right side does five more."""
    someone = athlete()
    for session in range(10):
        days_ago = 66 - 7 * session
        for ordinal, (load, side, reps) in enumerate(
            ((26, "right", 5), (26, "left", 5), (18, "right", 20), (18, "left", 15))
        ):
            someone.logs(ROW, days_ago - 0.01 * ordinal, side, load, reps, to_failure=True, ordinal=ordinal)
    told = {one["kind"]: one for one in someone.asks(exercise_id=ROW, weeks=6)["items"]}
    endurance, strength = told["endurance"], told["strength"]
    assert endurance["state"] == "right_ahead"
    more = endurance["repetitions_more"]
    assert more["unit"] == "{reps}"
    assert 0.0 < more["interval"]["lower"] < more["value"] < 6.0
    # The load for the trained repetitions differs by less than the light sets alone would say: ln(19/14) on 30 or so.
    assert 0.0 < strength["t"]["value"] < 0.15
    assert endurance["history"]
    assert endurance["indices"]


def test_where_neither_side_tells_its_reserve_both_are_asked_for(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    for session in range(4):
        for turn, side in enumerate(("right", "left")):
            someone.logs(ROW, 22 - 7 * session - 0.01 * turn, side, 20, 10)
    answer = someone.asks(exercise_id=ROW)
    assert answer["items"][0]["state"] == "undetermined"
    # Of those whom nobody screened no test is asked: what was done is told.
    assert answer["ask"]["code"] == "sides_ask_told_reserve"
    someone.is_screened("clear")
    assert someone.asks(exercise_id=ROW)["ask"]["code"] == "sides_ask_reserve"


def test_sets_without_a_side_are_asked_about(athlete: Callable[..., Compared]) -> None:
    someone = athlete()
    someone.logs(ROW, 3, "unspecified", 20, 10, reps_in_reserve=1)
    answer = someone.asks()
    assert answer["items"] == []
    assert answer["ask"]["code"] == "sides_ask_side"
