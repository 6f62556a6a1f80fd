"""The change feed."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Response

from service.usecases import changes, resources
from service.usecases import errors as refused
from service.usecases.documents import without_nulls
from service.usecases.ports import Change
from service.web.operation import Operation, Success, declare
from service.web.paging import page_size
from service.web.parameters import CallerOf, MinPosition, PageSize, ServicesOf
from service.web.rendering import json_response
from service.web.schemas.service import ChangePage

_SHOWN = {
    "items": [
        {
            "position": "42", "kind": "set", "id": "01937b5c-7a00-7000-8000-000000000001", "op": "put", "etag": '"1"',
            "athlete_id": "01937b5c-7a00-7000-8000-00000000000a", "at": "2026-11-23T18:06:00+00:00",
        },
        {
            "position": "43", "kind": "answers", "id": "01937b5c-7a00-7000-8000-00000000000a", "op": "recomputed",
            "etag": '"capability/5"', "athlete_id": "01937b5c-7a00-7000-8000-00000000000a",
            "at": "2026-11-23T18:06:02+00:00",
        },
    ],
    "next_cursor": "WyIwMTkzN2I1Yy0uLi4iLCA0Ml0", "has_more": False,
}  # fmt: skip


def _item(change: Change) -> dict[str, object]:
    shown: dict[str, object] = without_nulls(
        {
            "position": str(change.position), "kind": change.kind, "id": str(change.id),
            "athlete_id": str(change.athlete_id) if change.athlete_id else None,
            "op": change.op, "etag": change.etag, "at": change.at.isoformat(),
        }
    )  # fmt: skip
    return shown


def router() -> APIRouter:
    """Return the feed's operation."""
    made = APIRouter()
    listing = Operation(
        id="listChanges",
        method="GET",
        path="/changes",
        tag="Changes",
        summary="What changed since a cursor?",
        description=(
            "Changes in the order of their commits; none is ever lost or passed over. Start without a cursor, then give "
            "`next_cursor`. One change of a resource may stand for several: read the resource itself. `answers` with "
            "`recomputed`: a job has folded an athlete's whole log anew, so ask again for what is shown of it. Kept for 90 days at "
            "least; an older cursor, or one from before a restore, answers 410 `cursor_expired`: read the lists again."
        ),
        scope="log:read",
        errors=(refused.CursorExpired, refused.Deleted, refused.UnreadableToken, refused.BehindPosition),
        successes=(Success(200, "The next changes.", ChangePage, examples={"one": {"value": _SHOWN}}),),
    )

    @declare(made, listing)
    def list_changes(
        caller: CallerOf,
        services: ServicesOf,
        cursor: Annotated[
            str | None, Query(max_length=200, description="`next_cursor` of the answer before.")
        ] = None,
        athlete_id: Annotated[UUID | None, Query(description="Only changes of this athlete.")] = None,
        page_size_: PageSize = None,
        min_position: MinPosition = None,
    ) -> Response:
        with services.store.read(caller) as work:
            changes.reach_position(work, min_position)
            if athlete_id is not None:
                resources.find_athlete(work, athlete_id)
            found = changes.list_changes(work, cursor, page_size(page_size_), athlete_id)
        items = [_item(change) for change in found.items]
        return json_response({"items": items, "next_cursor": found.next_cursor, "has_more": found.has_more})

    return made
