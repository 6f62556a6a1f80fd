"""What changed between two versions of the contract, and whether a client of the old one would notice.

Pure: two documents in, a list of changes out. What goes in may only grow wider, what comes out may only grow richer.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]
_PREFIX = "#/components/schemas/"
_METHODS = ("get", "put", "post", "patch", "delete")
#: Bounds below which, and above which, a value is refused; and the side on which they tighten.
_LOWER = ("minimum", "exclusiveMinimum", "minLength", "minItems", "minProperties")
_UPPER = ("maximum", "exclusiveMaximum", "maxLength", "maxItems", "maxProperties")


@dataclass(frozen=True, slots=True, order=True)
class Change:
    """One difference: where, what, and whether it breaks a client of the old version."""

    where: str
    what: str
    breaking: bool

    def __str__(self) -> str:
        return f"{'BREAKING' if self.breaking else 'compatible'}  {self.where}: {self.what}"


def breaking(changes: list[Change]) -> list[Change]:
    """Return the changes that a client of the old version would notice."""
    return [change for change in changes if change.breaking]


def compare(old: Json, new: Json) -> list[Change]:
    """Return every change of the contract from one OpenAPI 3.1 document to another, sorted."""
    return sorted(set(_Comparison(old, new).changes()))


class _Comparison:
    def __init__(self, old: Json, new: Json) -> None:
        self._old = old
        self._new = new
        self._under_way: set[tuple[str, str, str, bool, bool]] = set()

    def changes(self) -> Iterator[Change]:
        before, after = _operations(self._old), _operations(self._new)
        for place in sorted(before.keys() | after.keys()):
            if place not in after:
                yield Change(place, "operation removed", breaking=True)
            elif place not in before:
                yield Change(place, "operation added", breaking=False)
            else:
                yield from self._operation(place, before[place], after[place])

    def _operation(self, place: str, old: Json, new: Json) -> Iterator[Change]:
        if old.get("operationId") != new.get("operationId"):
            yield Change(place, f"operationId was {old.get('operationId')}", breaking=True)
        if new.get("deprecated") and not old.get("deprecated"):
            yield Change(place, "deprecated", breaking=False)
        yield from _security(place, old, new)
        yield from self._parameters(place, old, new)
        yield from self._body(place, old.get("requestBody"), new.get("requestBody"))
        yield from self._responses(place, old["responses"], new["responses"])

    def _parameters(self, place: str, old: Json, new: Json) -> Iterator[Change]:
        before, after = _parameters(old), _parameters(new)
        for name in sorted(before.keys() | after.keys()):
            here = f"{place} {name}"
            if name not in after:
                yield Change(here, "parameter removed", breaking=True)
            elif name not in before:
                needed = bool(after[name].get("required"))
                yield Change(here, f"{'required ' if needed else ''}parameter added", breaking=needed)
            else:
                if after[name].get("required") and not before[name].get("required"):
                    yield Change(here, "parameter is now required", breaking=True)
                yield from self._sent(here, before[name]["schema"], after[name]["schema"])

    def _body(self, place: str, old: Json | None, new: Json | None) -> Iterator[Change]:
        here = f"{place} body"
        if old is None or new is None:
            if old is not new:
                added = old is None
                must = added and bool((new or {}).get("required"))
                yield Change(here, "body added" if added else "body removed", breaking=must or not added)
            return
        if new.get("required") and not old.get("required"):
            yield Change(here, "body is now required", breaking=True)
        for media, before, after in _paired(old["content"], new["content"]):
            if before is None or after is None:
                word = "added" if before is None else "removed"
                yield Change(here, f"media type {media} {word}", breaking=after is None)
            else:
                yield from self._sent(here, before["schema"], after["schema"])

    def _responses(self, place: str, old: Json, new: Json) -> Iterator[Change]:
        for status, before, after in _paired(old, new):
            here = f"{place} {status}"
            if after is None:
                yield Change(here, "answer removed", breaking=status.startswith("2"))
            elif before is None:
                yield Change(here, "answer added", breaking=False)
            else:
                yield from self._response(here, before, after)

    def _response(self, here: str, old: Json, new: Json) -> Iterator[Change]:
        for name, _, after in _paired(old.get("headers", {}), new.get("headers", {})):
            if after is None:
                yield Change(here, f"header {name} removed", breaking=True)
        for media, before, after in _paired(old.get("content", {}), new.get("content", {})):
            if before is None or after is None:
                word = "added" if before is None else "removed"
                yield Change(here, f"media type {media} {word}", breaking=after is None)
            else:
                yield from self._answered(here, before["schema"], after["schema"])

    def _opened(self, way: str, old: Json, new: Json) -> tuple[Json, Json] | None:
        """Return both schemas behind their references, or None where this pair is being compared already."""
        (old, old_null), (new, new_null) = _beside_null(old), _beside_null(new)
        names = (way, old.get("$ref", ""), new.get("$ref", ""), old_null, new_null)
        if names[1] and names[2]:
            if names in self._under_way:
                return None
            self._under_way.add(names)
        return _resolve(old, self._old, or_null=old_null), _resolve(new, self._new, or_null=new_null)

    def _sent(self, here: str, old: Json, new: Json) -> Iterator[Change]:
        opened = self._opened("sent", old, new)
        if opened is None:
            return
        old, new = opened
        yield from _narrowed(here, old, new)
        for name, before, after in _paired(old.get("properties", {}), new.get("properties", {})):
            yield from self._sent_member(f"{here}.{name}", name, (before, after), (old, new))
        if "items" in old and "items" in new:
            yield from self._sent(f"{here}[]", old["items"], new["items"])
        for before, after in _options(old, new):
            if after is None:
                yield Change(here, f"alternative {_title(before)} removed", breaking=True)
            elif before is not None:
                yield from self._sent(here, before, after)

    def _sent_member(
        self, here: str, name: str, parts: tuple[Json | None, Json | None], owners: tuple[Json, Json]
    ) -> Iterator[Change]:
        before, after = parts
        needed = name in owners[1].get("required", [])
        if after is None:
            closed = owners[1].get("additionalProperties") is False
            yield Change(here, "member no longer taken", breaking=closed)
        elif before is None:
            yield Change(here, f"{'required ' if needed else ''}member taken", breaking=needed)
        else:
            if needed and name not in owners[0].get("required", []):
                yield Change(here, "member is now required", breaking=True)
            yield from self._sent(here, before, after)

    def _answered(self, here: str, old: Json, new: Json) -> Iterator[Change]:
        opened = self._opened("answered", old, new)
        if opened is None:
            return
        old, new = opened
        yield from _widened(here, old, new)
        for name, before, after in _paired(old.get("properties", {}), new.get("properties", {})):
            at = f"{here}.{name}"
            if before is None or after is None:
                word = "added" if before is None else "removed"
                yield Change(at, f"member {word}", breaking=after is None)
                continue
            if name in old.get("required", []) and name not in new.get("required", []):
                yield Change(at, "member is no longer always there", breaking=True)
            yield from self._answered(at, before, after)
        if "items" in old and "items" in new:
            yield from self._answered(f"{here}[]", old["items"], new["items"])
        for before, after in _options(old, new):
            if before is None:
                yield Change(here, f"alternative {_title(after)} added", breaking=True)
            elif after is not None:
                yield from self._answered(here, before, after)


def _operations(document: Json) -> dict[str, Json]:
    return {
        f"{method.upper()} {path}": item[method]
        for path, item in document["paths"].items()
        for method in _METHODS
        if method in item
    }


def _parameters(operation: Json) -> dict[str, Json]:
    return {f"{one['in']} {one['name']}": one for one in operation.get("parameters", [])}


def _paired(old: Json, new: Json) -> Iterator[tuple[str, Any, Any]]:
    for name in sorted(old.keys() | new.keys()):
        yield name, old.get(name), new.get(name)


def _beside_null(schema: Json) -> tuple[Json, bool]:
    """Return the one schema that stands beside null, and whether there was a null."""
    real = [option for option in schema.get("anyOf", []) if option != {"type": "null"}]
    if len(real) == 1 and len(real) < len(schema["anyOf"]):
        return real[0], True
    return schema, False


def _resolve(schema: Json, document: Json, *, or_null: bool) -> Json:
    while "$ref" in schema:
        schema = document["components"]["schemas"][schema["$ref"].removeprefix(_PREFIX)]
    return {**schema, "type": sorted({*_kinds(schema), "null"})} if or_null else schema


def _security(place: str, old: Json, new: Json) -> Iterator[Change]:
    before, after = _scopes(old), _scopes(new)
    if before and not after:
        yield Change(place, "no longer needs a key", breaking=False)
    for scope in sorted(after - before):
        yield Change(place, f"needs {scope}", breaking=True)


def _scopes(operation: Json) -> set[str]:
    wanted = operation.get("security", [])
    return {
        f"{scheme} {scope}" for one in wanted for scheme, scopes in one.items() for scope in scopes or ["any"]
    }


def _title(schema: Json) -> str:
    return str(schema.get("$ref", schema.get("type", "?"))).removeprefix(_PREFIX)


def _options(old: Json, new: Json) -> Iterator[tuple[Any, Any]]:
    """Pair the alternatives of two schemas by what they refer to."""
    lists = [
        {_title(option): option for key in ("oneOf", "anyOf") for option in one.get(key, [])}
        for one in (old, new)
    ]
    for _, before, after in _paired(*lists):
        yield before, after


def _kinds(schema: Json) -> set[str]:
    """Return the JSON types that a schema allows; a whole number is a number."""
    kind = schema.get("type", [])
    kinds = {kind} if isinstance(kind, str) else set(kind)
    return kinds | ({"integer"} if "number" in kinds else set())


def _narrowed(here: str, old: Json, new: Json) -> Iterator[Change]:
    """What was taken must be taken still."""
    if _kinds(new) and (lost := (_kinds(old) or {"any"}) - _kinds(new)):
        yield Change(here, f"type {'/'.join(sorted(lost))} no longer taken", breaking=True)
    if lost_codes := _lost(_codes(old), _codes(new)):
        yield Change(here, f"code {', '.join(lost_codes)} no longer taken", breaking=True)
    if (gained := _lost(_codes(new), _codes(old))) and _codes(old) is not None:
        yield Change(here, f"code {', '.join(gained)} taken", breaking=False)
    for bound in (*_LOWER, *_UPPER):
        yield from _bound(here, bound, old.get(bound), new.get(bound))
    for rule in ("pattern", "format"):
        if rule in new and old.get(rule) != new[rule]:
            yield Change(here, f"{rule} is now {new[rule]}", breaking=True)
    if new.get("additionalProperties") is False and old.get("additionalProperties") is not False:
        yield Change(here, "closed to other members", breaking="properties" in old or "object" in _kinds(old))


def _bound(here: str, name: str, old: float | None, new: float | None) -> Iterator[Change]:
    if old == new:
        return
    tighter = new is not None and (old is None or (new > old if name in _LOWER else new < old))
    yield Change(here, f"{name} {old} -> {new}", breaking=tighter)


def _codes(schema: Json) -> list[Any] | None:
    if "const" in schema:
        return [schema["const"]]
    codes: list[Any] | None = schema.get("enum")
    return codes


def _lost(old: list[Any] | None, new: list[Any] | None) -> list[str]:
    if new is None:
        return []
    if old is None:
        return ["other than the listed"]
    return sorted(str(code) for code in old if code not in new)


def _widened(here: str, old: Json, new: Json) -> Iterator[Change]:
    """What comes must be what was promised."""
    if _kinds(old) and (gained := (_kinds(new) or {"any"}) - _kinds(old)):
        yield Change(here, f"type {'/'.join(sorted(gained))} may come", breaking=True)
    if gained_codes := _lost(_codes(new), _codes(old)):
        yield Change(here, f"code {', '.join(gained_codes)} may come in a closed list", breaking=True)
    before, after = old.get("x-extensible-enum", []), new.get("x-extensible-enum", [])
    for code in sorted(set(after) - set(before)):
        yield Change(here, f"code {code} may come", breaking=False)
    if "format" in old and old["format"] != new.get("format"):
        yield Change(here, f"format was {old['format']}", breaking=True)
