"""Whose effort was not told: the sets of the weeks and the side that a trend speaks of, and no others."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, FIVE_POUND_STEPS, Json, Lifter, lifters
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def trained(person: Lifter, weeks: int, reserve: Callable[[int], int | None]) -> None:
    """Log two sessions of two bench presses a week; ``reserve`` is told by weeks ago."""
    for week in range(weeks - 1, -1, -1):
        for day in (4, 1):
            for place in range(2):
                told = reserve(week)
                said = {} if told is None else {"reps_in_reserve": told}
                person.logs("bench-press", 7 * week + day - 0.01 * place, 60, 8, **said)


def assumed(answer: Json, side: str = "both") -> list[int]:
    (item,) = [one for one in answer["items"] if one["scope"] == "exercise" and one["side"] == side]
    return [one["params"]["sets"] for one in item["reasons"] if one["code"] == "trend_effort_assumed"]


def test_effort_told_in_the_weeks_asked_for_is_told(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person, 20, lambda week: 2 if week < 8 else None)
    assert not assumed(person.asks("trends", weeks=8))


def test_effort_told_before_the_weeks_asked_for_is_not(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    trained(person, 20, lambda week: None if week < 8 else 2)
    assert assumed(person.asks("trends", weeks=8)) == [32]


def test_effort_told_of_one_side_is_not_the_others(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for week in range(7, -1, -1):
        for day in (4, 1):
            said = {"unit": "lb", "side": "left", "reps_in_reserve": 2}
            person.logs("one-arm-dumbbell-row", 7 * week + day, 40, 8, **said)
            person.logs("one-arm-dumbbell-row", 7 * week + day - 0.01, 40, 8, unit="lb", side="right")
    answer = person.asks("trends", weeks=12)
    assert not assumed(answer, "left")
    assert assumed(answer, "right") == [16]
