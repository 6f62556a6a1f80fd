"""The differ finds what would break a client of an older contract, and the contract breaks no released one."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.cli.openapi import rendered
from service.web.compatibility import breaking, compare

pytestmark = pytest.mark.quick
Json = dict[str, Any]
_RELEASED = Path(__file__).parents[2] / "openapi" / "released"


def _small() -> Json:
    """A document with one of everything that the differ knows."""
    body = {"$ref": "#/components/schemas/BoxInput"}
    return {
        "openapi": "3.1.0",
        "paths": {
            "/boxes/{id}": {
                "put": {
                    "operationId": "putBox",
                    "security": [{"apiKey": ["box:write"]}],
                    "parameters": [
                        {
                            "name": "id",
                            "in": "path",
                            "required": True,
                            "schema": {"type": "string", "maxLength": 9},
                        },
                        {"name": "dry", "in": "query", "schema": {"type": "boolean"}},
                    ],
                    "requestBody": {
                        "required": True,
                        "content": {
                            "application/json": {"schema": body},
                            "text/csv": {"schema": {"type": "string"}},
                        },
                    },
                    "responses": {
                        "200": {
                            "headers": {"ETag": {}},
                            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Box"}}},
                        },
                        "404": {"description": "none"},
                    },
                },
                "delete": {"operationId": "deleteBox", "security": [], "responses": {"204": {}}},
            }
        },
        "components": {
            "schemas": {
                "BoxInput": {
                    "type": "object",
                    "additionalProperties": False,
                    "required": ["name"],
                    "properties": {
                        "name": {"type": "string", "minLength": 1, "maxLength": 40},
                        "mass": {"type": ["number", "null"], "minimum": 0, "maximum": 100},
                        "colour": {"type": "string", "enum": ["red", "blue"]},
                        "tags": {"type": "array", "maxItems": 5, "items": {"type": "string"}},
                        "inner": {"anyOf": [{"$ref": "#/components/schemas/BoxInput"}, {"type": "null"}]},
                        "lid": {
                            "oneOf": [
                                {"$ref": "#/components/schemas/Lid"},
                                {"$ref": "#/components/schemas/Flap"},
                            ]
                        },
                    },
                },
                "Lid": {"type": "object", "properties": {"kind": {"const": "lid"}}},
                "Flap": {"type": "object", "properties": {"kind": {"const": "flap"}}},
                "Box": {
                    "type": "object",
                    "required": ["name"],
                    "properties": {
                        "name": {"type": "string"},
                        "made_at": {"type": "string", "format": "date-time"},
                        "count": {"type": "integer"},
                        "state": {"type": "string", "x-extensible-enum": ["open"]},
                        "size": {"type": "string", "enum": ["s", "m"]},
                        "inner": {"$ref": "#/components/schemas/Box"},
                        "shape": {"oneOf": [{"$ref": "#/components/schemas/Round"}]},
                    },
                },
                "Round": {"type": "object", "properties": {"kind": {"const": "round"}}},
                "Square": {"type": "object", "properties": {"kind": {"const": "square"}}},
            }
        },
    }


def _put(document: Json) -> Json:
    operation: Json = document["paths"]["/boxes/{id}"]["put"]
    return operation


def _taken(document: Json) -> Json:
    members: Json = document["components"]["schemas"]["BoxInput"]["properties"]
    return members


def _told(document: Json) -> Json:
    members: Json = document["components"]["schemas"]["Box"]["properties"]
    return members


def _schemas(document: Json) -> Json:
    schemas: Json = document["components"]["schemas"]
    return schemas


Edit = Callable[[Json], object]
_NOTE = {"type": "string"}
_BREAKING: dict[str, tuple[Edit, str]] = {
    "a path removed": (lambda d: d["paths"].clear(), "DELETE /boxes/{id}: operation removed"),
    "an operation removed": (lambda d: d["paths"]["/boxes/{id}"].pop("put"), "PUT /boxes/{id}: operation removed"),
    "an operationId changed": (lambda d: _put(d).update(operationId="setBox"), "operationId was putBox"),
    "a scope added": (lambda d: _put(d)["security"][0]["apiKey"].append("admin"), "needs apiKey admin"),
    "a key demanded": (
        lambda d: d["paths"]["/boxes/{id}"]["delete"].update(security=[{"apiKey": []}]), "needs apiKey any",
    ),
    "a parameter removed": (lambda d: _put(d)["parameters"].pop(), "query dry: parameter removed"),
    "a parameter demanded": (lambda d: _put(d)["parameters"][1].update(required=True), "parameter is now required"),
    "a required parameter added": (
        lambda d: _put(d)["parameters"].append({"name": "x", "in": "query", "required": True, "schema": {}}),
        "query x: required parameter added",
    ),
    "a parameter tightened": (lambda d: _put(d)["parameters"][0]["schema"].update(maxLength=8), "maxLength 9 -> 8"),
    "a media type no longer taken": (lambda d: _put(d)["requestBody"]["content"].pop("text/csv"), "media type text/csv removed"),
    "a body removed": (lambda d: _put(d).pop("requestBody"), "body removed"),
    "a success removed": (lambda d: _put(d)["responses"].pop("200"), "200: answer removed"),
    "a header removed": (lambda d: _put(d)["responses"]["200"]["headers"].clear(), "header ETag removed"),
    "a media type no longer answered": (
        lambda d: _put(d)["responses"]["200"]["content"].clear(), "media type application/json removed",
    ),
    "a member no longer taken": (lambda d: _taken(d).pop("mass"), "mass: member no longer taken"),
    "a required member added": (
        lambda d: (_taken(d).update(note=_NOTE), _schemas(d)["BoxInput"]["required"].append("note")),
        "note: required member taken",
    ),
    "a member demanded": (lambda d: _schemas(d)["BoxInput"]["required"].append("mass"), "mass: member is now required"),
    "a type narrowed": (lambda d: _taken(d)["mass"].update(type=["integer", "null"]), "type number no longer taken"),
    "null no longer taken": (lambda d: _taken(d)["mass"].update(type="number"), "type null no longer taken"),
    "null beside a reference no longer taken": (
        lambda d: _taken(d).update(inner={"$ref": "#/components/schemas/BoxInput"}), "inner: type null no longer taken",
    ),
    "a code no longer taken": (lambda d: _taken(d)["colour"].update(enum=["red"]), "code blue no longer taken"),
    "a text limited to codes": (lambda d: _taken(d)["name"].update(enum=["a"]), "code other than the listed no longer taken"),
    "an upper bound lowered": (lambda d: _taken(d)["mass"].update(maximum=50), "maximum 100 -> 50"),
    "a lower bound raised": (lambda d: _taken(d)["mass"].update(minimum=1), "minimum 0 -> 1"),
    "a bound added": (lambda d: _taken(d)["tags"].update(minItems=1), "minItems None -> 1"),
    "the items narrowed": (lambda d: _taken(d)["tags"]["items"].update(maxLength=3), "tags[]: maxLength None -> 3"),
    "a pattern added": (lambda d: _taken(d)["name"].update(pattern="^a"), "pattern is now ^a"),
    "an alternative no longer taken": (lambda d: _taken(d)["lid"]["oneOf"].pop(), "alternative Flap removed"),
    "a member no longer answered": (lambda d: _told(d).pop("count"), "count: member removed"),
    "a member no longer always answered": (lambda d: _schemas(d)["Box"].update(required=[]), "no longer always there"),
    "a type widened in answers": (lambda d: _told(d)["count"].update(type="number"), "type number may come"),
    "null in answers": (lambda d: _told(d)["count"].update(type=["integer", "null"]), "type null may come"),
    "a closed list widened in answers": (lambda d: _told(d)["size"]["enum"].append("l"), "code l may come in a closed list"),
    "a format dropped in answers": (lambda d: _told(d)["made_at"].pop("format"), "format was date-time"),
    "an alternative added in answers": (
        lambda d: _told(d)["shape"]["oneOf"].append({"$ref": "#/components/schemas/Square"}), "alternative Square added",
    ),
}  # fmt: skip
_COMPATIBLE: dict[str, tuple[Edit, str]] = {
    "an operation added": (
        lambda d: d["paths"].update({"/lids": {"get": {"operationId": "listLids", "responses": {}}}}),
        "GET /lids: operation added",
    ),
    "an optional parameter added": (
        lambda d: _put(d)["parameters"].append({"name": "x", "in": "query", "schema": {}}), "query x: parameter added",
    ),
    "an error added": (lambda d: _put(d)["responses"].update({"409": {}}), "409: answer added"),
    "an error removed": (lambda d: _put(d)["responses"].pop("404"), "404: answer removed"),
    "an optional member taken": (lambda d: _taken(d).update(note=_NOTE), "note: member taken"),
    "a member added to answers": (lambda d: _told(d).update(note=_NOTE), "note: member added"),
    "a bound widened": (lambda d: _taken(d)["mass"].update(maximum=200), "maximum 100 -> 200"),
    "a bound lifted": (lambda d: _taken(d)["name"].pop("minLength"), "minLength 1 -> None"),
    "a code taken": (lambda d: _taken(d)["colour"]["enum"].append("green"), "code green taken"),
    "an extensible code added": (lambda d: _told(d)["state"]["x-extensible-enum"].append("shut"), "code shut may come"),
    "a key no longer demanded": (lambda d: _put(d).update(security=[]), "no longer needs a key"),
    "deprecated": (lambda d: _put(d).update(deprecated=True), "deprecated"),
}  # fmt: skip
#: Edits that the differ must not report at all.
_SILENT: dict[str, Edit] = {
    "a description reworded": lambda d: _taken(d)["name"].update(description="new words"),
    "members in another order": lambda d: _schemas(d)["Box"].update(
        properties=dict(reversed(_told(d).items()))
    ),
}


@pytest.mark.parametrize("name", _BREAKING)
def test_it_calls_breaking(name: str) -> None:
    edit, expected = _BREAKING[name]
    found = [str(change) for change in breaking(_changed(edit))]
    assert any(expected in change for change in found), found


@pytest.mark.parametrize("name", _COMPATIBLE)
def test_it_calls_compatible(name: str) -> None:
    edit, expected = _COMPATIBLE[name]
    changes = _changed(edit)
    assert breaking(changes) == []
    assert any(expected in str(change) for change in changes), changes


@pytest.mark.parametrize("name", _SILENT)
def test_it_says_nothing_of(name: str) -> None:
    assert _changed(_SILENT[name]) == []


def _changed(edit: Edit) -> list[Any]:
    old = _small()
    new = copy.deepcopy(old)
    edit(new)
    return compare(old, new)


def test_a_schema_that_holds_itself_is_compared_to_its_end() -> None:
    assert compare(_small(), _small()) == []


@pytest.fixture(scope="module")
def current() -> Json:
    document: Json = json.loads(rendered())
    return document


def test_the_contract_does_not_differ_from_itself(current: Json) -> None:
    assert compare(current, copy.deepcopy(current)) == []


def test_a_member_taken_out_of_the_real_contract_is_found(current: Json) -> None:
    new = copy.deepcopy(current)
    del new["components"]["schemas"]["Set"]["properties"]["reps"]
    new["components"]["schemas"]["SetInput"]["properties"]["reps"]["maximum"] = 400
    found = [str(change) for change in breaking(compare(current, new))]
    assert any("reps: member removed" in change for change in found)
    assert any("reps: maximum 500 -> 400" in change for change in found)


def test_no_released_contract_is_broken(current: Json) -> None:
    """Every document in ``openapi/released`` stays answerable; the folder is empty until the first release."""
    broken = {
        path.name: [str(change) for change in breaking(compare(json.loads(path.read_text()), current))]
        for path in sorted(_RELEASED.glob("*.json"))
    }
    assert {name: changes for name, changes in broken.items() if changes} == {}


def test_a_release_that_the_contract_breaks_would_be_found(current: Json, tmp_path: Path) -> None:
    """The check above can fail, although nothing is released yet."""
    released = copy.deepcopy(current)
    released["paths"]["/v1/removed"] = {"get": released["paths"]["/healthz"]["get"]}
    (tmp_path / "v0.json").write_text(json.dumps(released))
    (path,) = tmp_path.glob("*.json")
    assert [str(change) for change in breaking(compare(json.loads(path.read_text()), current))] == [
        "BREAKING  GET /v1/removed: operation removed"
    ]
