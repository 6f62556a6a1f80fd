"""Every operation is called as its own examples say, and answers as its own contract says.

The requests go to one tenant in an order that a client could choose: parents before what lies under them, answers once
there is a log, deletions last.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import jsonschema
import pytest
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
#: The day after the one that the examples tell of.
_NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
_ATHLETE = "01937b5c-7a00-7000-8000-00000000000a"
_SITE = "01937b5c-7a00-7000-8000-0000000000b2"
#: Values of required parameters of answers, and of path parameters that other requests rest on.
_VALUES = {
    "athlete_id": _ATHLETE, "site_id": _SITE, "exercise_id": "bench-press", "muscle_id": "pectoralis-major-sternal-part",
}  # fmt: skip
_FIRST = ("putAthlete", "putSite", "putImplements", "recordConsent")
_METHODS = ("put", "post", "get", "patch", "delete")
#: Headers that every answer has, from the server and against guessing.
_ALWAYS = {"content-type", "content-length", "x-content-type-options", "referrer-policy"}


def _is_asked(parameter: Json, operation: Json) -> bool:
    """An answer about loads needs a site, and the athlete of the examples names none."""
    return parameter["name"] == "site_id" and operation["security"] == [{"apiKey": ["answer:read"]}]


@dataclass
class Called:
    """One request that was sent as an example says."""

    operation_id: str
    example: str
    method: str
    answer: Any
    documented: Json


@dataclass
class Caller:
    """A client that knows the contract and remembers what it made."""

    client: TestClient
    document: Json
    ids: dict[str, str] = field(default_factory=dict)
    calls: list[Called] = field(default_factory=list)

    def call_everything(self) -> None:
        for path, method, operation in self._in_order():
            for example, media, body in _bodies(operation):
                self._call(path, method, operation, example, media, body)

    def _in_order(self) -> list[tuple[str, str, Json]]:
        every = [
            (path, method, item[method]) for path, item in self.document["paths"].items() for method in item
        ]

        def rank(entry: tuple[str, str, Json]) -> tuple[int, int, int]:
            path, method, operation = entry
            first = (
                _FIRST.index(operation["operationId"]) if operation["operationId"] in _FIRST else len(_FIRST)
            )
            depth = path.count("/")
            return first, _METHODS.index(method), -depth if method == "delete" else depth

        return sorted(every, key=rank)

    def _call(
        self, path: str, method: str, operation: Json, example: str, media: str | None, body: Any
    ) -> None:
        asked = operation.get("parameters", [])
        codes = {one["name"]: one["schema"]["enum"][0] for one in asked if "enum" in one["schema"]}
        url = path.format_map(
            {name: codes.get(name) or self._id(path, method, name) for name in _names(path)}
        )
        query = {
            parameter["name"]: _VALUES.get(parameter["name"], parameter.get("example"))
            for parameter in asked
            if parameter["in"] == "query" and (parameter.get("required") or _is_asked(parameter, operation))
        }
        headers = {"Content-Type": media} if media else {}
        if method == "patch":
            headers["If-Match"] = self.client.get(url).headers["ETag"]
        content = (
            None if body is None else body.encode() if isinstance(body, str) else json.dumps(body).encode()
        )
        answer = self.client.request(method, url, params=query, content=content, headers=headers)
        self.calls.append(Called(operation["operationId"], example, method, answer, operation))
        if method == "post" and answer.status_code == 201 and "id" in answer.json():
            self.ids[f"{path}/"] = answer.json()["id"]
        if method == "put" and answer.status_code == 201:
            again = self.client.put(url, content=content, headers=headers)
            self.calls.append(Called(operation["operationId"], f"{example}, again", method, again, operation))

    def _id(self, path: str, method: str, name: str) -> str:
        own = path.endswith(f"{{{name}}}")
        if name in {"athlete_id", "site_id"}:
            return _VALUES[name]
        where = path.partition("{" + name)[0]
        if own and method == "put":
            self.ids[where] = str(uuid4())
        return self.ids[where]


def _names(path: str) -> list[str]:
    return [part[1:-1] for part in path.split("/") if part.startswith("{")]


def _bodies(operation: Json) -> Iterator[tuple[str, str | None, Any]]:
    contents = operation.get("requestBody", {}).get("content", {})
    if not contents:
        yield "without a body", None, None
    for media, content in contents.items():
        for name, example in content["examples"].items():
            yield name, media, example["value"]


@pytest.fixture(scope="module")
def caller(shared_world: World) -> Caller:
    shared_world.clock.instant = _NOW
    made = Caller(shared_world.signed_in(), shared_world.app.openapi())
    made.call_everything()
    return made


def _accounts(called: Called) -> str:
    return f"{called.operation_id} ({called.example}): {called.answer.status_code} {called.answer.text[:300]}"


def test_every_operation_was_called(caller: Caller) -> None:
    every = {
        operation["operationId"] for item in caller.document["paths"].values() for operation in item.values()
    }
    assert {called.operation_id for called in caller.calls} == every


def test_every_example_succeeds(caller: Caller) -> None:
    assert [_accounts(called) for called in caller.calls if not called.answer.is_success] == []


def test_every_success_is_a_documented_one(caller: Caller) -> None:
    strays = [
        _accounts(called)
        for called in caller.calls
        if str(called.answer.status_code) not in called.documented["responses"]
    ]
    assert strays == []


def test_what_is_put_is_201_and_put_again_200(caller: Caller) -> None:
    puts = [called for called in caller.calls if called.method == "put"]
    assert len(puts) >= 26
    wrong = [
        _accounts(c) for c in puts if c.answer.status_code != (200 if c.example.endswith("again") else 201)
    ]
    assert wrong == []


def test_every_answer_fits_its_documented_shape(caller: Caller) -> None:
    """Also closed: an answer holds no member that the contract does not name."""
    closed = {
        name: {"additionalProperties": False, **schema} if "properties" in schema else schema
        for name, schema in caller.document["components"]["schemas"].items()
    }
    faults = []
    for called in caller.calls:
        schema = _schema_of(called)
        if schema is None:
            continue
        whole = {**schema, "components": {"schemas": closed}}
        validator = jsonschema.Draft202012Validator(whole, format_checker=jsonschema.FormatChecker())
        faults += [
            f"{called.operation_id}: {error.json_path} {error.message[:200]}"
            for error in validator.iter_errors(called.answer.json())
        ]
    assert faults == []


def _schema_of(called: Called) -> Json | None:
    response = called.documented["responses"].get(str(called.answer.status_code), {})
    content = response.get("content", {}).get(called.answer.headers.get("content-type", "").split(";")[0], {})
    schema: Json | None = content.get("schema")
    return None if schema == {"type": "string"} else schema


def test_every_answer_has_a_documented_media_type(caller: Caller) -> None:
    strays = []
    for called in caller.calls:
        offered = called.documented["responses"].get(str(called.answer.status_code), {}).get("content", {})
        media = called.answer.headers.get("content-type", "").split(";")[0]
        strays += [] if (media in offered if offered else media == "") else [_accounts(called)]
    assert strays == []


def test_every_answer_has_the_documented_headers_and_no_others(caller: Caller) -> None:
    faults = []
    for called in caller.calls:
        response = called.documented["responses"].get(str(called.answer.status_code), {})
        told = {name.lower() for name in response.get("headers", {})}
        sent = {name.lower() for name in called.answer.headers} - _ALWAYS
        faults += (
            [] if told == sent else [(called.operation_id, called.answer.status_code, sorted(told ^ sent))]
        )
    assert faults == []
