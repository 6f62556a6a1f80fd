"""A tenant with something in every place that the contract offers, made from the contract's own examples."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

import httpx2
from fastapi import FastAPI
from starlette.testclient import TestClient

from service.usecases.api_keys import parse
from tests.world import World

METHODS = ("get", "put", "post", "patch", "delete")
SET_BODY = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-23T18:20:00+02:00",
    "load": {"value": 82.5, "unit": "kg"},
    "reps": 6,
}
#: Values for query parameters that an operation cannot do without.
ASKED_FOR = {"exercise_id": "bench-press", "muscle_id": "quadriceps", "side": "left"}
CONSENT = {"purpose": "process_health", "granted": True, "text_version": "1"}


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation of the contract, with the first example of its body."""

    id: str
    method: str
    path: str
    scope: str | None
    media: str | None
    example: Any
    queries: tuple[str, ...]
    required: Mapping[str, str]

    @property
    def parameters(self) -> list[str]:
        """The names of the ids in its path."""
        return re.findall(r"{(\w+)}", self.path)

    def send(
        self,
        client: TestClient,
        ids: Mapping[str, str],
        *,
        headers: Mapping[str, str] | None = None,
        query: Any = None,
    ) -> httpx2.Response:
        """Send the operation with these ids and the contract's example."""
        content = json.dumps(self.example) if self.media else None
        extra = {"Content-Type": self.media} if self.media else {}
        path = self.path.format_map(ids)
        return client.request(
            self.method,
            path,
            content=content,
            headers={**extra, **(headers or {})},
            params={**self.required, **(query or {})},
        )


def operations(app: FastAPI) -> list[Operation]:
    """Return every operation that the application's document offers."""
    document: Any = app.openapi()
    return [
        _operation(method.upper(), path, said)
        for path, methods in document["paths"].items()
        for method, said in methods.items()
        if method in METHODS
    ]


def _operation(method: str, path: str, said: Any) -> Operation:
    scopes = [scope for one in said.get("security", ()) for listed in one.values() for scope in listed]
    body = said.get("requestBody", {}).get("content", {})
    media = next(iter(body), None)
    example = next(iter(body[media]["examples"].values()))["value"] if media else None
    asked = [one for one in said.get("parameters", ()) if one.get("in") == "query"]
    queries = tuple(one["name"] for one in asked)
    required = {one["name"]: ASKED_FOR[one["name"]] for one in asked if one.get("required")}
    scope = scopes[0] if scopes else None
    return Operation(said["operationId"], method, path, scope, media, example, queries, required)


@dataclass(frozen=True, slots=True)
class Furnished:
    """A tenant, a caller who may do everything, and the ids of one resource of each kind."""

    id: UUID
    key_id: UUID
    client: TestClient
    ids: Mapping[str, str]

    @property
    def athlete(self) -> str:
        """The path of its athlete."""
        return f"/v1/athletes/{self.ids['athlete_id']}"


def furnish(world: World, client: TestClient | None = None) -> Furnished:
    """Put one resource of each kind under new ids, for a new tenant unless a caller is given."""
    client = client or world.signed_in()
    parsed = parse(client.headers["authorization"].removeprefix("Bearer "))
    assert parsed is not None
    offered = operations(world.app)
    names = {name for one in offered for name in one.parameters}
    ids = {name: str(uuid4()) for name in names} | {"key_id": str(parsed.key_id)}
    site = {"home_site_id": ids["site_id"]}
    answers = [client.put(f"/v1/athletes/{ids['athlete_id']}", json={"time_zone": "Europe/Riga", **site})]
    answers.append(client.post(f"/v1/athletes/{ids['athlete_id']}/consents", json=CONSENT))
    puts = [one for one in offered if one.method == "PUT" and one.id not in {"putAthlete", "putGroup"}]
    # A group's example names no athlete; reach through groups needs one who is on the roster.
    roster = {"name": "invented", "athlete_ids": [ids["athlete_id"]]}
    answers.append(client.put(f"/v1/groups/{ids['group_id']}", json=roster))
    # The plan is of a lift that was done before, and comes before what rules that lift out: the examples of limits and pain.
    first = ("putSet", "putPlan")
    others = sorted(puts, key=lambda one: (first.index(one.id) if one.id in first else len(first), one.path))
    answers += [put.send(client, ids) for put in others]
    answers += [one.send(client, ids) for one in offered if one.id == "recordScreening"]
    refused = [answer.text for answer in answers if answer.status_code != 201]
    assert not refused, refused
    return Furnished(parsed.tenant_id, parsed.key_id, client, ids)
