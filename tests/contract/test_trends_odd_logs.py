"""Trends of absurd logs: whatever was logged, there is an answer, and its chances add up."""

from collections.abc import Callable
from datetime import timedelta
from random import Random

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, lifters
from tests.world import World

LIFTS = (
    "bench-press", "pull-up", "one-arm-dumbbell-curl", "plank", "leg-press", "machine-chest-press", "push-up",
    "farmers-carry", "assisted-pull-up",
)  # fmt: skip
ASKED: tuple[Json, ...] = (
    {},
    {"weeks": 24},
    {"weeks": 4, "mass": 0.99},
    {"side": "left"},
    {"exercise_id": "bench-press"},
    {"as_of": (NOW - timedelta(days=30)).isoformat()},
)


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def odd_set(person: Lifter, rng: Random) -> Json:
    exercise_id = rng.choice(LIFTS)
    day = rng.choice((rng.random() * 3, rng.random() * 60, rng.random() * 180, float(rng.randint(1, 9))))
    said: Json = {
        "purpose": rng.choice(("work", "work", "warm_up", "rehab", "test", "unknown")),
        "range": rng.choice(("full", "full", "bottom_half", "top_half", "unknown")),
        "stage": rng.choice((0, 0, 0, 1)),
        "to_failure": rng.random() < 0.2,
    }
    if rng.random() < 0.4:
        said["reps_in_reserve"] = rng.choice((0, 1, 20))
    if exercise_id.startswith("one-arm"):
        said["side"] = rng.choice(("left", "right", "unspecified"))
    load, reps = rng.choice((0, 0.1, 1, 20, 80, 2000)), rng.choice((0, 1, 5, 10, 60, 200))
    body = person.did(exercise_id, day, load, reps, **said)
    if rng.random() < 0.3:
        del body["load"]
    if rng.random() < 0.2 and "load" not in body:
        body |= {"level": "7", "load_basis": "level"}
    if rng.random() < 0.3:
        body["session_id"] = person.visits(day)
    return body


@pytest.mark.parametrize(("seed", "count"), [(1, 1), (2, 3), (3, 20), (4, 40), (5, 40)])
def test_any_log_has_an_answer(lifter: Callable[..., Lifter], seed: int, count: int) -> None:
    rng, person = Random(seed), lifter(BAR_AND_PLATES)
    for _ in range(count):
        person.client.put(f"{person.path}/sets/{person.new_id()}", json=odd_set(person, rng))
    for asked in ASKED:
        for item in person.asks("trends", **asked)["items"]:
            assert item["state"] in {"progress", "stall", "regression", "not_decided"}
            assert item["reasons"]
            if "change" in item:
                chances = item["p_progress"] + item["p_regression"] + item["p_stall"]
                assert chances == pytest.approx(1.0, abs=2e-4)


def test_sessions_seconds_apart_have_no_weekly_change(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for number, load in enumerate((60, 70, 80)):
        day = 1.0 - number * 2.0 / 86_400.0
        person.logs("bench-press", day, load, 8, reps_in_reserve=1, session_id=person.visits(day))
    for item in person.asks("trends")["items"]:
        assert item["sessions"] == 3
        assert "change" in item
        assert "weekly_change" not in item
