"""Trends over HTTP of lifts that at once show something else: another machine, or an athlete who is not well."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.contract.trend_cases import asked
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def pressed(person: Lifter, exercise_id: str, loads: dict[range, float], **said: Any) -> None:
    for days, load in loads.items():
        for day in days:
            person.logs(exercise_id, day, load, 8, reps_in_reserve=2, **said)


def told(person: Lifter, exercise_id: str, side: str = "both") -> Json:
    (item,) = [one for one in asked(person, exercise_id)["items"] if one["side"] == side]
    found: Json = item
    return found


@pytest.mark.parametrize(("load", "code"), [(56, "trend_sudden_rise"), (30, "trend_sudden_fall")])
def test_another_machine_that_nobody_told_of_is_no_change_of_strength(
    lifter: Callable[..., Lifter], load: float, code: str
) -> None:
    person = lifter(BAR_AND_PLATES)
    pressed(person, "lat-pulldown", {range(45, 20, -3): 40, range(20, 0, -3): load})
    item = told(person, "lat-pulldown")
    assert item["state"] in {"stall", "not_decided"}
    assert item["sessions"] == 7
    assert abs(item["change"]["value"]) < 5.0
    (reason,) = [one for one in item["reasons"] if one["code"] == code]
    assert reason["params"]["sessions"] == 9
    assert reason["params"]["percent"] == pytest.approx(100.0 * abs(load / 40 - 1.0), abs=0.1)
    clinician = any("clinician" in one["text"] for one in item["reasons"])
    assert clinician == (code == "trend_sudden_fall")


def test_all_lifts_at_once_are_the_athletes_own(lifter: Callable[..., Lifter]) -> None:
    """Ill or worn out: that is a loss, for however long it lasts."""
    person = lifter(BAR_AND_PLATES)
    for exercise_id in ("bench-press", "lat-pulldown"):
        pressed(person, exercise_id, {range(45, 20, -3): 80, range(20, 0, -3): 60})
    item = told(person, "bench-press")
    assert item["state"] == "regression"
    assert item["sessions"] == 16
    assert "trend_sudden_fall" not in codes(item["reasons"])


def test_one_side_that_falls_alone_has_fallen(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    pressed(person, "one-leg-leg-press", {range(45, 0, -3): 60}, side="left")
    pressed(person, "one-leg-leg-press", {range(45, 20, -3): 60, range(20, 0, -3): 40}, side="right")
    item = told(person, "one-leg-leg-press", "right")
    assert item["state"] == "regression"
    assert "trend_sudden_fall" not in codes(item["reasons"])


def test_both_sides_at_once_are_another_machine(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for side in ("left", "right"):
        pressed(person, "one-leg-leg-press", {range(45, 20, -3): 60, range(20, 0, -3): 40}, side=side)
    item = told(person, "one-leg-leg-press", "right")
    assert item["state"] != "regression"
    assert "trend_sudden_fall" in codes(item["reasons"])


def test_a_week_that_all_lifts_are_easy_in_is_no_step_of_the_one_that_shows_it_cleanly(
    lifter: Callable[..., Lifter],
) -> None:
    """A lift back from an easy week used to be told as another machine, the others' repetitions having gone up and down."""
    person = lifter(BAR_AND_PLATES)
    pressed(person, "lat-pulldown", {range(45, 11, -3): 60, range(11, 3, -3): 48, range(2, 0, -1): 60})
    for day in range(45, 0, -1):
        if day % 3 == 0 or day < 3:
            easy = 3 < day < 12
            reps = 8 if day % 2 else 10
            person.logs("bench-press", day, 60 if easy else 75, reps, reps_in_reserve=2)
    reasons = codes(told(person, "lat-pulldown")["reasons"])
    assert not {"trend_sudden_rise", "trend_sudden_fall"} & set(reasons)
