"""API keys."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Body, Path, Response

from service.usecases import api_keys
from service.usecases import errors as refused
from service.usecases.documents import Document, without_nulls
from service.usecases.keyed import once
from service.usecases.ports import KeyRow, Reach
from service.web.idempotency import IdempotencyKey, bare
from service.web.operation import Operation, Success, declare
from service.web.parameters import CallerOf, ServicesOf
from service.web.rendering import json_response
from service.web.schemas.service import ApiKeyInput, ApiKeyPage, NewApiKey

_SHOWN = {
    "id": "01937b5c-7a00-7000-8000-0000000000b1", "name": "front desk (invented)",
    "scopes": ["athlete:read", "answer:read"], "created_at": "2026-11-23T09:00:00+00:00",
    "reach": {"group_ids": [], "site_ids": ["01937b5c-7a00-7000-8000-0000000000b2"], "athlete_ids": []},
}  # fmt: skip


def key_document(row: KeyRow) -> Document:
    """Return a key as it is shown, without its secret."""
    reach = None if row.reach.everyone else {
        "group_ids": [str(id) for id in row.reach.group_ids],
        "site_ids": [str(id) for id in row.reach.site_ids],
        "athlete_ids": [str(id) for id in row.reach.athlete_ids],
    }  # fmt: skip
    shown: Document = without_nulls(
        {
            "id": str(row.id), "name": row.name, "scopes": list(row.scopes), "reach": reach,
            "created_at": row.created_at.isoformat(),
            "expires_at": row.expires_at.isoformat() if row.expires_at else None,
            "revoked_at": row.revoked_at.isoformat() if row.revoked_at else None,
        }
    )  # fmt: skip
    return shown


def _reach(body: ApiKeyInput) -> Reach:
    if body.reach is None:
        return Reach()
    return Reach(
        False, tuple(body.reach.group_ids), tuple(body.reach.site_ids), tuple(body.reach.athlete_ids)
    )


def _without_secret(answer: Document) -> Document:
    return {name: value for name, value in answer.items() if name != "secret"}


def router() -> APIRouter:
    """Return the operations on keys."""
    made = APIRouter()
    create = Operation(
        id="createApiKey",
        method="POST",
        path="/api-keys",
        tag="Service",
        summary="Make an API key",
        description=(
            "The secret is in this answer and nowhere else: only its hash is kept. A key reaches no further than the key "
            "that made it. With an Idempotency-Key a repetition makes no second key, and answers without the secret."
        ),
        scope="admin",
        errors=(refused.UnknownReference, refused.NotPossible, refused.KeyReused),
        consumes=("application/json",),
        body_examples={
            "front_desk": {
                "value": {"name": "front desk (invented)", "scopes": ["athlete:read", "answer:read"]}
            }
        },
        successes=(
            Success(
                201,
                "Made; this is the only time the secret is shown.",
                NewApiKey,
                examples={"made": {"value": {**_SHOWN, "secret": "steelyard.AZN7....(shown once)"}}},
                links={
                    "revokeApiKey": {
                        "operationId": "revokeApiKey",
                        "parameters": {"key_id": "$response.body#/id"},
                    }
                },
            ),
        ),
    )
    listing = Operation(
        id="listApiKeys",
        method="GET",
        path="/api-keys",
        tag="Service",
        summary="List API keys",
        description="Every key within the caller's reach, the ended ones too, oldest first and without secrets.",
        scope="admin",
        successes=(Success(200, "All keys.", ApiKeyPage, examples={"keys": {"value": {"items": [_SHOWN]}}}),),
    )
    ending = Operation(
        id="revokeApiKey",
        method="DELETE",
        path="/api-keys/{key_id}",
        tag="Service",
        summary="End an API key",
        description="The key ends at once, for requests under way too. Ending it again changes nothing.",
        scope="admin",
        successes=(Success(204, "Ended."),),
    )

    @declare(made, create)
    def create_api_key(
        body: Annotated[ApiKeyInput, Body()],
        caller: CallerOf,
        services: ServicesOf,
        idempotency_key: IdempotencyKey = None,
    ) -> Response:
        asked: Any = body.model_dump(mode="json", exclude_none=True)
        with services.store.write(caller) as work:

            def make() -> Document:
                new = api_keys.create(work, body.name, body.scopes, _reach(body), body.expires_at)
                return {**key_document(new.row), "secret": new.secret}

            answer = once(work, bare(idempotency_key), ["createApiKey", asked], make, keep=_without_secret)
        return json_response(answer, 201)

    @declare(made, listing)
    def list_api_keys(caller: CallerOf, services: ServicesOf) -> Response:
        with services.store.read(caller) as work:
            return json_response({"items": [key_document(row) for row in api_keys.every(work)]})

    @declare(made, ending)
    def revoke_api_key(
        key_id: Annotated[UUID, Path(description="The key.")], caller: CallerOf, services: ServicesOf
    ) -> Response:
        with services.store.write(caller) as work:
            api_keys.revoke(work, key_id)
        return Response(status_code=204)

    return made
