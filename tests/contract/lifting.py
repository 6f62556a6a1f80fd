"""Invented athletes at invented gyms, who log and ask over HTTP."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 18, 20, tzinfo=UTC)
BAR_AND_PLATES = [
    {"kind": "bar", "name": "Bar", "mass": {"value": 20, "unit": "kg"}},
    *(
        {"kind": "plate_pairs", "name": f"{mass} kg", "mass": {"value": mass, "unit": "kg"}, "pairs": 4}
        for mass in (20, 10, 5, 2.5, 1.25)
    ),
    {"kind": "gear", "name": "Flat bench", "gear": "bench"},
    {"kind": "gear", "name": "Rack", "gear": "rack"},
]
LEG_PRESS = [
    {"kind": "bar", "name": "Sled", "mass": {"value": 20, "unit": "kg"}, "station": "leg-press"},
    *BAR_AND_PLATES[1:6],
]
FIVE_POUND_STEPS = [
    {"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 5, "last": 50, "step": 5},
    {"kind": "gear", "name": "Flat bench", "gear": "bench"},
]


@dataclass
class Lifter:
    """An invented athlete of a tenant of their own, at a gym of their own."""

    client: TestClient
    world: World
    site: str
    path: str
    new_id: Callable[[], str]

    def did(self, exercise_id: str, days_ago: float, load: float, reps: int, **said: Any) -> Json:
        unit = said.pop("unit", "kg")
        return {
            "exercise_id": exercise_id, "performed_at": (NOW - timedelta(days=days_ago)).isoformat(),
            "load": {"value": load, "unit": unit}, "reps": reps, "purpose": "work", **said,
        }  # fmt: skip

    def sends(self, body: Json) -> None:
        kept = self.client.put(f"{self.path}/sets/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text

    def logs(self, exercise_id: str, days_ago: float, load: float, reps: int, **said: Any) -> None:
        self.sends(self.did(exercise_id, days_ago, load, reps, **said))

    def asks(self, answer: str = "load-progression", status: int = 200, **parameters: Any) -> Json:
        got = self.client.get(f"{self.path}/{answer}", params=parameters)
        assert got.status_code == status, got.text
        found: Json = got.json()
        return found

    def next(self, **parameters: Any) -> Json:
        items = self.asks(**parameters)["items"]
        assert len(items) == 1
        item: Json = items[0]
        return item

    def visits(self, days_ago: float, site: str | None = None) -> str:
        session = self.new_id()
        started_at = (NOW - timedelta(days=days_ago)).isoformat()
        body = {"started_at": started_at, "site_id": site or self.site}
        kept = self.client.put(f"{self.path}/sessions/{session}", json=body)
        assert kept.status_code == 201, kept.text
        return session

    def site_with(self, implements: list[Json]) -> str:
        site = self.new_id()
        self.client.put(f"/v1/sites/{site}", json={"name": "Riverside Hall (invented)", "safety_bars": True})
        stock = self.client.put(f"/v1/sites/{site}/implements", json={"items": implements})
        assert stock.status_code == 201, stock.text
        return site

    def weighs(self, days_ago: float, kilograms: float) -> None:
        at = (NOW - timedelta(days=days_ago)).isoformat()
        body = {"kind": "body_mass", "at": at, "mass": {"value": kilograms, "unit": "kg"}}
        kept = self.client.put(f"{self.path}/measurements/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text

    def consents(self, granted: bool = True) -> None:
        body = {"purpose": "process_health", "granted": granted, "text_version": "invented-1"}
        assert self.client.post(f"{self.path}/consents", json=body).status_code == 201

    def is_screened(self, outcome: str = "clear", **said: Any) -> None:
        body = {
            "instrument": "club questionnaire (invented)", "instrument_version": "1", "performed_on": "2026-11-01",
            "outcome": outcome, **said,
        }  # fmt: skip
        assert self.client.post(f"{self.path}/screenings", json=body).status_code == 201


def lifters(world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    """Return a maker of athletes, each of a tenant and with a gym of their own; the clock stands at NOW."""
    world.clock.instant = NOW

    def make(implements: list[Json], **athlete: Any) -> Lifter:
        client = world.signed_in()
        made = Lifter(client, world, new_id(), f"/v1/athletes/{new_id()}", new_id)
        client.put(f"/v1/sites/{made.site}", json={"name": "Hillside Hall (invented)", "safety_bars": True})
        stock = client.put(f"/v1/sites/{made.site}/implements", json={"items": implements})
        assert stock.status_code == 201, stock.text
        said = {"time_zone": "Europe/Riga", "training_years": 4, "home_site_id": made.site, **athlete}
        assert client.put(made.path, json=said).status_code == 201
        made.consents()
        made.is_screened()
        return made

    return make


def codes(told: list[Json]) -> set[str]:
    return {one["code"] for one in told}
