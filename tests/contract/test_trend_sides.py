"""Trends of sides: what one limb did says nothing of the other, and sets that name no side speak of both together."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import FIVE_POUND_STEPS, Json, Lifter, codes, lifters
from tests.world import World

DAYS = [7 * week + day for week in range(8, -1, -1) for day in (4, 1)]


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def rising(day: float, start: float = 60.0) -> float:
    """Return a load that grows by a twelfth of the first a week, up to today. [kg]"""
    return round(start * (1.0 + (63 - day) / 7 / 12), 2)


def of_side(answer: Json, scope: str = "exercise") -> dict[str, Json]:
    """Return the items of the first lift, or of the first muscle, by side."""
    found = [item for item in answer["items"] if item["scope"] == scope]
    name = "exercise_id" if scope == "exercise" else "muscle_id"
    return {item["side"]: item for item in found if item[name] == found[0][name]}


def test_a_side_that_was_never_trained_has_no_trend(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in DAYS[6:]:
        person.logs("one-leg-calf-raise", day, rising(day, 20.0), 10, side="left", reps_in_reserve=2)
    answer = person.asks("trends", weeks=12)
    for scope in ("exercise", "muscle"):
        sides = of_side(answer, scope)
        assert sides["left"]["state"] == "progress"
        assert sides["left"]["sessions"] == 12
        right = sides["right"]
        assert right["state"] == "not_decided"
        assert "change" not in right
        assert (right["sessions"], right["basis"]["observation_count"]) == (0, 0)
        assert codes(right["reasons"]) == {"trend_side_not_told"}
    both = of_side(answer, "muscle")["both"]
    assert both["state"] == "not_decided"
    assert "trend_side_not_told" in codes(both["reasons"])


def test_a_trend_ends_with_the_sides_own_newest_session(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in DAYS:
        person.logs("one-leg-leg-press", day, rising(day), 10, side="left", reps_in_reserve=2)
        if day > 21:
            person.logs("one-leg-leg-press", day, 60, 10, side="right", reps_in_reserve=2)
    answer = person.asks("trends", weeks=12)
    sides = of_side(answer)
    assert sides["left"]["to"].startswith("2026-11-26")
    assert sides["right"]["to"].startswith("2026-11-05")
    assert sides["right"]["sessions"] == 12
    assert of_side(answer, "muscle")["both"]["to"].startswith("2026-11-05")
    lately = of_side(person.asks("trends", weeks=4))
    assert lately["left"]["state"] == "progress"
    assert lately["right"]["state"] == "not_decided"
    assert "trend_side_not_told" in codes(lately["right"]["reasons"])


def test_sets_without_a_side_speak_of_both_together(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in DAYS:
        person.logs("one-leg-leg-press", day, rising(day), 10, reps_in_reserve=2)
    answer = person.asks("trends")
    sides = of_side(answer)
    assert {side: item["state"] for side, item in sides.items()} == {
        "left": "not_decided", "right": "not_decided", "both": "progress",
    }  # fmt: skip
    assert "trend_side_shared" in codes(sides["both"]["reasons"])
    assert "trend_side_not_told" in codes(sides["left"]["reasons"])
    muscles = of_side(answer, "muscle")
    assert muscles["both"]["state"] == "progress"
    assert "trend_side_shared" in codes(muscles["both"]["reasons"])
    assert muscles["left"]["state"] == "not_decided"


def test_one_of_two_loads_does_not_tell_of_both(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in DAYS:
        person.logs("dumbbell-curl", day, rising(day, 10.0), 10, side="left", reps_in_reserve=2)
    both = of_side(person.asks("trends"))["both"]
    assert both["state"] == "not_decided"
    assert codes(both["reasons"]) == {"trend_side_not_told"}
    for day in DAYS:
        person.logs("dumbbell-curl", day, rising(day, 10.0), 10, side="right", reps_in_reserve=2)
    assert of_side(person.asks("trends"))["both"]["state"] == "progress"
