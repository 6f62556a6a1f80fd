"""JSON merge patch: change a document by naming what differs, null taking a member away [Hoffman2014]_."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

JsonValue: TypeAlias = "bool | int | float | str | Sequence[JsonValue] | Mapping[str, JsonValue] | None"


def apply(target: JsonValue, patch: JsonValue) -> JsonValue:
    """Return ``target`` changed by ``patch``; neither is altered.

    Members of objects merge, null removes a member, anything else (arrays too) replaces the whole value
    [Hoffman2014]_, section 2. A document cannot be given a member that is null, nor an array changed in part.
    """
    if not isinstance(patch, Mapping):
        return patch
    merged = dict(target) if isinstance(target, Mapping) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = apply(merged.get(name), value)
    return merged
