"""Loads as people say them, and slips of the keyboard: neither may cost an answer. All people here are invented."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from tests.world import World

NOW = datetime(2026, 11, 24, 16, 0, tzinfo=UTC)
Log = Callable[..., None]


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


class Lifter:
    """One athlete with a gym, and ways to log and ask."""

    def __init__(self, client: TestClient) -> None:
        self.client, self.site, self.path = client, f"/v1/sites/{uuid4()}", f"/v1/athletes/{uuid4()}"
        assert client.put(self.site, json={"name": "Hall (invented)"}).status_code == 201
        items = [
            {"kind": "bar", "name": "Long bar", "mass": kg(20)},
            *(
                {"kind": "plate_pairs", "name": f"{m}s", "mass": kg(m), "pairs": 4}
                for m in (1.25, 2.5, 5, 10, 20)
            ),
            {"kind": "gear", "name": "bench", "gear": "bench"},
            {"kind": "gear", "name": "rack", "gear": "rack"},
        ]
        assert client.put(f"{self.site}/implements", json={"items": items}).status_code == 201
        body = {"time_zone": "UTC", "training_years": 4, "home_site_id": self.site.rsplit("/", 1)[1]}
        assert client.put(self.path, json=body).status_code == 201
        consent = {"purpose": "process_health", "granted": True, "text_version": "1"}
        assert client.post(f"{self.path}/consents", json=consent).status_code == 201

    def logs(self, days_ago: float, **said: Any) -> None:
        at = (NOW - timedelta(days=days_ago)).isoformat()
        body = {"exercise_id": "bench-press", "performed_at": at, "purpose": "work", **said}
        answer = self.client.put(f"{self.path}/sets/{uuid4()}", json=body)
        assert answer.status_code == 201, answer.text

    def asks(self, what: str, **params: Any) -> Any:
        answer = self.client.get(f"{self.path}/{what}", params=params)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def one_rep_max(self) -> float:
        item = self.asks("capability", exercise_id="bench-press", reps=1)["items"][0]
        return float(item["loads"][0]["load"]["value"])


@pytest.fixture
def lifter(world: World) -> Lifter:
    world.clock.instant = NOW
    return Lifter(world.signed_in())


def test_plates_on_a_named_bar_are_a_load(lifter: Lifter) -> None:
    for days in (12, 8, 4):
        lifter.logs(
            days, plates_per_side={"bar": "Long bar", "plates": [kg(20), kg(10)]}, reps=8, reps_in_reserve=2
        )
    told = lifter.one_rep_max()
    other = Lifter(lifter.client)
    for days in (12, 8, 4):
        other.logs(days, load=kg(80), reps=8, reps_in_reserve=2)
    assert told == other.one_rep_max()


@pytest.mark.parametrize(
    "slip", [{"load": kg(0.001), "reps": 1}, {"load": kg(2000), "reps": 500}, {"load": kg(60), "reps": 500}]
)
def test_a_slip_of_the_keyboard_costs_no_answer_and_moves_no_capability(
    lifter: Lifter, slip: dict[str, Any]
) -> None:
    for days in (12, 8, 4):
        lifter.logs(days, load=kg(80), reps=8, reps_in_reserve=2)
    before = lifter.one_rep_max()
    lifter.logs(1, **slip)
    assert lifter.one_rep_max() == pytest.approx(before, rel=0.01)
    for what in ("volume", "imbalance-indices", "load-progression", "next-session"):
        lifter.asks(what)


def test_a_log_of_slips_alone_is_answered_too(lifter: Lifter) -> None:
    lifter.logs(2, load=kg(0.3), reps=60)
    lifter.logs(1, load=kg(2000), reps=60, to_failure=True)
    for what in ("capability", "volume", "load-progression", "next-session"):
        lifter.asks(what)


def test_pain_told_of_a_lift_in_a_check_in_ends_that_lift(lifter: Lifter) -> None:
    for days in (12, 8, 4):
        lifter.logs(days, load=kg(80), reps=8, reps_in_reserve=2)
    pain = {"region": "shoulder", "during": 7, "exercise_id": "bench-press"}
    checkin = {"at": (NOW - timedelta(hours=1)).isoformat(), "pain": [pain]}
    assert lifter.client.put(f"{lifter.path}/checkins/{uuid4()}", json=checkin).status_code == 201
    item = lifter.asks("load-progression", exercise_id="bench-press")["items"][0]
    assert "load" not in item
    assert "bench-press" not in {one["exercise_id"] for one in lifter.asks("next-session")["items"]}


def test_a_level_of_a_station_is_never_taken_for_a_mass(lifter: Lifter) -> None:
    for days in (12, 8, 4):
        lifter.logs(days, exercise_id="machine-chest-press", load=kg(60), reps=10, reps_in_reserve=2)
    before = lifter.asks("capability", exercise_id="machine-chest-press", reps=1)["items"][0]["loads"]
    lifter.logs(
        1, exercise_id="machine-chest-press", level="7", load_basis="level", reps=10, reps_in_reserve=2
    )
    after = lifter.asks("capability", exercise_id="machine-chest-press", reps=1)["items"][0]["loads"]
    assert after[0]["load"]["value"] == pytest.approx(before[0]["load"]["value"], rel=0.01)
