"""Pain that is named without its number is unknown: it lifts nothing, and it is no pain of 0. All people are invented."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import Json, Lifter, codes
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


def right(person: Lifter, **asked: Any) -> Json:
    (item,) = (one for one in person.asks(exercise_id=RAISE, **asked)["items"] if one["side"] == "right")
    found: Json = item
    return found


def planned(person: Lifter) -> list[Json]:
    return [one for one in person.asks("next-session")["items"] if one["exercise_id"] == RAISE]


def raises(person: Lifter, newest: float, *pain: Json, **said: Any) -> None:
    for days_ago in (14, 11):
        raised(person, days_ago)
    raised(person, newest, *pain, **said)


@pytest.mark.parametrize(
    ("pain", "said"),
    [([shoulder()], {}), ([shoulder()], {"limited_by": "pain"}), ([], {"limited_by": "pain"})],
)
def test_a_set_that_tells_of_pain_without_a_number_takes_load_off_and_is_asked_of(
    lifter: Callable[..., Lifter], pain: list[Json], said: Json
) -> None:
    person = lifter(ONE_KILO_STEPS)
    raises(person, 0.9, *pain, **said)
    answer = person.asks("tolerance")
    item = only(answer)
    assert (item["zone"], item["action"], item["increase_allowed"]) == ("reduce_and_watch", "reduce", False)
    assert "tolerance_pain_number_missing" in codes(item["reasons"])
    assert not {"tolerance_pain_go"} & codes(item["reasons"])
    assert not {"during", "after", "next_morning"} & item.keys()
    assert [one["kind"] for one in answer["due_checks"]] == ["pain_number", "next_morning_pain"]
    load = right(person)
    assert load["load"]["value"] <= 0.7 * 12
    assert "tolerance_pain_number_missing" in codes(load["reasons"])
    assert "watch_next_morning" in codes(load["cautions"])
    assert person.asks(exercise_id=RAISE)["ask"]["code"] == "load_progression_ask_pain_number"
    (item,) = planned(person)
    assert all(one["load"]["value"] <= 0.7 * 12 for one in item["sets"] if one["side"] == "right")
    due = person.asks("trends")["due_checks"]
    assert [one["kind"] for one in due][:2] == ["pain_number", "next_morning_pain"]
    checked_in(person, 0.3, pain=[shoulder(during=1, next_morning=0, exercise_id=RAISE)])
    told = person.asks("tolerance")
    assert told["due_checks"] == []
    assert all(one["increase_allowed"] for one in told["items"])


def test_pain_named_without_a_number_lets_no_lift_begin_again(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raises(person, 5, shoulder(during=7))
    checked_in(person, 2, pain=[shoulder(exercise_id=RAISE)])
    answer = person.asks("tolerance")
    item = only(answer)
    assert (item["action"], answer["action"]["code"]) == ("stop_movement", "stop_movement")
    assert "tolerance_pain_number_missing_holds" in codes(item["reasons"])
    assert "pain_number" in [one["kind"] for one in answer["due_checks"]]
    assert right(person)["decision"] == "stop"
    assert "load" not in right(person)
    (running,) = (
        one for one in person.asks("next-set", exercise_id=RAISE)["items"] if one["side"] == "right"
    )
    assert "load" not in running
    assert not [one for item in planned(person) for one in item["sets"] if one["side"] == "right"]
    checked_in(person, 1, pain=[shoulder(during=0, next_morning=0, exercise_id=RAISE)])
    assert only(person.asks("tolerance"))["action"] == "reduce"
    assert right(person)["load"]["value"] <= 0.7 * 12


def test_a_band_without_a_number_has_none_and_the_chart_draws_no_0(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raises(person, 2, shoulder(angle_band={"from_deg": 70, "to_deg": 110}, phase="lifting"))
    item = only(person.asks("tolerance"))
    assert item["bands"] == [{"from_deg": 70, "to_deg": 110, "phase": "lifting"}]
    assert item["range_end_deg"] == 60
    drawn = person.client.get(f"{person.path}/tolerance", params={"format": "svg"}).text
    assert "no number. now reduce and watch" in drawn
    assert "for want of a number: 1" in drawn


def test_pain_of_a_region_without_a_number_opens_no_region(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raises(person, 5)
    checked_in(person, 4, pain=[shoulder(during=7)])
    checked_in(person, 1, pain=[shoulder()])
    assert only(person.asks("tolerance"))["action"] == "stop_movement"
    assert right(person)["decision"] == "leave_out"
