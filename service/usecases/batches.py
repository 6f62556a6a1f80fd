"""Many writes in one request: a phone's queue, and a log that arrives whole."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from service.usecases import resources
from service.usecases.checks import check_set
from service.usecases.documents import Document, fingerprint, to_document
from service.usecases.errors import (
    Deleted,
    DependencyFailed,
    DifferentBody,
    FieldFault,
    NotPossible,
    UseCaseError,
)
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.noting import note_write
from service.usecases.folding.writing import settle
from service.usecases.kinds import KINDS, SET, KindName
from service.usecases.ports import Stored, UnitOfWork
from service.usecases.records.log import LoggedSet
from service.usecases.resources import Outcome, Target

#: Ten years: no clock that is further off says anything. [s]
_LONGEST_OFFSET_S = 315_576_000
OperationName = Literal["put", "patch", "delete"]
#: Validates one body of one kind; raises the schema's own error, which the caller of the batch knows how to show.
ParseBody = Callable[[KindName, Document], Any]


@dataclass(frozen=True, slots=True)
class QueuedOperation:
    """One entry of a phone's queue."""

    op: OperationName
    kind: KindName
    id: UUID
    if_match: tuple[str, ...] | None
    body: Document | None


@dataclass(frozen=True, slots=True)
class OperationResult:
    """What became of one entry: the stored version, or the error."""

    index: int
    operation: QueuedOperation
    outcome: Outcome | Literal["deleted"] | None
    stored: Stored | None
    error: Exception | None


def apply_each(
    work: UnitOfWork,
    book: ExerciseBook,
    athlete_id: UUID,
    queue: Sequence[QueuedOperation],
    parse: ParseBody,
    schema_errors: tuple[type[Exception], ...],
) -> Iterator[OperationResult]:
    """Apply operations in order; one that is refused does not hold up the others.

    A set whose session was refused earlier in the same queue fails with ``DependencyFailed``: the client should mend the
    session and send both again. Refusals come before any write of their own operation, so nothing is half-written. The
    fold comes once, after the last: the results must be read to their end.
    """
    failed_sessions: set[UUID] = set()
    refusals: tuple[type[Exception], ...] = (UseCaseError, *schema_errors)
    resources.lock_athlete(work, athlete_id)
    for index, operation in enumerate(queue):
        try:
            _depends(operation, failed_sessions)
            outcome, stored = _apply(work, book, athlete_id, operation, parse)
            yield OperationResult(index, operation, outcome, stored, None)
        except refusals as refusal:
            if operation.kind == "session":
                failed_sessions.add(operation.id)
            yield OperationResult(index, operation, None, None, refusal)
    settle(work, book)


def _depends(operation: QueuedOperation, failed_sessions: set[UUID]) -> None:
    session_id = (operation.body or {}).get("session_id")
    if (
        failed_sessions
        and session_id is not None
        and str(session_id) in {str(failed) for failed in failed_sessions}
    ):
        raise DependencyFailed(session_id=session_id)


def _apply(
    work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, operation: QueuedOperation, parse: ParseBody
) -> tuple[Outcome | Literal["deleted"], Stored]:
    target = Target(KINDS[operation.kind], operation.id, athlete_id)
    if operation.op == "delete":
        return "deleted", resources.remove_unsettled(work, target, operation.if_match)
    if operation.body is None:
        raise NotPossible(faults=[FieldFault("/body", "body_required", operation.op, "an object")])
    if operation.op == "patch":
        return resources.change_unsettled(
            work,
            book,
            target,
            operation.body,
            operation.if_match,
            lambda merged: parse(operation.kind, merged),
        )
    record = parse(operation.kind, operation.body)
    return resources.put_unsettled(work, book, target, record, operation.if_match)


@dataclass(frozen=True, slots=True)
class SetResult:
    """What became of one set of a log that arrived whole."""

    index: int
    outcome: Outcome
    stored: Stored


def note_clock_offset(work: UnitOfWork, sent_at: datetime | None) -> int | None:
    """Keep and return how far the sender's clock is ahead of ours. [s]

    An offset beyond what an integer column holds is a clock that says nothing; it is shown and kept as unknown.
    """
    if sent_at is None:
        return None
    offset = round((sent_at - work.now).total_seconds())
    if abs(offset) > _LONGEST_OFFSET_S:
        return None
    work.resources.note_clock_offset(offset)
    return offset


def create_sets(
    work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, rows: Sequence[tuple[UUID, LoggedSet]]
) -> list[SetResult]:
    """Keep all sets or none. An id that already holds the same body counts as kept; another body refuses the lot.

    The error names every row at fault, so that a client mends its log in one go.
    """
    resources.lock_athlete(work, athlete_id)
    existing = work.resources.get_many(SET, [set_id for set_id, _ in rows], athlete_id)
    prints = [fingerprint(record) for _, record in rows]
    _refuse_faulty(work, book, rows, prints, existing)
    fresh = [
        (set_id, record, print_)
        for (set_id, record), print_ in zip(rows, prints, strict=True)
        if set_id not in existing
    ]
    unique = {set_id: (set_id, record, print_) for set_id, record, print_ in fresh}
    kept = {
        stored.id: stored for stored in work.resources.insert_many(SET, athlete_id, list(unique.values()))
    }
    for stored in kept.values():
        work.note_change(SET, stored, "put")
        note_write(work, SET, stored.id, athlete_id, None, stored.record)
    settle(work, book)
    return _results(rows, existing, kept)


def _results(
    rows: Sequence[tuple[UUID, LoggedSet]], existing: dict[UUID, Stored], kept: dict[UUID, Stored]
) -> list[SetResult]:
    seen: set[UUID] = set(existing)
    results = []
    for index, (set_id, _) in enumerate(rows):
        outcome: Outcome = "unchanged" if set_id in seen else "created"
        seen.add(set_id)
        results.append(SetResult(index, outcome, existing.get(set_id) or kept[set_id]))
    return results


def _refuse_faulty(
    work: UnitOfWork,
    book: ExerciseBook,
    rows: Sequence[tuple[UUID, LoggedSet]],
    prints: Sequence[bytes],
    existing: dict[UUID, Stored],
) -> None:
    first_print: dict[UUID, bytes] = {}
    refusals: list[tuple[int, UseCaseError]] = []
    for index, ((set_id, record), print_) in enumerate(zip(rows, prints, strict=True)):
        try:
            if first_print.setdefault(set_id, print_) != print_:
                raise DifferentBody("Two rows of this request give one id two bodies.")
            _refuse_other_body(existing.get(set_id), print_)
            if set_id not in existing:
                check_set(work, book, record)
        except UseCaseError as refusal:
            refusals.append((index, refusal))
    if refusals:
        raise _gathered(refusals)


def _refuse_other_body(stored: Stored | None, print_: bytes) -> None:
    if stored is None:
        return
    if stored.deleted_at is not None:
        raise Deleted(id=stored.id, etag=stored.etag)
    if stored.fingerprint != print_:
        raise DifferentBody(current=to_document(stored.record), etag=stored.etag)


def _gathered(refusals: Sequence[tuple[int, UseCaseError]]) -> UseCaseError:
    """Return one error of the first refusal's class that names every row at fault."""
    faults: list[FieldFault] = []
    for index, refusal in refusals:
        own = refusal.faults or (FieldFault("", refusal.code, refusal.sentence),)
        faults.extend(
            FieldFault(f"/{index}{each.pointer}", each.code, each.detail, each.expected) for each in own
        )
    first = refusals[0][1]
    return type(first)(
        f"Nothing was kept: {len(refusals)} of the rows cannot be.", faults=faults, **dict(first.facts)
    )
