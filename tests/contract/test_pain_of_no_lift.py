"""Pain that a check-in tells of a region and of no lift reaches every load of a lift that loads it. All people are invented."""

from collections.abc import Callable
from typing import Any

import pytest

from service.catalogue.loading import load_catalogue
from tests.contract.lifting import Json, Lifter, codes
from tests.contract.test_tolerance import ONE_KILO_STEPS, RAISE, checked_in, lifter

__all__ = ["lifter"]

Told = dict[str, Any]


def trained(person: Lifter, *days: float, load: float = 12) -> None:
    for day in days:
        session = person.visits(day)
        for ordinal in range(3):
            for place, side in enumerate(("left", "right")):
                person.logs(
                    RAISE, day - 0.006 * ordinal - 0.003 * place, load, 12, side=side, session_id=session,
                    reps_in_reserve=3,
                )  # fmt: skip


def next_loads(person: Lifter, exercise_id: str = RAISE) -> dict[str, Json]:
    return {one["side"]: one for one in person.asks(exercise_id=exercise_id)["items"]}


def planned(person: Lifter, side: str) -> list[float]:
    return [
        one["load"]["value"]
        for item in person.asks("next-session")["items"]
        if item["exercise_id"] == RAISE
        for one in item["sets"]
        if one["side"] == side and not one["ramp"]
    ]


@pytest.mark.parametrize(
    ("said", "hurts"),
    [({"side": "left"}, ["left"]), ({}, ["left", "right"]), ({"side": "both"}, ["left", "right"])],
)
def test_pain_of_four_in_a_region_takes_load_off_every_answer_on_its_side(
    lifter: Callable[..., Lifter], said: Told, hurts: list[str]
) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    checked_in(person, 0.1, pain=[{"region": "shoulder", "during": 4, **said}])
    loads = next_loads(person)
    for side in ("left", "right"):
        item = loads[side]
        if side in hurts:
            assert (item["load"]["value"], item["policy"]) == (9, "reduce_load")
            assert {"tolerance_pain_of_region", "tolerance_pain_middle_zone"} <= codes(item["reasons"])
            assert "watch_next_morning" in codes(item["cautions"])
            assert set(planned(person, side)) == {9}
        else:
            assert item["load"]["value"] >= 12
            assert min(planned(person, side)) >= 12
    session = person.visits(0.01)
    running = person.asks("next-set", exercise_id=RAISE, session_id=session)["items"]
    assert {one["side"]: one["load"]["value"] for one in running}["left"] == 9


def test_nothing_rises_while_the_morning_after_pain_of_a_region_is_due(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    checked_in(person, 0.1, pain=[{"region": "shoulder", "during": 1}])
    for item in next_loads(person).values():
        assert (item["load"]["value"], item["reps"], item["policy"]) == (12, 12, "hold_load")
        assert "tolerance_pain_morning_unknown" in codes(item["reasons"])


def test_load_comes_off_once_for_a_region_that_is_told_again_and_again(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 16, 13, 10)
    checked_in(person, 8, pain=[{"region": "shoulder", "during": 4}])
    trained(person, 7, load=9)
    checked_in(person, 5, pain=[{"region": "shoulder", "during": 4}])
    trained(person, 4, load=9)
    checked_in(person, 0.1, pain=[{"region": "shoulder", "during": 4, "next_morning": 1}])
    for item in next_loads(person).values():
        assert (item["load"]["value"], item["policy"]) == (9, "hold_load")
        assert "tolerance_pain_load_is_off" in codes(item["reasons"])
        assert item["reps"] == 12


def test_a_lift_that_does_not_load_the_region_is_left_alone_and_an_unknown_region_says_so(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    checked_in(person, 0.2, pain=[{"region": "Left knee", "during": 7}])
    assert all(item["decision"] == "do" for item in next_loads(person).values())
    checked_in(person, 0.1, pain=[{"region": "Knie", "during": 7}])
    for item in next_loads(person).values():
        assert item["decision"] == "leave_out"
        (told,) = (one for one in item["reasons"] if one["code"] == "tolerance_region_not_known")
        assert "(knie)" in told["text"]
    (item,) = (one for one in person.asks("tolerance")["items"] if one["region"] == "knie")
    assert "tolerance_region_not_known" in codes(item["reasons"])


def test_pain_told_of_another_lift_is_not_that_of_this_one(lifter: Callable[..., Lifter]) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)
    checked_in(
        person, 0.1, pain=[{"region": "shoulder", "during": 4, "exercise_id": "dumbbell-lateral-raise"}]
    )
    assert all(item["load"]["value"] >= 12 for item in next_loads(person).values())


@pytest.mark.parametrize(
    "pains",
    [[{"during": 1, "next_morning": 6}], [{"next_morning": 3}, {"next_morning": 4}, {"next_morning": 5}]],
)
def test_a_plan_brings_in_no_new_lift_that_loads_a_region_to_be_swapped(
    lifter: Callable[..., Lifter], pains: list[Told]
) -> None:
    person = lifter(ONE_KILO_STEPS)
    trained(person, 13, 10, 7, 4)

    def shoulders() -> set[str]:
        lifts = load_catalogue().exercises
        items = person.asks("next-session")["items"]
        return {
            one["exercise_id"]
            for one in items
            if dict(lifts[one["exercise_id"]].joint_stress).get("shoulder")
        }

    assert shoulders() - {RAISE}
    for place, pain in enumerate(pains):
        checked_in(person, 2.3 - place, pain=[{"region": "shoulder", **pain}])
    assert person.asks("tolerance")["action"]["code"] == "swap"
    assert not shoulders()
    assert all(item["decision"] == "leave_out" for item in next_loads(person).values())
