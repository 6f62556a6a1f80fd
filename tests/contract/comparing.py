"""Invented athletes whose sides are compared, measured and asked about over HTTP."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
PRESS = "one-arm-overhead-press"
ROW = "one-arm-dumbbell-row"


@dataclass
class Compared:
    """An invented athlete of a tenant of their own."""

    client: TestClient
    path: str
    new_id: Callable[[], str]

    def logs(self, exercise_id: str, days_ago: float, side: str, load: float, reps: int, **said: Any) -> None:
        mass = {"value": load, "unit": "kg"}
        body = {
            "exercise_id": exercise_id, "performed_at": (NOW - timedelta(days=days_ago)).isoformat(), "side": side,
            "load": mass, "reps": reps, "purpose": "work", **said,
        }  # fmt: skip
        self._keeps("sets", body)

    def presses(
        self, right: float, left: float, sessions: int = 6, exercise_id: str = PRESS, **said: Any
    ) -> None:
        """Log a lift once a week for some weeks, both sides with a told reserve of two."""
        for session in range(sessions):
            for ordinal, (side, load) in enumerate((("right", right), ("left", left)) * 2):
                days_ago = 3 + 7 * (sessions - 1 - session) - 0.01 * ordinal
                self.logs(
                    exercise_id, days_ago, side, load, 8, **{"reps_in_reserve": 2, "ordinal": ordinal, **said}
                )

    def measures(
        self, site: str, side: str, readings: list[float], days_ago: float = 1.0, **said: Any
    ) -> None:
        body = {
            "kind": "girth", "at": (NOW - timedelta(days=days_ago)).isoformat(), "site": site, "side": side,
            "readings": readings, "unit": "cm", **said,
        }  # fmt: skip
        self._keeps("measurements", body)

    def bends(self, test: str, side: str, readings: list[float], days_ago: float = 1.0) -> None:
        at = (NOW - timedelta(days=days_ago)).isoformat()
        body = {"kind": "joint_motion", "at": at, "test": test, "side": side, "readings_deg": readings}
        self._keeps("measurements", body)

    def is_screened(self, outcome: str, **said: Any) -> None:
        body = {
            "instrument": "an invented form", "instrument_version": "1", "performed_on": "2026-11-20",
            "outcome": outcome, **said,
        }  # fmt: skip
        kept = self.client.post(f"{self.path}/screenings", json=body)
        assert kept.status_code == 201, kept.text

    def asks(self, **parameters: Any) -> Json:
        answer = self.client.get(f"{self.path}/imbalance-indices", params={"weeks": 0, **parameters})
        assert answer.status_code == 200, answer.text
        found: Json = answer.json()
        return found

    def gap(self, kind: str = "strength", scope: str = "exercise", **parameters: Any) -> Json:
        """Return the one item of a kind and scope."""
        items = self.asks(**parameters)["items"]
        (item,) = [one for one in items if (one["kind"], one["scope"]) == (kind, scope)]
        found: Json = item
        return found

    def _keeps(self, what: str, body: Json) -> None:
        kept = self.client.put(f"{self.path}/{what}/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text


def compared(world: World, new_id: Callable[[], str]) -> Callable[..., Compared]:
    """Return a maker of athletes; the clock stands at NOW."""
    world.clock.instant = NOW

    def make(**athlete: Any) -> Compared:
        client = world.signed_in()
        path = f"/v1/athletes/{new_id()}"
        said = {"time_zone": "Europe/Riga", "training_years": 4, **athlete}
        assert client.put(path, json=said).status_code == 201
        consent = {"purpose": "process_health", "granted": True, "text_version": "invented-1"}
        assert client.post(f"{path}/consents", json=consent).status_code == 201
        return Compared(client, path, new_id)

    return make


def codes(told: list[Json]) -> set[str]:
    return {one["code"] for one in told}
