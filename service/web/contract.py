"""The OpenAPI document: generated from the operations, made whole, and the same on every machine."""

import json
from collections.abc import Iterator
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel

from service.usecases.api_keys import SCOPES
from service.web.merge_patch_schemas import add_patch
from service.web.schema_shapes import shape
from service.web.schemas.batches import SetBatchInput
from service.web.schemas.problem import Problem

Json = dict[str, Any]

TITLE = "Steelyard"
SUMMARY = "From a log of resistance training to the next decision for one body."
DESCRIPTION = """\
Steelyard keeps the log of an athlete's resistance training and computes decisions from it: what this athlete can lift,
the next load and repetitions that the gym can make, how many hard sets each muscle got, which side is ahead and whether
that is real, and the whole next session. Every computed value carries its interval, what it rests on, its model's
version, reasons, cautions and sources.

**Safety.** This is training guidance, not medicine; it never diagnoses. Licensed practice, local codes and the site's
supervision come first. Stop on sharp, rising or unfamiliar pain.

**Writing.** Clients choose ids (UUID; version 7 advised), so that PUT is the safe retry. Times are RFC 3339 with offset.
Quantities are `{"value": 82.5, "unit": "kg"}`. Null and absent are the same; in a merge patch null removes. Members that
the server owns are `readOnly`: accepted and ignored. Response enumerations may grow; every code comes with a text.

**Errors** are `application/problem+json` (RFC 9457) with a stable `code`. 422 says that a body does not fit its schema,
409 that it does, but that what is stored does not allow it. A method that a path does not take answers 405
`method_not_allowed`, with every method that it takes in `Allow`.
"""
TAGS: dict[str, str] = {
    "Athletes": "People, their groups, consents and screenings.",
    "Log": "Sessions, sets, check-ins and measurements: what happened.",
    "Wants": "Limits, aims and the frame of a week: what constrains and what is wanted.",
    "Sites": "Gyms and what can be loaded there.",
    "Catalogue": "Exercises, muscles and sources: reference data, each number with its basis.",
    "Load progression": "What an athlete can lift, and the next load and repetitions.",
    "Volume landmarks": "Hard sets a muscle got, by side and week, against stated criteria.",
    "Imbalance indices": "Which side is ahead, by how much, and whether that is real.",
    "Session": "Is the body ready, what does it tolerate, and the whole next session: previewed, then issued and kept.",
    "Roster": "The answers of many athletes at once, streamed.",
    "Changes": "The change feed: what to read again.",
    "Service": "Keys, health and readiness.",
}
#: Bodies that an operation reads itself, because they come in more than one media type.
DECLARED_BODIES: tuple[type[BaseModel], ...] = (SetBatchInput,)
HEADERS: Json = {
    "ETag": {
        "description": "Strong entity tag of the version.",
        "schema": {"type": "string", "maxLength": 80, "examples": ['"1"']},
    },
    "Steelyard-Position": {
        "description": "Position of the tenant's change feed after this write; give it to reads as Steelyard-Min-Position.",
        "schema": {"type": "string", "maxLength": 20, "examples": ["42"]},
    },
    "Retry-After": {
        "description": "Seconds to wait before the next try.",
        "schema": {"type": "integer", "minimum": 0},
    },
    "WWW-Authenticate": {
        "description": "How to sign in (RFC 6750).",
        "schema": {"type": "string", "maxLength": 200},
    },
    "Content-Language": {
        "description": "The language of every text in the answer.",
        "schema": {"type": "string", "maxLength": 20, "examples": ["en"]},
    },
    "Allow": {"description": "Methods that this path takes.", "schema": {"type": "string", "maxLength": 100}},
    "Vary": {
        "description": "Request headers that the answer depends on.",
        "schema": {"type": "string", "maxLength": 200},
    },
    "Cache-Control": {
        "description": "Personal data: private, and asked again before each use.",
        "schema": {"type": "string", "maxLength": 100},
    },
}


def build(app: FastAPI) -> Json:
    """Return the document of an application."""
    document = get_openapi(
        title=TITLE,
        version=app.version,
        openapi_version="3.1.0",
        summary=SUMMARY,
        description=DESCRIPTION,
        routes=app.routes,
        tags=[{"name": name, "description": text} for name, text in TAGS.items()],
        license_info={"name": "Apache-2.0", "identifier": "Apache-2.0"},
        separate_input_output_schemas=True,
    )
    document["servers"] = [{"url": "/", "description": "Where this document came from."}]
    components = document.setdefault("components", {})
    components["headers"] = HEADERS
    components["securitySchemes"] = {"apiKey": _key_scheme()}
    _add_problem(components["schemas"])
    for declared in DECLARED_BODIES:
        _add_input(declared, components["schemas"])
    for operation in operations(document):
        _finish_body(operation, components["schemas"])
    _plain_names(document)
    for operation in operations(document):
        if patched := operation.get("x-patch-of"):
            add_patch(patched, document["components"]["schemas"])
    for schema in document["components"]["schemas"].values():
        _tidy(schema)
    for operation in operations(document):
        _tidy(operation)
    _strip_internal(document)
    shape(document)
    return document


def rendered(document: Json) -> str:
    """Return the text of the document: sorted keys, two spaces, a final newline."""
    return json.dumps(document, indent=2, sort_keys=True, ensure_ascii=False) + "\n"


def operations(document: Json) -> Iterator[Json]:
    """Yield every operation."""
    for path in document["paths"].values():
        for method, operation in path.items():
            if method in {"get", "put", "post", "patch", "delete"}:
                yield operation


def _key_scheme() -> Json:
    scopes = "\n".join(f"- `{name}`: {meaning}" for name, meaning in SCOPES.items())
    return {
        "type": "http",
        "scheme": "bearer",
        "description": f"An API key, shown once when it is made. Its scopes say what it may do:\n\n{scopes}\n\n"
        "Its reach says whom: everyone, or groups, sites and single athletes. What is out of reach looks absent.",
    }


def _add_input(model: type[BaseModel], schemas: Json) -> None:
    """Add the schema of a body that its operation reads itself, under the names that input schemas have here."""
    schema = model.model_json_schema(ref_template="#/components/schemas/{model}-Input", mode="validation")
    for name, part in schema.pop("$defs", {}).items():
        schemas.setdefault(f"{name}-Input", part)
    schemas[model.__name__] = schema


def _add_problem(schemas: Json) -> None:
    problem = Problem.model_json_schema(ref_template="#/components/schemas/{model}", mode="serialization")
    schemas.update(problem.pop("$defs", {}))
    schemas["Problem"] = problem
    schemas.pop("HTTPValidationError", None)
    schemas.pop("ValidationError", None)


def _finish_body(operation: Json, schemas: Json) -> None:
    body = operation.get("requestBody")
    consumes = operation.get("x-consumes")
    if operation.get("x-body-of") or operation.get("x-patch-of"):
        content = _declared_content(operation, schemas)
        operation["requestBody"] = {"required": True, "content": content}
    elif body and consumes:
        first = next(iter(body["content"].values()))
        body["content"] = {media: dict(first) for media in consumes}
    for media, examples in operation.get("x-body-examples", {}).items():
        operation["requestBody"]["content"][media]["examples"] = examples


def _declared_content(operation: Json, schemas: Json) -> Json:
    if patched := operation.get("x-patch-of"):
        return {operation["x-consumes"][0]: {"schema": {"$ref": f"#/components/schemas/{patched}Patch"}}}
    return {
        media: {"schema": {"$ref": f"#/components/schemas/{operation['x-body-of']}"}}
        if media == "application/json"
        else {"schema": {"type": "string", "maxLength": 16_000_000}}
        for media in operation["x-consumes"]
    }


def _plain_names(document: Json) -> None:
    """Rename ``X-Output`` to ``X`` and ``X-Input`` to ``XInput``, as a client generator would want them."""
    schemas = document["components"]["schemas"]
    renamed = {name: name.replace("-Output", "").replace("-Input", "Input") for name in schemas}
    document["components"]["schemas"] = {renamed[name]: schema for name, schema in schemas.items()}
    _follow(
        document,
        {f"#/components/schemas/{old}": f"#/components/schemas/{new}" for old, new in renamed.items()},
    )


def _follow(node: Any, renamed: dict[str, str]) -> None:
    if isinstance(node, dict):
        for key, value in node.items():
            if isinstance(value, str) and value in renamed:
                node[key] = renamed[value]
            else:
                _follow(value, renamed)
    elif isinstance(node, list):
        for item in node:
            _follow(item, renamed)


def _tidy(node: Any, *, inside_properties: bool = False) -> None:
    """Drop generated titles and null defaults."""
    if isinstance(node, list):
        for item in node:
            _tidy(item)
    if not isinstance(node, dict):
        return
    if not inside_properties:
        _drop_generated(node)
    for key, value in node.items():
        if key not in {"examples", "example", "x-body-examples"}:
            _tidy(value, inside_properties=key == "properties" and not inside_properties)


def _drop_generated(node: Json) -> None:
    if isinstance(node.get("title"), str) and (
        "type" in node or "anyOf" in node or "$ref" in node or "oneOf" in node
    ):
        node.pop("title")
    if node.get("default", 0) is None:
        node.pop("default")


def _strip_internal(document: Json) -> None:
    for operation in operations(document):
        for key in ("x-produces", "x-consumes", "x-patch-of", "x-body-of", "x-body-examples"):
            operation.pop(key, None)
