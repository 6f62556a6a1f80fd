"""Absurd logs and measurements get an answer on the sides, never a failure. People are invented."""

from collections.abc import Callable
from datetime import timedelta
from random import Random

import pytest

from tests.contract.comparing import NOW, PRESS, ROW, Compared, Json, compared
from tests.world import World

LIFTS = (PRESS, ROW, "one-arm-lat-pulldown", "one-leg-knee-extension", "bench-press", "pull-up")
SIDES = ("left", "right", "left", "right", "both", "unspecified")
ASKED: tuple[Json, ...] = (
    {}, {"weeks": 26}, {"weeks": 3, "as_of": (NOW - timedelta(days=20)).isoformat()},
    {"exercise_id": PRESS, "weeks": 4}, {"muscle_id": "latissimus-dorsi", "mass": 0.95},
    {"involved_side": "left", "detail": "full"},
)  # fmt: skip


def furnish(someone: Compared, rng: Random) -> None:
    """Send what may come, kept or refused: loads of a gram and of two tons, girths in the wrong unit, folds wider than limbs."""

    def days() -> float:
        return float(rng.choice((0.02, 1, 1, 5, 30, 100, 181, 300, 2000)) + 0.01 * rng.random())

    for _ in range(rng.randint(0, 25)):
        told = rng.choice(({"reps_in_reserve": rng.choice((0, 1, 5, 20))}, {"to_failure": True}, {}))
        body = {
            "exercise_id": rng.choice(LIFTS), "performed_at": (NOW - timedelta(days=days())).isoformat(),
            "side": rng.choice(SIDES), "load": {"value": rng.choice((0.1, 5, 20, 22.5, 2000)), "unit": "kg"},
            "reps": rng.choice((0, 1, 5, 10, 10, 60, 200)), "ordinal": rng.randint(0, 5),
            "stage": rng.choice((0, 0, 0, 1)), **told,
        }  # fmt: skip
        someone.client.put(f"{someone.path}/sets/{someone.new_id()}", json=body)
    for _ in range(rng.randint(0, 10)):
        at = (NOW - timedelta(days=days())).isoformat()
        girth = {
            "kind": "girth", "at": at, "site": rng.choice(("upper-arm-relaxed", "thigh-mid", "neck")),
            "side": rng.choice(("left", "right", "both")), "unit": rng.choice(("cm", "in")),
            "readings": [rng.choice((0.001, 3.6, 36, 36.4, 300)) for _ in range(rng.randint(1, 4))],
            "skinfold": {"value": rng.choice((0.1, 1, 100)), "unit": "cm"},
        }  # fmt: skip
        angle = {
            "kind": "joint_motion", "at": at, "test": rng.choice(("lunge", "wrist-extension")),
            "side": rng.choice(("left", "right", "both")), "readings_deg": [rng.choice((-180, 0, 40, 360))],
        }  # fmt: skip
        someone.client.put(f"{someone.path}/measurements/{someone.new_id()}", json=rng.choice((girth, angle)))


@pytest.mark.parametrize("seed", range(8))
def test_an_absurd_log_gets_an_answer(shared_world: World, new_id: Callable[[], str], seed: int) -> None:
    rng, someone = Random(seed), compared(shared_world, new_id)()
    if rng.random() < 0.5:
        procedure = {
            "region": rng.choice(("knee", "shoulder", "x")),
            "performed_on": "2026-10-01",
            "side": "left",
        }
        someone.is_screened(rng.choice(("clear", "referred")), procedures=[procedure])
    furnish(someone, rng)
    for asked in ASKED:
        for item in someone.asks(**asked)["items"]:
            assert ("closing_plan" in item) != ("no_closing_plan" in item)
            assert ("t" in item) != ("difference" in item)
    shared_world.clock.instant = None
