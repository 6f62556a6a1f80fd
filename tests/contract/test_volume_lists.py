"""The lists of a week told set by set are never longer than the contract says: a longer one is refused by name."""

import json
from collections.abc import Callable
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, lifters
from tests.world import World

CHEST = "pectoralis-major-sternal"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    return lifters(shared_world, new_id)(BAR_AND_PLATES)


def bench(minutes: float, **said: Any) -> Json:
    return {
        "id": str(uuid4()), "exercise_id": "bench-press", "performed_at": (NOW - timedelta(minutes=minutes)).isoformat(),
        "load": {"value": 80, "unit": "kg"}, "reps": 8, "reps_in_reserve": 1, "purpose": "work", **said,
    }  # fmt: skip


def keeps(someone: Lifter, sets: list[Json]) -> None:
    kept = someone.client.post(f"{someone.path}/sets", json={"sets": sets})
    assert kept.status_code == 201, kept.text[:300]


@cache
def most(name: str) -> int:
    """How many the contract says that a list holds at most."""
    contract = json.loads((Path(__file__).parents[2] / "openapi" / "openapi.json").read_text("utf-8"))
    owner = "CountedSet" if name == "stages" else "MuscleVolume"
    said = contract["components"]["schemas"][owner]["properties"][name]
    bounds = [one["maxItems"] for one in said.get("anyOf", [said]) if "maxItems" in one]
    return int(bounds[0])


def lists_of(someone: Lifter) -> dict[str, int]:
    """Ask set by set; every list has to keep within the contract's bound. Lengths of the item of both sides."""
    found: dict[str, int] = {}
    for item in someone.asks("volume", muscle_id=CHEST, detail="full")["items"]:
        for name in ("sets", "not_counted", "sessions"):
            assert len(item[name]) <= most(name)
        for one in item["sets"]:
            assert len(one.get("stages", [])) <= most("stages")
        found = {name: len(item[name]) for name in ("sets", "not_counted", "sessions")}
    return found


def refused(someone: Lifter) -> tuple[str, str]:
    problem = someone.asks("volume", 409, muscle_id=CHEST, detail="full")
    (fault,) = problem["errors"]
    assert (problem["code"], fault["parameter"], fault["code"]) == (
        "not_possible",
        "detail",
        "too_much_detail",
    )
    return fault["detail"], fault["expected"]


def test_a_week_of_as_many_sets_as_the_list_holds_is_told_and_of_one_more_refused(
    lifter: Lifter,
) -> None:
    bound = most("sets")
    keeps(lifter, [bench(minute / 2) for minute in range(bound)])
    assert lists_of(lifter)["sets"] == bound
    keeps(lifter, [bench(bound / 2)])
    detail, expected = refused(lifter)
    assert detail == f"{bound + 1} sets that count, of {CHEST} in the week from 2026-11-23"
    assert expected.startswith(f"at most {bound} sets that count ")
    (item,) = [one for one in lifter.asks("volume", muscle_id=CHEST)["items"] if one["side"] == "both"]
    assert item["basis"]["observation_count"] == bound + 1


def test_so_are_more_warm_ups_and_more_drops_of_one_set(lifter: Lifter, shared_world: World) -> None:
    bound, drops = most("not_counted"), most("stages") - 1
    first = bench(10.0)
    # Their numbers end at 20; several may have the same.
    told = [
        bench(10.0 - place / 60, stage=min(place, 20), stage_of=first["id"]) for place in range(1, drops + 2)
    ]
    keeps(lifter, [first, *told[:drops]])
    lists_of(lifter)
    keeps(lifter, told[drops:])
    assert refused(lifter)[0].startswith(f"{drops + 2} stages of one drop set, of ")
    other = lifters(shared_world, lifter.new_id)(BAR_AND_PLATES)
    keeps(other, [bench(minute / 2, purpose="warm_up") for minute in range(bound + 1)])
    assert refused(other)[0].startswith(f"{bound + 1} sets that do not count, of ")


def test_so_are_more_sessions(lifter: Lifter) -> None:
    bound = most("sessions")
    visits = [str(uuid4()) for _ in range(bound + 1)]
    started = {"started_at": (NOW - timedelta(minutes=1100)).isoformat()}
    for place in range(0, bound + 1, 100):
        operations = [
            {"op": "put", "type": "session", "id": one, "body": started}
            for one in visits[place : place + 100]
        ]
        assert (
            lifter.client.post(f"{lifter.path}/operations", json={"operations": operations}).status_code
            == 200
        )
    sets = [bench(minute, session_id=one) for minute, one in enumerate(visits)]
    keeps(lifter, sets[:bound])
    assert lists_of(lifter)["sessions"] == bound
    keeps(lifter, sets[bound:])
    assert refused(lifter)[0].startswith(f"{bound + 1} sessions, of ")
