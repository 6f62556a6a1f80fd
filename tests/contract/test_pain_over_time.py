"""Pain from one session and one morning to the next, over HTTP, for invented athletes."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import NOW, Lifter, codes
from tests.contract.test_tolerance import (
    ONE_KILO_STEPS,
    RAISE,
    checked_in,
    lifter,
    only,
    raised,
    shoulder,
)

__all__ = ["lifter"]


def test_mornings_that_get_better_swap_nothing(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    for days_ago, morning in ((9, 5), (7, 4), (5, 3.5), (3, 3)):
        raised(person, days_ago, shoulder(during=2, next_morning=morning))
    item = only(person.asks("tolerance"))
    assert (item["action"], item["load_factor"], item["increase_allowed"]) == ("hold", 1, False)
    assert codes(item["reasons"]) == {"tolerance_pain_morning_not_settled"}
    (right,) = (one for one in person.asks(exercise_id=RAISE)["items"] if one["side"] == "right")
    assert right["load"]["value"] <= 12


def test_pain_told_some_hours_after_a_session_counts_as_told_with_its_sets(
    lifter: Callable[..., Lifter],
) -> None:
    told, later = lifter(ONE_KILO_STEPS), lifter(ONE_KILO_STEPS)
    for days_ago in (4.5, 2.5):
        raised(told, days_ago, shoulder(during=3))
        raised(later, days_ago)
        checked_in(later, days_ago - 7 / 24, pain=[shoulder(during=3, exercise_id=RAISE)])
    with_sets, by_checkin = only(told.asks("tolerance")), only(later.asks("tolerance"))
    assert (by_checkin["action"], by_checkin["load_factor"]) == ("reduce", 0.8)
    assert by_checkin == with_sets


def test_load_comes_off_the_load_that_hurt_once_and_the_answer_says_which(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(ONE_KILO_STEPS, unit="lb")
    raised(person, 9, shoulder(during=4, next_morning=1))
    first = only(person.asks("tolerance"))
    assert first["action"] == "reduce"
    assert first["hurt_at"] == {
        "value": pytest.approx(26.455, abs=1e-3),
        "unit": "lb",
        "load_basis": "per_hand",
    }
    assert first["load_left"]["value"] == pytest.approx(0.75 * 26.455, abs=2e-3)
    assert "It hurt at 26.455 lb (per hand)." in [one["text"] for one in first["reasons"]]
    for days_ago in (6, 3):
        raised(person, days_ago, load=9)
    then = only(person.asks("tolerance"))
    assert (then["action"], then["increase_allowed"]) == ("hold", False)
    assert (then["load_factor"], then["hurt_at"]) == (0.75, first["hurt_at"])
    assert "tolerance_pain_load_is_off" in codes(then["reasons"])


def test_of_assistance_more_is_left(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    person.weighs(9, 80)
    person.logs("assisted-pull-up", 2, 20, 8, reps_in_reserve=2, pain=[shoulder(during=3)])
    item = only(person.asks("tolerance"))
    assert item["hurt_at"] == {"value": 20, "unit": "kg", "load_basis": "assistance"}
    assert item["load_left"]["value"] > 30


def test_an_arc_at_the_beginning_of_a_range_is_begun_after(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    pain = {"region": "knee", "side": "right", "during": 4, "angle_band": {"from_deg": 0, "to_deg": 20}}
    person.logs("knee-extension", 1, 40, 12, reps_in_reserve=2, pain=[pain])
    item = only(person.asks("tolerance"))
    assert (item["action"], item["range_start_deg"]) == ("reduce", 30)
    assert "range_end_deg" not in item
    assert "tolerance_pain_range_begins_after_arc" in codes(item["reasons"])


def test_a_sign_stays_until_a_check_in_about_its_region_no_longer_tells_it(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(ONE_KILO_STEPS)
    knee = {"region": "knee", "side": "right", "during": 2}
    checked_in(person, 1.5, flags=["locking"], pain=[knee])
    checked_in(person, 1, soreness=[{"muscle_id": "soleus", "score": 2}])
    answer = person.asks("tolerance")
    assert (answer["stops_region"], answer["action"]["code"]) == (True, "rest_region")
    assert "flag_locking" in codes(answer["cautions"])
    assert [(one["region"], one["action"]) for one in answer["items"]] == [("knee", "rest_region")]
    checked_in(person, 0.5, pain=[knee])
    answer = person.asks("tolerance")
    assert not answer["stops_region"]
    assert "flag_locking" not in codes(answer["cautions"])


def test_both_lists_ask_for_the_same_morning(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raised(person, 1.2, shoulder(region="Right shoulder", during=1))
    for answer in ("tolerance", "trends"):
        (due,) = (one for one in person.asks(answer)["due_checks"] if one["kind"] == "next_morning_pain")
        assert (due["region"], due["side"], due["exercise_id"]) == ("right_shoulder", "right", RAISE)
    checked_in(person, 0.4, pain=[{"region": "right-shoulder", "side": "both", "next_morning": 1}])
    for answer in ("tolerance", "trends"):
        assert "next_morning_pain" not in [one["kind"] for one in person.asks(answer)["due_checks"]]
    alone = next(one for one in person.asks("tolerance")["items"] if "exercise_id" not in one)
    assert [one["text"] for one in alone["reasons"]] == ["Pain of 1 out of 10 at most: carry on."]


def test_a_session_that_tells_nothing_takes_no_pain_back(lifter: Callable[..., Lifter]) -> None:
    """Tolerance and the next load say the same: silence is no painless session."""
    person = lifter(ONE_KILO_STEPS)
    raised(person, 6, shoulder(during=7))
    raised(person, 3)
    assert only(person.asks("tolerance"))["action"] in {"swap", "stop_movement"}
    (right,) = (one for one in person.asks(exercise_id=RAISE)["items"] if one["side"] == "right")
    assert right["decision"] == "stop"
    assert "load" not in right


def test_a_later_check_in_without_pain_lets_a_movement_begin_again_with_less(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(ONE_KILO_STEPS)
    for days_ago in (14, 11):
        raised(person, days_ago)
    raised(person, 8, shoulder(during=7))
    checked_in(person, 7, pain=[shoulder(during=0, next_morning=0, exercise_id=RAISE)])
    stopped = only(person.asks("tolerance"))
    assert (stopped["action"], stopped["during"]) == ("stop_movement", 7)
    (text,) = (one["text"] for one in stopped["reasons"] if one["code"] == "tolerance_pain_above_five_on")
    assert (NOW - timedelta(days=8)).date().isoformat() in text
    assert "today" not in text
    checked_in(person, 3, pain=[shoulder(during=4, exercise_id=RAISE)])
    assert only(person.asks("tolerance"))["action"] == "stop_movement"
    checked_in(person, 2, pain=[shoulder(during=0, next_morning=0, exercise_id=RAISE)])
    begun = only(person.asks("tolerance"))
    assert (begun["action"], begun["load_factor"], begun["increase_allowed"]) == ("reduce", 0.7, False)
    assert begun["hurt_at"]["value"] == 12
    assert "tolerance_pain_restart" in codes(begun["reasons"])
    (right,) = (one for one in person.asks(exercise_id=RAISE)["items"] if one["side"] == "right")
    assert right["decision"] not in {"stop", "swap"}
    assert right["load"]["value"] <= 0.7 * 12


def test_pain_told_in_a_late_check_in_is_not_that_of_the_last_session(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raised(person, 9, shoulder(during=1, next_morning=1))
    checked_in(person, 3, pain=[shoulder(during=4, exercise_id=RAISE)])
    item = only(person.asks("tolerance"))
    assert [one["during"] for one in item["sessions"]] == [1, 4]
    assert (item["action"], item["load_factor"], item["hurt_at"]["value"]) == ("reduce", 0.75, 12)


def test_no_pain_told_once_holds_nothing_for_weeks(lifter: Callable[..., Lifter]) -> None:
    quiet, sore = lifter(ONE_KILO_STEPS), lifter(ONE_KILO_STEPS)
    for person, pain in ((quiet, 1), (sore, 4)):
        raised(person, 20, shoulder(during=pain))
        for days_ago in (17, 14, 11, 8, 5, 2):
            raised(person, days_ago)
    free, held = only(quiet.asks("tolerance")), only(sore.asks("tolerance"))
    assert (free["action"], free["increase_allowed"]) == ("continue", True)
    assert "tolerance_pain_go_and_silence" in codes(free["reasons"])
    assert not held["increase_allowed"]
    (right,) = (one for one in quiet.asks(exercise_id=RAISE)["items"] if one["side"] == "right")
    assert "tolerance_pain_morning_unknown" not in codes(right["reasons"])
