"""The document's bar: every rule that the OpenAPI document keeps, each with a test of its own."""

import json
import re
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.cli.openapi import rendered
from service.usecases.api_keys import SCOPES
from service.web.contract import TAGS, operations
from service.web.schema_shapes import reachable, references, subschemas

pytestmark = pytest.mark.quick
Json = dict[str, Any]
_PROBLEM = "application/problem+json"
#: There, a position is the body's.
_EXERCISES = {"Exercise", "ExerciseInput", "ExercisePatch"}
_FORMATS = {"uuid", "date", "date-time", "uri"}


@pytest.fixture(scope="module")
def document() -> Json:
    made: Json = json.loads(rendered())
    return made


@pytest.fixture(scope="module")
def sent(document: Json) -> dict[str, Json]:
    return _used(document, lambda operation: [operation.get("requestBody"), operation.get("parameters")])


@pytest.fixture(scope="module")
def answered(document: Json) -> dict[str, Json]:
    return _used(document, lambda operation: operation["responses"])


def _used(document: Json, part: Any) -> dict[str, Json]:
    schemas = document["components"]["schemas"]
    names = {name for operation in operations(document) for name in references(part(operation))}
    return {name: schemas[name] for name in reachable(schemas, names)}


def _named_operations(document: Json) -> Iterator[tuple[str, Json]]:
    for operation in operations(document):
        yield operation["operationId"], operation


def _bodies(document: Json) -> Iterator[tuple[str, Json]]:
    for name, operation in _named_operations(document):
        for media, content in operation.get("requestBody", {}).get("content", {}).items():
            yield f"{name} takes {media}", content


def _answers(document: Json) -> Iterator[tuple[str, Json]]:
    for name, operation in _named_operations(document):
        for status, response in operation["responses"].items():
            for media, content in response.get("content", {}).items():
                yield f"{name} answers {status} {media}", content


def _nodes(schemas: dict[str, Json]) -> Iterator[tuple[str, Json]]:
    for name, schema in schemas.items():
        for node in subschemas(schema):
            yield name, node


def _kinds(node: Json) -> set[str]:
    kind = node.get("type", [])
    return {kind} if isinstance(kind, str) else set(kind)


def test_it_is_a_valid_document_of_openapi_3_1(document: Json) -> None:
    assert document["openapi"].startswith("3.1")
    assert [error.message for error in OpenAPIV31SpecValidator(document).iter_errors()] == []


def test_every_schema_is_valid_json_schema_2020_12(document: Json) -> None:
    for schema in document["components"]["schemas"].values():
        jsonschema.Draft202012Validator.check_schema(schema)


def test_it_is_the_same_each_time(bare_app: FastAPI) -> None:
    assert json.dumps(bare_app.openapi()) == json.dumps(json.loads(rendered()))


def test_operation_ids_are_unique(document: Json) -> None:
    ids = [name for name, _ in _named_operations(document)]
    assert len(ids) == len(set(ids)) > 70


def test_operation_ids_begin_with_a_verb(document: Json) -> None:
    assert [
        name for name, _ in _named_operations(document) if not re.fullmatch(r"[a-z]+([A-Z][a-z]+)+", name)
    ] == []


def test_every_operation_has_exactly_one_of_at_most_twelve_described_tags(document: Json) -> None:
    tags = {tag["name"]: tag["description"] for tag in document["tags"]}
    assert len(tags) == len(TAGS) <= 12
    assert all(len(text) >= 20 for text in tags.values())
    assert {name: op["tags"] for name, op in _named_operations(document) if len(op["tags"]) != 1} == {}
    assert {op["tags"][0] for op in operations(document)} <= set(tags)


def test_summaries_are_short_and_descriptions_are_not(document: Json) -> None:
    assert [n for n, op in _named_operations(document) if not 4 <= len(op["summary"]) <= 60] == []
    assert [n for n, op in _named_operations(document) if len(op["description"]) < 40] == []


def test_every_write_says_what_a_retry_does(document: Json) -> None:
    silent = []
    for path, item in document["paths"].items():
        for method in {"put", "post", "delete"} & set(item):
            words = item[method]["description"].lower()
            computes = "/compute/" in path
            if not computes and not re.search(r"retry|again|repeat|repetition", words):
                silent.append(item[method]["operationId"])
    assert silent == []


def test_every_parameter_is_described(document: Json) -> None:
    bare = [
        (name, parameter["name"])
        for name, operation in _named_operations(document)
        for parameter in operation.get("parameters", [])
        if len(parameter.get("description", "")) < 8
    ]
    assert bare == []


def test_every_schema_and_every_property_is_described(document: Json) -> None:
    bare = []
    for name, schema in document["components"]["schemas"].items():
        bare += [name] if not schema.get("description") else []
        for node in subschemas(schema):
            bare += [
                f"{name}.{key}"
                for key, part in node.get("properties", {}).items()
                if not _described(part, document)
            ]
    assert bare == []


def _described(part: Json, document: Json) -> bool:
    if part.get("description"):
        return True
    return any(document["components"]["schemas"][name].get("description") for name in references(part))


def test_every_body_and_every_answer_has_named_examples(document: Json) -> None:
    shown = [*_bodies(document), *((where, c) for where, c in _answers(document) if _PROBLEM not in where)]
    assert [where for where, content in shown if not content.get("examples")] == []


def test_every_example_fits_its_schema(document: Json) -> None:
    faults = []
    for where, content in [*_bodies(document), *_answers(document)]:
        validator = _validator(content["schema"], document)
        for name, example in content.get("examples", {}).items():
            errors = validator.iter_errors(example["value"])
            faults += [f"{where}, {name}: {error.json_path} {error.message[:200]}" for error in errors]
    assert faults == []


def _validator(schema: Json, document: Json) -> jsonschema.Draft202012Validator:
    whole = {**schema, "components": document["components"]}
    return jsonschema.Draft202012Validator(
        whole, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


def test_the_examples_of_answers_hold_no_undocumented_members(document: Json) -> None:
    """Answers are open, so a misspelt member would fit; examples are held to the closed shape."""
    schemas = {
        name: {**schema, "additionalProperties": schema.get("additionalProperties", False)}
        if "properties" in schema
        else schema
        for name, schema in json.loads(json.dumps(document["components"]["schemas"])).items()
    }
    closed = {"components": {"schemas": schemas}}
    faults = []
    for where, content in _answers(document):
        for example in content.get("examples", {}).values():
            errors = _validator(content["schema"], closed).iter_errors(example["value"])
            faults += [f"{where}: {error.message[:200]}" for error in errors]
    assert faults == []


def test_every_error_is_a_problem_that_lists_its_codes(document: Json) -> None:
    faults = []
    for name, operation in _named_operations(document):
        for status, response in operation["responses"].items():
            if int(status) >= 400 and name != "getReadiness":
                fits = (
                    list(response.get("content", {})) == [_PROBLEM] and "Codes: `" in response["description"]
                )
                faults += [] if fits else [(name, status)]
    assert faults == []


def test_what_belongs_to_no_operation_is_told_of_all(document: Json) -> None:
    """A method that a path does not take is no operation, so that 405 can stand nowhere else."""
    assert all(word in document["info"]["description"] for word in ("405", "`method_not_allowed`", "`Allow`"))


def test_answers_are_open(answered: dict[str, Json]) -> None:
    assert [name for name, node in _nodes(answered) if node.get("additionalProperties") is False] == []


def test_bodies_are_closed_but_for_the_entries_of_a_queue_and_free_numbers(sent: dict[str, Json]) -> None:
    open_ones = {
        name
        for name, node in _nodes(sent)
        if "object" in _kinds(node) and node.get("additionalProperties") is not False
    }
    assert {name for name in open_ones if not name.endswith("Params")} == {"OperationInputBody"}


def test_codes_of_answers_may_grow(answered: dict[str, Json]) -> None:
    assert [name for name, node in _nodes(answered) if "enum" in node] == []
    assert sum("x-extensible-enum" in node for _, node in _nodes(answered)) > 10


def test_no_answer_holds_null(answered: dict[str, Json]) -> None:
    assert [name for name, node in _nodes(answered) if "null" in _kinds(node)] == []


def test_null_is_written_as_a_type_beside_another_or_beside_a_reference(sent: dict[str, Json]) -> None:
    faults = []
    for name, node in _nodes(sent):
        options = node.get("anyOf", node.get("oneOf", []))
        if {"type": "null"} in options and not any(
            "$ref" in option or "anyOf" in option for option in options
        ):
            faults.append((name, node))
    assert faults == []


def test_there_is_no_trace_of_openapi_3_0(document: Json) -> None:
    assert '"nullable"' not in json.dumps(document)


def test_formats_are_known_ones(document: Json) -> None:
    formats = {node["format"] for _, node in _nodes(document["components"]["schemas"]) if "format" in node}
    assert formats <= _FORMATS


def test_a_position_is_a_string(document: Json) -> None:
    kinds = [
        part.get("type")
        for name, node in _nodes(document["components"]["schemas"])
        for key, part in node.get("properties", {}).items()
        if key == "position" and name not in _EXERCISES and not part.get("readOnly")
    ]
    assert kinds
    assert set(kinds) == {"string"}


def _unbounded(node: Json) -> bool:
    kinds = _kinds(node)
    if "const" in node or "enum" in node:
        return False
    if kinds & {"number", "integer"}:
        return not (
            {"minimum", "exclusiveMinimum"} & set(node) and {"maximum", "exclusiveMaximum"} & set(node)
        )
    if "string" in kinds:
        return "format" not in node and "maxLength" not in node
    return "array" in kinds and "maxItems" not in node


def test_numbers_texts_and_lists_of_bodies_are_bounded(sent: dict[str, Json]) -> None:
    assert [(name, node) for name, node in _nodes(sent) if _unbounded(node)] == []


def test_numbers_texts_and_lists_of_parameters_are_bounded(document: Json) -> None:
    faults = [
        (name, parameter["name"])
        for name, operation in _named_operations(document)
        for parameter in operation.get("parameters", [])
        for node in subschemas(parameter["schema"])
        if _unbounded(node)
    ]
    assert faults == []


def test_lists_of_answers_are_bounded(answered: dict[str, Json]) -> None:
    assert [
        (name, node) for name, node in _nodes(answered) if "array" in _kinds(node) and "maxItems" not in node
    ] == []


def test_no_object_is_anonymous(document: Json) -> None:
    inside = [
        name
        for name, schema in document["components"]["schemas"].items()
        for node in list(subschemas(schema))[1:]
        if "object" in _kinds(node) or "properties" in node
    ]
    shown = [*_bodies(document), *_answers(document)]
    assert inside == []
    assert [
        where
        for where, content in shown
        if "object" in _kinds(content["schema"]) or "anyOf" in content["schema"]
    ] == []


def test_alternatives_say_which_member_tells_them_apart(document: Json) -> None:
    schemas = document["components"]["schemas"]
    for name, node in _nodes(schemas):
        if "oneOf" in node:
            told = node["discriminator"]["propertyName"]
            offered = {f"#/components/schemas/{ref}" for ref in references(node["oneOf"])}
            assert offered == set(node["discriminator"]["mapping"].values()), name
            assert all(told in schemas[ref]["required"] for ref in references(node["oneOf"])), name


def test_headers_of_answers_are_shared_components(document: Json) -> None:
    own = [
        (name, status)
        for name, operation in _named_operations(document)
        for status, response in operation["responses"].items()
        if any(set(header) != {"$ref"} for header in response.get("headers", {}).values())
    ]
    assert own == []


def test_every_reference_leads_somewhere(document: Json) -> None:
    found = re.findall(r'"\$ref": "#/components/(\w+)/([^"]+)"', json.dumps(document))
    assert found
    assert [pair for pair in found if pair[1] not in document["components"][pair[0]]] == []


def test_every_schema_is_used(document: Json, sent: dict[str, Json], answered: dict[str, Json]) -> None:
    assert set(document["components"]["schemas"]) == set(sent) | set(answered)


def test_links_lead_from_everything_made_and_resolve(document: Json) -> None:
    known = {
        operation["operationId"]: {(p["name"], p["in"]) for p in operation.get("parameters", [])}
        for operation in operations(document)
    }
    made = [
        (n, s, r)
        for n, op in _named_operations(document)
        for s, r in op["responses"].items()
        if s in {"201", "202"}
    ]
    assert [name for name, _, response in made if not response.get("links")] == []
    for name, operation in _named_operations(document):
        for response in operation["responses"].values():
            for link in response.get("links", {}).values():
                offered = {parameter for parameter, _ in known[link["operationId"]]}
                assert set(link["parameters"]) <= offered, name
                needed = {parameter for parameter, place in known[link["operationId"]] if place == "path"}
                assert needed <= set(link["parameters"]), name


def test_link_expressions_name_what_is_there(document: Json) -> None:
    for name, operation in _named_operations(document):
        own = {parameter["name"] for parameter in operation.get("parameters", [])}
        for response in operation["responses"].values():
            for link in response.get("links", {}).values():
                for expression in link["parameters"].values():
                    assert _resolves(expression, own, response, document), (name, expression)


def _resolves(expression: str, parameters: set[str], response: Json, document: Json) -> bool:
    if expression.startswith("$request."):
        return expression.split(".", 2)[2] in parameters
    first = expression.removeprefix("$response.body#/").split("/")[0]
    schema = next(iter(response["content"].values()))["schema"]
    return any(first in document["components"]["schemas"][name]["properties"] for name in references(schema))


def test_every_operation_says_its_scope_or_that_it_needs_none(document: Json) -> None:
    public = {name for name, operation in _named_operations(document) if operation["security"] == []}
    assert public == {"getHealth", "getReadiness"}
    for name, operation in _named_operations(document):
        if name not in public:
            ((scheme, scopes),) = operation["security"][0].items()
            assert scheme in document["components"]["securitySchemes"]
            assert len(scopes) == 1, name
            assert scopes[0] in SCOPES, name


def test_routes_equal_paths(bare_app: FastAPI, document: Json) -> None:
    served = {
        (route.path, method.lower())
        for route in iter_route_contexts(bare_app.routes)
        if route.path in document["paths"]
        for method in route.methods or ()
    }
    assert served == {(path, method) for path, item in document["paths"].items() for method in item}


def test_what_is_served_beyond_the_document_is_only_the_reference_page(
    bare_app: FastAPI, document: Json
) -> None:
    hidden = {str(route.path) for route in iter_route_contexts(bare_app.routes)} - set(document["paths"])
    assert all(path == "/openapi.json" or path.startswith("/reference") for path in hidden)
