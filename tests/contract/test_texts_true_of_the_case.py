"""Sentences that were untrue of the case in which they were told. All people are invented."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes
from tests.contract.test_pain_of_no_lift import next_loads, trained
from tests.contract.test_tolerance import ONE_KILO_STEPS, RAISE, checked_in, lifter, only, raised, shoulder

__all__ = ["lifter"]


@pytest.mark.parametrize("flag", ["chest_pain", "saddle_numbness", "locking"])
@pytest.mark.parametrize("pain", [{"during": 1, "next_morning": 0}, {"during": 4}, {}])
def test_what_rests_for_a_sign_is_not_told_to_carry_on(
    lifter: Callable[..., Lifter], flag: str, pain: Json
) -> None:
    person = lifter(ONE_KILO_STEPS)
    raised(person, 3)
    checked_in(person, 0.1, flags=[flag], pain=[shoulder(**pain)])
    item = only(person.asks("tolerance"))
    assert item["action"] == "rest_region"
    assert codes(item["reasons"]) == {"tolerance_rests_for_sign"}


def test_under_a_sign_a_movement_that_ended_says_so(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    raised(person, 1, shoulder(during=7))
    checked_in(person, 0.1, flags=["chest_pain"])
    item = only(person.asks("tolerance"))
    assert codes(item["reasons"]) == {"tolerance_rests_for_sign", "tolerance_pain_above_five_on"}


@pytest.mark.parametrize(
    ("checkin", "limit", "told"),
    [
        ({"pain": [{"region": "shoulder", "during": 7}]}, None, "pain closes it for now"),
        (
            {"flags": ["locking"], "pain": [{"region": "shoulder", "during": 1}]}, None,
            "the warning sign that you reported closes it",
        ),
        (None, {"kind": "preference", "mode": "replace", "exercise_ids": [RAISE]}, "a limit or a clearance closes it"),
    ],
)  # fmt: skip
def test_a_closed_lift_says_what_closes_it(
    lifter: Callable[..., Lifter], checkin: Json | None, limit: Json | None, told: str
) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    if checkin is not None:
        checked_in(person, 0.1, **checkin)
    if limit is not None:
        assert person.client.put(f"{person.path}/limits/{person.new_id()}", json=limit).status_code == 201
    for item in next_loads(person).values():
        assert item["decision"] == "leave_out"
        assert item["action"]["text"].endswith(f"leave it out; {told}.")


def test_no_side_is_called_weaker_where_neither_is_known_to_be(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    first = person.asks(exercise_id=RAISE)["items"][0]
    assert not [code for code in codes(first["reasons"]) if code.startswith("load_progression_lagging")]
    (told,) = (one for one in first["reasons"] if one["code"] == "load_progression_neither_side_weaker")
    assert (
        told["text"]
        == f"Neither side is known to be weaker: the {first['side']} side goes first and sets the load."
    )


def test_one_lift_is_not_counted_together(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in range(40, 1, -3):
        person.logs("bench-press", day, 60 + (40 - day) / 4, 8, reps_in_reserve=2)
    muscles: list[Any] = [one for one in person.asks("trends")["items"] if "muscle_id" in one]
    told = {code for one in muscles for code in codes(one["reasons"])}
    assert "trend_one_lift_tells" in told
    assert "trend_lifts_pooled" not in told
