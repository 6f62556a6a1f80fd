"""Get, list, put, change and delete: the same five operations for every kind of resource, declared from one record."""

from collections.abc import Callable
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Body, Depends, Path, Query, Response

from service.usecases import errors as refused
from service.usecases import resources
from service.usecases.changes import reach_position
from service.usecases.documents import Document
from service.usecases.ports import Page
from service.usecases.resources import Target
from service.web.merging import merge_parser
from service.web.operation import Operation, Success, declare
from service.web.paging import after_token, page_size, token_for
from service.web.parameters import (
    AthleteId,
    CallerOf,
    IfMatchHeader,
    IfNoneMatchHeader,
    MinPosition,
    ServicesOf,
    tags_of,
    weakly_matches,
)
from service.web.rendering import json_response, represent, resource_response, to_record
from service.web.resource_specs import (
    ListFilters,
    ResourceSpec,
    links_of,
    retry_words,
    shown_example,
    with_article,
    write_errors,
)

MERGE_PATCH = "application/merge-patch+json"
_WRITTEN = ("ETag", "Steelyard-Position")
_READ = ("ETag", "Cache-Control", "Vary")


def mount(router: APIRouter, spec: ResourceSpec) -> None:
    """Declare every operation of a kind."""
    _mount_put(router, spec)
    if spec.shows_itself:
        _mount_get(router, spec)
    if spec.patch_example is not None:
        _mount_patch(router, spec)
    _mount_delete(router, spec)
    if spec.page_schema is not None:
        _mount_list(router, spec)


def _target_of(spec: ResourceSpec) -> Callable[..., Target]:
    if spec.of_athlete and spec.id_name:

        def under_athlete(
            athlete_id: AthleteId,
            id: Annotated[UUID, Path(alias=spec.id_name, description=f"The {spec.words[0]}.")],
        ) -> Target:
            return Target(spec.kind, id, athlete_id)

        return under_athlete
    if spec.of_athlete:

        def only_one(athlete_id: AthleteId) -> Target:
            return Target(spec.kind, athlete_id, athlete_id)

        return only_one
    name = spec.id_name or "site_id"

    def of_tenant(id: Annotated[UUID, Path(alias=name, description=f"The {spec.words[0]}.")]) -> Target:
        return Target(spec.kind, id)

    return of_tenant


def _mount_put(router: APIRouter, spec: ResourceSpec) -> None:
    single, _ = spec.names
    shown = {spec.words[0].replace(" ", "_").replace("-", "_"): {"value": shown_example(spec)}}
    operation = Operation(
        id=f"{spec.puts}{single}",
        method="PUT",
        path=spec.one,
        tag=spec.tag,
        summary=f"{spec.puts.capitalize()} {with_article(spec.words[0])} under an id",
        description=f"{spec.about} {retry_words(spec)} After a delete: 410 with the tombstone's ETag.",
        scope=spec.scopes[1],
        errors=write_errors(spec),
        consumes=("application/json",),
        body_examples={"sent": {"value": spec.example}},
        successes=(
            Success(
                201,
                "Kept for the first time.",
                spec.schema,
                examples=shown,
                headers=_WRITTEN,
                links=links_of(spec),
            ),
            Success(200, "Kept already, or replaced.", spec.schema, examples=shown, headers=_WRITTEN),
        ),
    )
    schema = spec.schema

    @declare(router, operation)
    def put_resource(
        target: Annotated[Target, Depends(_target_of(spec))],
        body: Annotated[schema, Body()],  # type: ignore[valid-type]
        caller: CallerOf,
        services: ServicesOf,
        if_match: IfMatchHeader = None,
        if_none_match: IfNoneMatchHeader = None,
    ) -> Response:
        record = to_record(body, spec.kind.record)
        only_create = "*" in (tags_of(if_none_match) or ())
        with services.write(caller) as (work, book):
            if spec.may_put is not None:
                spec.may_put(work, book, services.texts, target, record)
            outcome, stored = resources.put(
                work, book, target, record, tags_of(if_match), only_create=only_create
            )
            position = work.position()
        return resource_response(
            stored, status=201 if outcome == "created" else 200, position=position, show=spec.show
        )


def _mount_get(router: APIRouter, spec: ResourceSpec) -> None:
    single, _ = spec.names
    shown = {"stored": {"value": shown_example(spec)}}
    operation = Operation(
        id=f"get{single}",
        method="GET",
        path=spec.one,
        tag=spec.tag,
        summary=f"Get {with_article(spec.words[0])}",
        description=f"The {spec.words[0]} as it is kept now. A deleted one answers 410 with the tombstone's ETag.",
        scope=spec.scopes[0],
        errors=(refused.Deleted, refused.BehindPosition),
        successes=(
            Success(200, "As it is kept.", spec.schema, examples=shown, headers=_READ),
            Success(304, "The ETag of If-None-Match still stands.", headers=("ETag",)),
        ),
    )

    @declare(router, operation)
    def get_resource(
        target: Annotated[Target, Depends(_target_of(spec))],
        caller: CallerOf,
        services: ServicesOf,
        if_none_match: IfNoneMatchHeader = None,
        min_position: MinPosition = None,
    ) -> Response:
        with services.store.read(caller) as work:
            reach_position(work, min_position)
            stored = resources.get(work, target)
        if weakly_matches(if_none_match, stored.etag):
            return Response(status_code=304, headers={"ETag": stored.etag})
        return resource_response(stored, show=spec.show)


def _mount_patch(router: APIRouter, spec: ResourceSpec) -> None:
    single, _ = spec.names
    shown = {"changed": {"value": shown_example(spec)}}
    rule = (
        "without If-Match it merges by order of arrival"
        if spec.kind.merges
        else "If-Match is needed, else 428"
    )
    operation = Operation(
        id=f"update{single}",
        method="PATCH",
        path=spec.one,
        tag=spec.tag,
        summary=f"Change {with_article(spec.words[0])}",
        description=(
            f"A JSON merge patch (RFC 7396): members given replace, null removes, the rest stays; {rule}. "
            "The merged body must fit the schema, else 409 `not_possible`. A change that is already there answers 200 "
            "and feeds nothing."
        ),
        scope=spec.scopes[1],
        errors=(*write_errors(spec), refused.NotPossible),
        consumes=(MERGE_PATCH,),
        body_examples={"changed": {"value": spec.patch_example}},
        patch_of=spec.schema.__name__,
        successes=(Success(200, "The merged version.", spec.schema, examples=shown, headers=_WRITTEN),),
    )

    @declare(router, operation)
    def update_resource(
        target: Annotated[Target, Depends(_target_of(spec))],
        patch: Annotated[dict[str, Any], Body(media_type=MERGE_PATCH)],
        caller: CallerOf,
        services: ServicesOf,
        if_match: IfMatchHeader = None,
    ) -> Response:
        parse = merge_parser(spec.schema, spec.kind.record, patch)
        with services.write(caller) as (work, book):
            _, stored = resources.change(work, book, target, patch, tags_of(if_match), parse)
            position = work.position()
        return resource_response(stored, position=position, show=spec.show)


def _mount_delete(router: APIRouter, spec: ResourceSpec) -> None:
    single, _ = spec.names
    cascade = (
        " One that still holds sets needs `cascade=true`, which deletes them too." if spec.cascade else ""
    )
    operation = Operation(
        id=f"delete{single}",
        method="DELETE",
        path=spec.one,
        tag=spec.tag,
        summary=f"Delete {with_article(spec.words[0])}",
        description=(
            "Answers 204 always, also for an id never seen, and leaves a tombstone: a later PUT of this id answers 410. "
            f"Deleting again changes nothing.{cascade}"
        ),
        scope=spec.scopes[1],
        errors=(
            refused.PreconditionFailed,
            *((refused.Deleted,) if spec.of_athlete else ()),
            *((refused.SessionHasSets,) if spec.cascade else ()),
            *((refused.ConsentRequired,) if spec.kind.consent else ()),
        ),
        successes=(Success(204, "Deleted; the tombstone's ETag is in the header.", headers=_WRITTEN),),
    )

    def delete(
        target: Target, caller: Any, services: Any, if_match: str | None, *, cascade: bool
    ) -> Response:
        with services.write(caller) as (work, book):
            grave = resources.remove(work, book, target, tags_of(if_match), cascade=cascade)
            position = work.position()
        return Response(status_code=204, headers={"ETag": grave.etag, "Steelyard-Position": str(position)})

    if spec.cascade:

        @declare(router, operation)
        def delete_with_cascade(
            target: Annotated[Target, Depends(_target_of(spec))],
            caller: CallerOf,
            services: ServicesOf,
            if_match: IfMatchHeader = None,
            cascade: Annotated[bool, Query(description="Delete what it holds, too.")] = False,
        ) -> Response:
            return delete(target, caller, services, if_match, cascade=cascade)

    else:

        @declare(router, operation)
        def delete_resource(
            target: Annotated[Target, Depends(_target_of(spec))],
            caller: CallerOf,
            services: ServicesOf,
            if_match: IfMatchHeader = None,
        ) -> Response:
            return delete(target, caller, services, if_match, cascade=False)


def _mount_list(router: APIRouter, spec: ResourceSpec) -> None:
    _, plural = spec.names
    shown = {"page": {"value": {"items": [shown_example(spec)]}}}
    operation = Operation(
        id=f"list{plural}",
        method="GET",
        path=spec.path,
        tag=spec.tag,
        summary=f"List {spec.words[1]}",
        description=(
            f"The {spec.words[1]} that the caller may see, in a stable order, page by page. A page token belongs to its "
            "query: with other filters it is refused."
        ),
        scope=spec.scopes[0],
        errors=(
            refused.UnreadableToken,
            refused.BehindPosition,
            *((refused.Deleted,) if spec.of_athlete else ()),
        ),
        successes=(
            Success(200, "One page.", spec.page_schema, examples=shown, headers=("Cache-Control", "Vary")),
        ),
    )
    filters_type = spec.filters

    def answer(
        athlete_id: UUID | None, filters: ListFilters, caller: Any, services: Any, min_position: int | None
    ) -> Response:
        asked = filters.model_dump(exclude={"page_size", "page_token"}, exclude_none=True, by_alias=True)
        mark = {**asked, "list": plural, "athlete": athlete_id}
        after = after_token(filters.page_token, mark)
        size = page_size(filters.page_size)
        with services.store.read(caller) as work:
            reach_position(work, min_position)
            if athlete_id is not None:
                resources.find_athlete(work, athlete_id)
            limits = spec.visible(work) if spec.visible else {}
            found = work.resources.page(spec.kind, athlete_id, Page({**asked, **limits}, size + 1, after))
        document: Document = {"items": [represent(stored) for stored, _ in found[:size]]}
        if len(found) > size:
            document["next_page_token"] = token_for(mark, found[size - 1][1])
        return json_response(document)

    if spec.of_athlete:

        @declare(router, operation)
        def list_of_athlete(
            athlete_id: AthleteId,
            filters: Annotated[filters_type, Query()],  # type: ignore[valid-type]
            caller: CallerOf,
            services: ServicesOf,
            min_position: MinPosition = None,
        ) -> Response:
            return answer(athlete_id, filters, caller, services, min_position)

    else:

        @declare(router, operation)
        def list_of_tenant(
            filters: Annotated[filters_type, Query()],  # type: ignore[valid-type]
            caller: CallerOf,
            services: ServicesOf,
            min_position: MinPosition = None,
        ) -> Response:
            return answer(None, filters, caller, services, min_position)
