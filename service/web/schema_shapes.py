"""The shape of every schema: what comes in is closed, what goes out is open, and null and names are said in one way."""

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]
_PREFIX = "#/components/schemas/"
_NULL = {"type": "null"}
#: Below these keys stand values, not schemas.
_VALUES = frozenset({"examples", "example", "default", "enum", "const", "x-extensible-enum", "mapping"})


def shape(document: Json) -> None:
    """Shape every schema of a document by what it is used for; the document is changed in place."""
    schemas = document["components"]["schemas"]
    for name in _uses(document)[0]:
        _ignore_owned(schemas[name])
    _name_objects(schemas)
    sent, answered = _uses(document)
    both = sent & answered
    if both:
        raise ValueError(f"schemas used both ways: {sorted(both)}")
    for name in sorted(set(schemas) - sent - answered):
        del schemas[name]
    for name, schema in schemas.items():
        for node in subschemas(schema):
            if name in answered:
                _open(node)
            else:
                _write_null(node)
            _whole_bounds(node)
    for operation in _operations(document):
        for parameter in operation.get("parameters", []):
            _shape_parameter(parameter)


def subschemas(schema: Json) -> Iterator[Json]:
    """Return a schema and every schema inside it."""
    yield schema
    for key, value in schema.items():
        if key not in _VALUES:
            for part in _parts(key, value):
                yield from subschemas(part)


def _parts(key: str, value: Any) -> list[Json]:
    if isinstance(value, dict):
        return list(value.values()) if key == "properties" else [value]
    return [part for part in value if isinstance(part, dict)] if isinstance(value, list) else []


def references(node: Any) -> Iterator[str]:
    """Return the names of the schemas that a part of the document refers to."""
    if isinstance(node, dict):
        if isinstance(node.get("$ref"), str) and node["$ref"].startswith(_PREFIX):
            yield node["$ref"].removeprefix(_PREFIX)
        for key, value in node.items():
            if key not in {"examples", "example"}:
                yield from references(value)
    elif isinstance(node, list):
        for item in node:
            yield from references(item)


def reachable(schemas: Json, roots: set[str]) -> set[str]:
    """Return the names of the schemas that some schemas lead to, themselves included."""
    found: set[str] = set()
    waiting = set(roots)
    while waiting:
        name = waiting.pop()
        found.add(name)
        waiting |= set(references(schemas[name])) - found
    return found


def _operations(document: Json) -> Iterator[Json]:
    for item in document["paths"].values():
        yield from item.values()


def _uses(document: Json) -> tuple[set[str], set[str]]:
    schemas = document["components"]["schemas"]
    sent: set[str] = set()
    answered: set[str] = set()
    for operation in _operations(document):
        sent |= set(references([operation.get("requestBody"), operation.get("parameters")]))
        answered |= set(references(operation["responses"]))
    return reachable(schemas, sent), reachable(schemas, answered)


def _ignore_owned(schema: Json) -> None:
    """A body may say anything about members that the server owns: they are ignored."""
    for member, part in schema.get("properties", {}).items():
        if part.get("readOnly"):
            schema["properties"][member] = {"description": part["description"], "readOnly": True}


def _name_objects(schemas: Json) -> None:
    """Give every object that stands inside another schema a name of its own, after its owner and member."""
    for owner in list(schemas):
        for member, part in list(schemas[owner].get("properties", {}).items()):
            name = owner + "".join(word.capitalize() for word in member.split("_"))
            schemas[owner]["properties"][member] = _named(part, name, schemas)


def _named(part: Json, name: str, schemas: Json) -> Json:
    if "anyOf" in part:
        return {**part, "anyOf": [_named(option, name, schemas) for option in part["anyOf"]]}
    if "items" in part:
        return {**part, "items": _named(part["items"], f"{name}Item", schemas)}
    kinds = [part["type"]] if isinstance(part.get("type"), str) else part.get("type", [])
    if "object" not in kinds:
        return part
    about = part.get("description", "An open object.")
    schemas[name] = {**part, "type": "object", "description": about}
    reference = {"$ref": _PREFIX + name}
    return {"anyOf": [reference, _NULL], "description": about} if "null" in kinds else reference


def _open(node: Json) -> None:
    """An answer holds no nulls, may gain members and codes, and says no defaults."""
    node.pop("default", None)
    if node.get("additionalProperties") is False:
        del node["additionalProperties"]
    if isinstance(node.get("type"), list):
        kinds = [kind for kind in node["type"] if kind != "null"]
        node["type"] = kinds[0] if len(kinds) == 1 else kinds
    if _NULL in node.get("anyOf", ()):
        _without_option_null(node)
    if "enum" in node:
        node["x-extensible-enum"] = [value for value in node.pop("enum") if value is not None]


def _without_option_null(node: Json) -> None:
    options = [option for option in node["anyOf"] if option != _NULL]
    if len(options) > 1:
        node["anyOf"] = options
        return
    del node["anyOf"]
    for key, value in options[0].items():
        node.setdefault(key, value)


def _write_null(node: Json) -> None:
    """Write a nullable simple type as one type; only a reference needs null as an option beside it."""
    options = node.get("anyOf", [])
    if _NULL not in options or any("$ref" in option or "anyOf" in option for option in options):
        return
    merged: Json = {}
    for option in options:
        for key, value in option.items():
            if key != "type" and key in merged:
                return
            merged[key] = value
    kinds = [option["type"] for option in options]
    if "enum" in merged:
        merged["enum"] = [*merged["enum"], None]
    del node["anyOf"]
    node.update({**merged, **node, "type": kinds})


def _whole_bounds(node: Json) -> None:
    if "integer" in (node.get("type"), *node.get("type", ())):
        for bound in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"):
            if bound in node:
                node[bound] = int(node[bound])


def _shape_parameter(parameter: Json) -> None:
    """A parameter is there or not; it has no null, and is described once."""
    schema = parameter["schema"]
    schema.pop("description", None)
    for node in subschemas(schema):
        kinds = node.get("type")
        if isinstance(kinds, list):
            node["type"] = next(kind for kind in kinds if kind != "null")
        if _NULL in node.get("anyOf", ()):
            _without_option_null(node)
        _whole_bounds(node)
