"""A phone's queue, and a log that arrives whole."""

import json
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Body, Depends, Query, Request, Response
from pydantic import TypeAdapter, ValidationError

from service.usecases import batches
from service.usecases import errors as refused
from service.usecases.batches import OperationResult, QueuedOperation
from service.usecases.documents import Document, without_nulls
from service.usecases.errors import FieldFault, UseCaseError
from service.usecases.kinds import KindName
from service.usecases.records.log import LoggedSet
from service.web.merging import parser
from service.web.operation import Operation, Success, declare
from service.web.parameters import AthleteId, CallerOf, ServicesOf
from service.web.problems import Problem, RequestRefused, of_invalid, of_refusal
from service.web.rendering import json_response, to_record
from service.web.routes.specs.log import LOG_SPECS
from service.web.schemas.base import Instant
from service.web.schemas.batches import (
    OperationInput,
    OperationResults,
    OperationsInput,
    SetBatch,
    SetBatchInput,
)
from service.web.strict import strict_json

NDJSON = "application/x-ndjson"
LARGEST_QUEUE_BYTES = 1024 * 1024
_PARSERS = {spec.kind.name: parser(spec.schema, spec.kind.record) for spec in LOG_SPECS}
_SETS: TypeAdapter[SetBatchInput] = TypeAdapter(SetBatchInput)
_SET: Document = {
    "id": "01937b5c-7a00-7000-8000-000000000001", "exercise_id": "bench-press", "side": "both", "ordinal": 4,
    "performed_at": "2026-11-23T18:20:00+02:00", "load": {"value": 82.5, "unit": "kg"}, "reps": 6, "reps_in_reserve": 2,
}  # fmt: skip
_LINE = {"index": 0, "id": _SET["id"], "status": 201, "etag": '"1"'}
_PUT = {"op": "put", "type": "set", "id": _SET["id"], "body": {k: v for k, v in _SET.items() if k != "id"}}
_BAD = {
    "index": 1, "type": "set", "id": "01937b5c-7a00-7000-8000-000000000002", "status": 422, "retryable": False,
    "problem": {
        "type": "urn:steelyard:problem:invalid", "title": "Does not fit the schema", "status": 422,
        "detail": "1 thing(s) do not fit.", "code": "invalid",
        "errors": [
            {
                "pointer": "#/operations/1/body/reps", "code": "number_type", "detail": "Input should be a whole number",
                "expected": "a whole number",
            }
        ],
    },
}  # fmt: skip

QUEUE = Operation(
    id="applyOperations",
    method="POST",
    path="/athletes/{athlete_id}/operations",
    tag="Log",
    summary="Apply a phone's queue",
    description=(
        "At most 500 entries or 1 MiB, applied in order. The envelope is strict; each body is validated on its own, so that "
        "one bad set does not block the queue: 200 when all were applied, 207 when some were refused. Sets of a session "
        "that was refused in the same queue fail with `dependency_failed`. Safe to retry as a whole."
    ),
    scope="log:write",
    errors=(refused.Deleted,),
    consumes=("application/json",),
    body_examples={"one_set": {"value": {"mode": "each", "operations": [_PUT]}}},
    successes=(
        Success(
            200,
            "Every entry was applied.",
            OperationResults,
            examples={
                "applied": {
                    "value": {
                        "items": [{"index": 0, "type": "set", "id": _SET["id"], "status": 201, "etag": '"1"', "retryable": False}],
                        "position": "42",
                    }
                }
            },
            headers=("Steelyard-Position",),
        ),
        Success(
            207,
            "Some entries were refused; each line says its own status.",
            OperationResults,
            examples={"one_refused": {"value": {"items": [_BAD], "position": "42"}}},
            headers=("Steelyard-Position",),
        ),
    ),
)  # fmt: skip
CREATE_SETS = Operation(
    id="createSets",
    method="POST",
    path="/athletes/{athlete_id}/sets",
    tag="Log",
    summary="Keep many sets at once",
    description=(
        "Up to 10,000 sets, as JSON or as NDJSON with one set a line (`sent_at` is then a query parameter). All are kept or "
        "none; the problem names every row at fault. Safe to retry: a set that is there already with the same body counts as "
        "kept. Order of arrival does not matter."
    ),
    scope="log:write",
    errors=(
        refused.Deleted, refused.DifferentBody, refused.UnknownReference, refused.NotPossible, refused.PerformedInFuture,
    ),
    consumes=("application/json", NDJSON),
    body_of="SetBatchInput",
    body_examples={"one_set": {"value": {"sets": [_SET]}}},
    text_examples={NDJSON: {"one_line": {"value": json.dumps(_SET) + "\n"}}},
    successes=(
        Success(
            201,
            "All are kept.",
            SetBatch,
            examples={"kept": {"value": {"items": [_LINE], "position": "42"}}},
            headers=("Steelyard-Position",),
            links={"listSets": {"operationId": "listSets", "parameters": {"athlete_id": "$request.path.athlete_id"}}},
        ),
    ),
)  # fmt: skip


async def _raw_body(request: Request) -> bytes:
    return await request.body()


def _queued(entry: OperationInput) -> QueuedOperation:
    tags = None if entry.if_match is None else (entry.if_match.strip(),)
    return QueuedOperation(entry.op, entry.type, entry.id, tags, entry.body)


def _parse(kind: KindName, document: Document) -> Any:
    return _PARSERS[kind](document)


_STATUS_OF = {"created": 201, "unchanged": 200, "replaced": 200, "deleted": 204}


def _line(result: OperationResult) -> Document:
    operation = result.operation
    line: Document = {
        "index": result.index,
        "type": operation.kind,
        "id": str(operation.id),
        "retryable": False,
    }
    if result.error is None:
        etag = result.stored.etag if result.stored else None
        return without_nulls({**line, "status": _STATUS_OF[result.outcome or "unchanged"], "etag": etag})  # type: ignore[no-any-return]
    problem = _problem_of(result.error, operation.body)
    placed = Problem(
        problem.status, problem.code, problem.title, problem.detail,
        [_placed(fault, result.index) for fault in problem.faults], problem.extensions,
    )  # fmt: skip
    retryable = problem.status in {424, 503}
    return {**line, "status": problem.status, "problem": placed.document(), "retryable": retryable}


def _placed(fault: FieldFault, index: int) -> FieldFault:
    return FieldFault(f"/operations/{index}/body{fault.pointer}", fault.code, fault.detail, fault.expected)


def _problem_of(error: Exception, body: Document | None) -> Problem:
    if isinstance(error, UseCaseError):
        return of_refusal(error)
    if isinstance(error, ValidationError):
        return of_invalid(error.errors(), body, in_body=True)
    raise error


def _set_rows(body: bytes, media: str, sent_at: Any) -> tuple[list[tuple[UUID, LoggedSet]], Any]:
    if media == NDJSON:
        lines = [line for line in body.split(b"\n") if line.strip()]
        document: Any = {"sets": [_ndjson_line(line, number) for number, line in enumerate(lines, 1)]}
    else:
        document = strict_json(body)
    try:
        batch = _SETS.validate_python(document)
    except ValidationError as invalid:
        raise RequestRefused(of_invalid(invalid.errors(), in_body=True)) from None
    rows = [(one.id, to_record(one, LoggedSet)) for one in batch.sets]
    return rows, batch.sent_at or sent_at


def _ndjson_line(line: bytes, number: int) -> Any:
    try:
        return strict_json(line)
    except RequestRefused as refusal:
        detail = f"Line {number}: {refusal.problem.detail}"
        raise RequestRefused(Problem(400, "unreadable_body", refusal.problem.title, detail)) from None


def router() -> APIRouter:
    """Return the operations that write many."""
    made = APIRouter()

    @declare(made, QUEUE)
    def apply_operations(
        athlete_id: AthleteId,
        body: Annotated[OperationsInput, Body()],
        caller: CallerOf,
        services: ServicesOf,
    ) -> Response:
        queue = [_queued(entry) for entry in body.operations]
        with services.write(caller) as (work, book):
            offset = batches.note_clock_offset(work, body.sent_at)
            results = list(batches.apply_each(work, book, athlete_id, queue, _parse, (ValidationError,)))
            position = work.position()
        lines = [_line(result) for result in results]
        answer = without_nulls({"items": lines, "position": str(position), "clock_offset_s": offset})
        status = 200 if all(result.error is None for result in results) else 207
        return json_response(answer, status, {"Steelyard-Position": str(position)})

    @declare(made, CREATE_SETS)
    def create_sets(
        athlete_id: AthleteId,
        body: Annotated[bytes, Depends(_raw_body)],
        request: Request,
        caller: CallerOf,
        services: ServicesOf,
        sent_at: Annotated[
            Instant | None, Query(description="For NDJSON: the sender's clock when it sent.")
        ] = None,
    ) -> Response:
        media = request.headers.get("content-type", "").split(";")[0].strip().lower()
        rows, sent = _set_rows(body, media, sent_at)
        with services.write(caller) as (work, book):
            offset = batches.note_clock_offset(work, sent)
            results = batches.create_sets(work, book, athlete_id, rows)
            position = work.position()
        lines = [
            {
                "index": one.index,
                "id": str(one.stored.id),
                "status": _STATUS_OF[one.outcome],
                "etag": one.stored.etag,
            }
            for one in results
        ]
        answer = without_nulls({"items": lines, "position": str(position), "clock_offset_s": offset})
        return json_response(answer, 201, {"Steelyard-Position": str(position)})

    return made
