"""Schemas of merge patches (RFC 7396), derived from the schemas of whole bodies."""

from typing import Any

Json = dict[str, Any]
_PREFIX = "#/components/schemas/"
_NULL = {"type": "null"}


def add_patch(name: str, schemas: Json) -> None:
    """Add the schema of a merge patch of a body: every member may be left out, every optional one may be null."""
    whole = _input(name, schemas)
    about = f"A merge patch (RFC 7396) of a {name}: null removes an optional member."
    if "oneOf" in whole:
        variants = [_input(reference["$ref"].removeprefix(_PREFIX), schemas) for reference in whole["oneOf"]]
        schemas[f"{name}Patch"] = _object(
            _members_of_any(variants, schemas), f"{about} The merged body must fit one of its kinds."
        )
        return
    schemas[f"{name}Patch"] = _object(_members(whole, schemas), about)


def _input(name: str, schemas: Json) -> Json:
    found: Json = schemas.get(f"{name}Input") or schemas[name]
    return found


def _object(members: Json, about: str) -> Json:
    return {"type": "object", "description": about, "properties": members, "additionalProperties": False}


def _members(whole: Json, schemas: Json) -> Json:
    required = set(whole.get("required", []))
    return {
        member: _member(part, schemas, may_go=member not in required)
        for member, part in whole["properties"].items()
    }


def _member(part: Json, schemas: Json, *, may_go: bool) -> Json:
    """Objects inside are patched member by member; lists and values are replaced whole."""
    options = [_patched(option, schemas) for option in part.get("anyOf", [part]) if option != _NULL]
    plain = {key: value for key, value in options[0].items() if key != "default"}
    beside = {key: value for key, value in part.items() if key in {"description", "readOnly"}}
    if not may_go and len(options) == 1:
        return {**plain, **beside}
    return {"anyOf": [*([plain] if len(options) == 1 else options), _NULL], **beside}


def _patched(option: Json, schemas: Json) -> Json:
    name = option.get("$ref", "").removeprefix(_PREFIX)
    if not name or "properties" not in schemas[name]:
        return {key: value for key, value in option.items() if key not in {"description", "readOnly"}}
    base = name.removesuffix("Input")
    if f"{base}Patch" not in schemas:
        schemas[f"{base}Patch"] = {}
        add_patch(base, schemas)
    return {"$ref": f"{_PREFIX}{base}Patch"}


def _members_of_any(variants: list[Json], schemas: Json) -> Json:
    """Return the members of all variants together; a member that differs takes what any of them takes."""
    offered: dict[str, list[Json]] = {}
    for variant in variants:
        for member, part in _members(variant, schemas).items():
            if part not in offered.setdefault(member, []):
                offered[member].append(part)
    return {member: parts[0] if len(parts) == 1 else _any_of(parts) for member, parts in offered.items()}


def _any_of(parts: list[Json]) -> Json:
    if all("const" in part for part in parts):
        first = {key: value for key, value in parts[0].items() if key != "const"}
        return {**first, "enum": [part["const"] for part in parts]}
    return {"description": parts[0]["description"], "anyOf": parts}
