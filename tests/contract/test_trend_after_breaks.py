"""Trends of those who come back after weeks away, over HTTP: a few days tell no plateau."""

from collections.abc import Callable, Sequence

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, lifters
from tests.world import World

AWAY = 35


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def pressed(person: Lifter, loads: Sequence[float], newest: int, **told: int) -> None:
    """Log two sets of 8 of each load, two days apart, the last one ``newest`` days ago."""
    sets: list[Json] = []
    for number, load in enumerate(loads):
        ago = newest + (len(loads) - 1 - number) * 2.0
        done = (person.did("bench-press", ago, load, 8, ordinal=ordinal, **told) for ordinal in range(2))
        sets.extend({**one, "id": person.new_id()} for one in done)
    kept = person.client.post(f"{person.path}/sets", json={"sets": sets})
    assert kept.status_code == 201, kept.text


@pytest.mark.parametrize(
    ("told", "loads"), [({"reps_in_reserve": 2}, (85, 86, 87.5)), ({}, (85, 86, 87.5, 88.5, 89.5, 91))]
)
def test_days_after_a_break_are_no_plateau(
    lifter: Callable[..., Lifter], told: dict[str, int], loads: Sequence[float]
) -> None:
    """Three sessions in 4 days after 5 weeks away; six in 10 days where nobody told how hard the sets were."""
    person, newcomer = lifter(BAR_AND_PLATES), lifter(BAR_AND_PLATES)
    pressed(person, [100.0] * 35, AWAY + 1 + 2 * (len(loads) - 1), **told)
    for one in (person, newcomer):
        pressed(one, loads, 1, **told)
    back, fresh = (one.asks("trends", exercise_id="bench-press")["items"][0] for one in (person, newcomer))
    assert back["sessions"] == fresh["sessions"] == len(loads)
    assert "trend_break" in {reason["code"] for reason in back["reasons"]}
    assert back["state"] == fresh["state"] == "not_decided"
    interval = back["change"]["interval"]
    assert interval["upper"] - interval["lower"] > 6.0


@pytest.mark.parametrize("weeks", [4, 6, 8, 12])
def test_a_break_is_named_by_lift_and_by_muscle_however_far_one_looks_back(
    lifter: Callable[..., Lifter], weeks: int
) -> None:
    """With the usual eight weeks the window began in the break: a change over two weeks was told without a word of it."""
    person = lifter(BAR_AND_PLATES)
    back = (85.0, 86.0, 87.5, 88.0, 89.0, 90.0, 91.0, 92.0, 92.5)
    pressed(person, [100.0] * 20, 40 + 2 * len(back), reps_in_reserve=2)
    pressed(person, back, 1, reps_in_reserve=2)
    items = person.asks("trends", weeks=weeks)["items"]
    assert {one["scope"] for one in items} == {"exercise", "muscle"}
    for one in items:
        told = [reason for reason in one["reasons"] if reason["code"] == "trend_break"]
        assert [reason["params"]["days"] for reason in told] == [pytest.approx(41.0, abs=0.5)]
        assert one["sessions"] == len(back)
