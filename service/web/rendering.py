"""Records as bodies of answers, and bodies of requests as records."""

from datetime import date, datetime
from typing import Any, cast
from uuid import UUID

import msgspec
from fastapi import Response
from pydantic import BaseModel, RootModel

from service.usecases.documents import Document, to_document, without_nulls
from service.usecases.ports import Stored

#: Answers hold personal data: no shared cache may keep them, and every use asks again whether they still stand.
PRIVATE = {"Cache-Control": "private, no-cache", "Vary": "Accept, Accept-Language, Authorization"}
_BUILTIN = (datetime, date, UUID)


def owned_members(schema: type[BaseModel]) -> frozenset[str]:
    """Return the members of a body that the server owns, and so ignores on the way in."""
    owned = set()
    for name, field in schema.model_fields.items():
        extra = field.json_schema_extra
        if isinstance(extra, dict) and extra.get("readOnly"):
            owned.add(name)
    return frozenset(owned)


def to_record(body: BaseModel, record: Any) -> Any:
    """Return the record that a validated body says."""
    said = body.root if isinstance(body, RootModel) else body
    members = said.model_dump(exclude_none=True, exclude=set(owned_members(type(said))))
    return msgspec.convert(members, record, strict=False, builtin_types=_BUILTIN)


def represent(stored: Stored) -> Document:
    """Return the body that shows a stored resource."""
    owned = {
        "id": str(stored.id),
        "athlete_id": str(stored.athlete_id) if stored.athlete_id else None,
        "etag": stored.etag,
        "received_at": stored.received_at.isoformat(),
        "updated_at": stored.updated_at.isoformat(),
    }
    return cast(Document, without_nulls({**owned, **to_document(stored.record)}))


def json_response(document: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """Render a document."""
    content = msgspec.json.encode(document)
    return Response(content, status, {**PRIVATE, **(headers or {})}, "application/json")


def resource_response(stored: Stored, *, status: int = 200, position: int | None = None) -> Response:
    """Render a stored resource with its entity tag."""
    headers = {"ETag": stored.etag}
    if position is not None:
        headers["Steelyard-Position"] = str(position)
    return json_response(represent(stored), status, headers)
