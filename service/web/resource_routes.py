"""Get, list, put, change and delete: the same five operations for every kind of resource, declared from one record."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Body, Depends, Path, Query, Response
from pydantic import BaseModel

from service.catalogue.texts import Texts
from service.usecases import errors as refused
from service.usecases import resources
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.kinds import Kind
from service.usecases.ports import Page, Stored, UnitOfWork
from service.usecases.resources import Target
from service.web.merging import merge_parser
from service.web.operation import Example, Operation, Success, declare
from service.web.paging import after_token, page_size, token_for
from service.web.parameters import (
    AthleteId,
    CallerOf,
    IfMatchHeader,
    IfNoneMatchHeader,
    ServicesOf,
    tags_of,
    weakly_matches,
)
from service.web.rendering import json_response, represent, resource_response, to_record
from service.web.schemas.resources import PageOf

MERGE_PATCH = "application/merge-patch+json"
_WRITTEN = ("ETag", "Steelyard-Position")
_READ = ("ETag", "Cache-Control", "Vary")


class ListFilters(BaseModel):
    """What every list takes."""

    page_size: Annotated[
        int | None,
        Query(ge=1, le=2_147_483_647, description="Items a page; 100 unless given, capped at 1000."),
    ] = None
    page_token: Annotated[
        str | None, Query(max_length=400, description="`next_page_token` of the page before, same query.")
    ] = None


@dataclass(frozen=True, slots=True)
class ResourceSpec:
    """One kind of resource as the contract shows it.

    ``path`` is where lists are; ``id_name`` the path parameter of one, None where there is only one per parent.
    ``words`` is the singular and plural for summaries; ``about`` what the reader must know before writing.
    ``shows_itself`` is false where another module shows the kind together with what is not kept here; ``show`` makes the
    body of an answer. ``may_put`` refuses what must not be put now, where more than the body decides.
    """

    kind: Kind
    schema: type[Any]
    page_schema: type[PageOf] | None
    path: str
    id_name: str | None
    names: tuple[str, str]
    words: tuple[str, str]
    tag: str
    scopes: tuple[str, str]
    about: str
    example: Example
    patch_example: Example | None
    errors: tuple[type[refused.UseCaseError], ...] = ()
    filters: type[ListFilters] = ListFilters
    visible: Callable[[UnitOfWork], Mapping[str, Any]] | None = None
    cascade: bool = False
    links: Mapping[str, Any] = field(default_factory=dict)
    shows_itself: bool = True
    show: Callable[[Stored], Document] = represent
    may_put: Callable[[UnitOfWork, ExerciseBook, Texts, Target, Any], None] | None = None

    @property
    def one(self) -> str:
        """The path of one resource."""
        return f"{self.path}/{{{self.id_name}}}" if self.id_name else self.path

    @property
    def of_athlete(self) -> bool:
        """Whether the resource lies under an athlete."""
        return self.kind.of_athlete


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


def _write_errors(spec: ResourceSpec) -> tuple[type[refused.UseCaseError], ...]:
    rule: dict[str, tuple[type[refused.UseCaseError], ...]] = {
        "different_body": (refused.DifferentBody,),
        "if_match_required": (refused.PreconditionRequired,),
        "kept": (refused.PlanIsKept,),
    }
    consent = (refused.ConsentRequired,) if spec.kind.consent else ()
    changed = (refused.Deleted, refused.PreconditionFailed)
    return (*changed, *rule[spec.kind.change_rule], *consent, *spec.errors)


def _retry_words(spec: ResourceSpec) -> str:
    words = {
        "different_body": "another body needs If-Match, else 409 `different_body` with `current`.",
        "if_match_required": "another body needs If-Match, else 428 `if_match_required`.",
        "kept": "another body is refused: it is kept as it was first sent.",
    }
    return f"Safe to retry: the same body again answers 200 and feeds nothing; {words[spec.kind.change_rule]}"


def _links(spec: ResourceSpec) -> dict[str, Any]:
    names = [name for name in ("athlete_id" if spec.of_athlete else None, spec.id_name) if name]
    if not spec.of_athlete and spec.id_name is None:
        names = ["site_id"]
    parameters = {name: f"$request.path.{name}" for name in names}
    single, _ = spec.names
    own = {f"get{single}": {"operationId": f"get{single}", "parameters": parameters}}
    deletes = {f"delete{single}": {"operationId": f"delete{single}", "parameters": parameters}}
    return {**own, **deletes, **spec.links}


def _mount_put(router: APIRouter, spec: ResourceSpec) -> None:
    single, _ = spec.names
    shown = {spec.words[0].replace(" ", "_").replace("-", "_"): {"value": shown_example(spec)}}
    operation = Operation(
        id=f"put{single}",
        method="PUT",
        path=spec.one,
        tag=spec.tag,
        summary=f"Put {_article(spec.words[0])} under an id",
        description=f"{spec.about} {_retry_words(spec)} After a delete: 410 with the tombstone's ETag.",
        scope=spec.scopes[1],
        errors=_write_errors(spec),
        consumes=("application/json",),
        body_examples={"sent": {"value": spec.example}},
        successes=(
            Success(
                201,
                "Kept for the first time.",
                spec.schema,
                examples=shown,
                headers=_WRITTEN,
                links=_links(spec),
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
        summary=f"Get {_article(spec.words[0])}",
        description=f"The {spec.words[0]} as it is kept now. A deleted one answers 410 with the tombstone's ETag.",
        scope=spec.scopes[0],
        errors=(refused.Deleted,),
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
    ) -> Response:
        with services.store.read(caller) as work:
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
        summary=f"Change {_article(spec.words[0])}",
        description=(
            f"A JSON merge patch (RFC 7396): members given replace, null removes, the rest stays; {rule}. "
            "The merged body must fit the schema, else 409 `not_possible`. A change that is already there answers 200 "
            "and feeds nothing."
        ),
        scope=spec.scopes[1],
        errors=(*_write_errors(spec), refused.NotPossible),
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
        summary=f"Delete {_article(spec.words[0])}",
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
        with services.store.write(caller) as work:
            grave = resources.remove(work, target, tags_of(if_match), cascade=cascade)
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
        errors=(refused.UnreadableToken, *((refused.Deleted,) if spec.of_athlete else ())),
        successes=(
            Success(200, "One page.", spec.page_schema, examples=shown, headers=("Cache-Control", "Vary")),
        ),
    )
    filters_type = spec.filters

    def answer(athlete_id: UUID | None, filters: ListFilters, caller: Any, services: Any) -> Response:
        asked = filters.model_dump(exclude={"page_size", "page_token"}, exclude_none=True, by_alias=True)
        mark = {**asked, "list": plural, "athlete": athlete_id}
        after = after_token(filters.page_token, mark)
        size = page_size(filters.page_size)
        with services.store.read(caller) as work:
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
        ) -> Response:
            return answer(athlete_id, filters, caller, services)

    else:

        @declare(router, operation)
        def list_of_tenant(
            filters: Annotated[filters_type, Query()],  # type: ignore[valid-type]
            caller: CallerOf,
            services: ServicesOf,
        ) -> Response:
            return answer(None, filters, caller, services)


def shown_example(spec: ResourceSpec) -> Document:
    """Return the example as the server would show it."""
    owned: Document = {
        "id": "01937b5c-7a00-7000-8000-000000000001", "etag": '"1"',
        "received_at": "2026-11-23T18:06:00+00:00", "updated_at": "2026-11-23T18:06:00+00:00",
    }  # fmt: skip
    if spec.of_athlete:
        owned["athlete_id"] = "01937b5c-7a00-7000-8000-00000000000a"
    if spec.kind.name == "exercise":
        owned.update(exercise_id=owned["id"], origin="own")
    return {**owned, **spec.example}


def _article(word: str) -> str:
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"
