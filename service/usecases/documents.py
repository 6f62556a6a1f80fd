"""Records as JSON documents, and their fingerprints: what makes two bodies the same body."""

import hashlib
from typing import Any, TypeVar, cast

import msgspec

Document = dict[str, Any]
R = TypeVar("R")

_FINGERPRINT_BYTES = 16


def without_nulls(value: Any) -> Any:
    """Drop every null member at any depth: null and absent are the same."""
    if isinstance(value, dict):
        return {name: without_nulls(member) for name, member in value.items() if member is not None}
    if isinstance(value, list):
        return [without_nulls(member) for member in value]
    return value


def to_document(record: object) -> Document:
    """Return the JSON document of a record, nulls left out."""
    return cast(Document, without_nulls(msgspec.to_builtins(record)))


def from_document(kind: type[R], document: Document) -> R:
    """Return the record that a stored or validated document holds."""
    return msgspec.convert(document, kind, strict=False)


def _canonical(value: Any) -> Any:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {name: _canonical(member) for name, member in value.items()}
    if isinstance(value, list):
        return [_canonical(member) for member in value]
    return value


def fingerprint(record: object) -> bytes:
    """Return 16 bytes that are equal for equal bodies: key order and ``82.50`` against ``82.5`` make no difference."""
    canonical = msgspec.json.encode(_canonical(to_document(record)), order="sorted")
    return hashlib.blake2b(canonical, digest_size=_FINGERPRINT_BYTES).digest()
