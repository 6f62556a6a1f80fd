"""Put, change, delete, get and list resources: the same rules for every kind.

A client makes its own ids, so PUT is its safe retry: an equal body is acknowledged again and nothing is fed, another
body needs an If-Match. A delete leaves a tombstone, even for an id that was never seen, so that a late PUT cannot bring
the resource back.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, TypeVar, cast
from uuid import UUID

from service.usecases.checks import CHECKS
from service.usecases.consent import require_consent
from service.usecases.documents import Document, fingerprint, to_document
from service.usecases.errors import (
    Deleted,
    DifferentBody,
    NotFound,
    PlanIsKept,
    PreconditionFailed,
    PreconditionRequired,
    SessionHasSets,
)
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.noting import note_write
from service.usecases.folding.writing import settle
from service.usecases.kinds import ATHLETE, GROUP, IMPLEMENTS, SESSION, SET, SITE, Kind
from service.usecases.merge_patch import apply as apply_patch
from service.usecases.ports import Stored, TakenMeanwhile, UnitOfWork

R = TypeVar("R")
Outcome = Literal["created", "unchanged", "replaced"]
#: The entity tags of an If-Match header, ``*`` for any; None where there was no such header.
IfMatch = tuple[str, ...] | None
#: Validates a merged document and returns its record; raises the schema's own error otherwise.
Parse = Callable[[Document], Any]


@dataclass(frozen=True, slots=True)
class Target:
    """What a request addresses: a kind, an id, and the athlete it lies under."""

    kind: Kind
    id: UUID
    athlete_id: UUID | None = None


def put(
    work: UnitOfWork,
    book: ExerciseBook,
    target: Target,
    record: Any,
    if_match: IfMatch,
    *,
    only_create: bool = False,
) -> tuple[Outcome, Stored]:
    """Keep a body under an id, and fold what that changes; see ``put_unsettled``."""
    kept = put_unsettled(work, book, target, record, if_match, only_create=only_create)
    settle(work, book)
    return kept


def put_unsettled(
    work: UnitOfWork,
    book: ExerciseBook,
    target: Target,
    record: Any,
    if_match: IfMatch,
    *,
    only_create: bool = False,
) -> tuple[Outcome, Stored]:
    """Keep a body under an id; with ``only_create`` (If-None-Match: ``*``) only where there is none.

    The ETag of a tombstone in If-Match revives the resource. Raises ``Deleted`` over any other tombstone,
    ``DifferentBody``, ``PreconditionRequired`` or ``PreconditionFailed`` where the stored body is another one, and
    whatever the kind's checks raise. Nothing is written then.
    """
    print_ = fingerprint(record)

    def attempt() -> tuple[Outcome, Stored]:
        stored = open_for_write(work, target)
        if stored is not None and stored.fingerprint == print_ and not only_create:
            return "unchanged", stored
        _may_put(target, stored, if_match, only_create=only_create)
        CHECKS[target.kind.name](work, book, record)
        return _keep(work, target, stored, record, print_)

    return _again_if_taken(attempt)


def _again_if_taken(attempt: Callable[[], R]) -> R:
    """Try once more where another transaction made the resource between our look and our insert.

    What is taken and still cannot be seen lies out of the caller's reach.
    """
    try:
        return attempt()
    except TakenMeanwhile:
        pass
    try:
        return attempt()
    except TakenMeanwhile:
        raise NotFound from None


def _may_put(target: Target, stored: Stored | None, if_match: IfMatch, *, only_create: bool) -> None:
    if stored is None:
        if if_match is not None:
            raise PreconditionFailed(
                "There is no such version: nothing is stored under this id.", current=None
            )
    elif stored.deleted_at is not None:
        # `*` stands for something that exists, and this does not: only the tombstone's own tag revives it.
        if stored.etag not in (if_match or ()) or only_create:
            raise Deleted(id=target.id, etag=stored.etag)
    elif only_create:
        raise PreconditionFailed(current=to_document(stored.record), etag=stored.etag)
    else:
        _may_replace(target.kind, stored, if_match)


def _keep(
    work: UnitOfWork, target: Target, stored: Stored | None, record: Any, print_: bytes
) -> tuple[Outcome, Stored]:
    if stored is None:
        kept = work.resources.insert(target.kind, target.id, target.athlete_id, record, print_)
    else:
        kept = work.resources.replace(target.kind, stored, record, print_)
    _still_in_reach(work, target)
    work.note_change(target.kind, kept, "put")
    note_write(
        work, target.kind, target.id, target.athlete_id, stored.record if stored is not None else None, record
    )
    return ("created" if stored is None or stored.deleted_at is not None else "replaced"), kept


def change(
    work: UnitOfWork, book: ExerciseBook, target: Target, patch: Document, if_match: IfMatch, parse: Parse
) -> tuple[Outcome, Stored]:
    """Apply a merge patch to a body, and fold what that changes; see ``change_unsettled``."""
    changed = change_unsettled(work, book, target, patch, if_match, parse)
    settle(work, book)
    return changed


def change_unsettled(
    work: UnitOfWork, book: ExerciseBook, target: Target, patch: Document, if_match: IfMatch, parse: Parse
) -> tuple[Outcome, Stored]:
    """Apply a merge patch (RFC 7396) to a body.

    Kinds that merge take it without If-Match, in order of arrival; the others need one.
    """
    stored = _living(open_for_write(work, target), target)
    merged = parse(cast(Document, apply_patch(to_document(stored.record), patch)))
    print_ = fingerprint(merged)
    if print_ == stored.fingerprint:
        return "unchanged", stored
    if if_match is not None or not target.kind.merges:
        _may_replace(target.kind, stored, if_match)
    CHECKS[target.kind.name](work, book, merged)
    return _keep(work, target, stored, merged, print_)


def remove(
    work: UnitOfWork, book: ExerciseBook, target: Target, if_match: IfMatch, *, cascade: bool = False
) -> Stored:
    """Leave a tombstone, and fold what that changes; see ``remove_unsettled``."""
    grave = remove_unsettled(work, target, if_match, cascade=cascade)
    settle(work, book)
    return grave


def remove_unsettled(work: UnitOfWork, target: Target, if_match: IfMatch, *, cascade: bool = False) -> Stored:
    """Leave a tombstone; deleting again changes nothing.

    A session that still holds sets is refused unless ``cascade`` buries them with it.
    """
    return _again_if_taken(lambda: _remove(work, target, if_match, cascade=cascade))


def _remove(work: UnitOfWork, target: Target, if_match: IfMatch, *, cascade: bool) -> Stored:
    stored = open_for_write(work, target)
    if stored is not None and stored.deleted_at is not None:
        return stored
    if stored is None and target.kind is ATHLETE and not work.caller.reach.everyone:
        raise NotFound
    if stored is not None and if_match is not None and not _matches(if_match, stored):
        raise PreconditionFailed(current=to_document(stored.record), etag=stored.etag)
    if target.kind is SESSION and target.athlete_id is not None:
        _empty_session(work, target.athlete_id, target.id, cascade=cascade)
    if target.kind is SITE:
        _bury_inventory(work, target.id)
    return _bury(work, target, stored)


def _bury_inventory(work: UnitOfWork, site_id: UUID) -> None:
    stored = work.resources.lock(IMPLEMENTS, site_id)
    if stored is not None and stored.deleted_at is None:
        _bury(work, Target(IMPLEMENTS, site_id), stored)


def _bury(work: UnitOfWork, target: Target, stored: Stored | None) -> Stored:
    grave = work.resources.bury(target.kind, target.id, target.athlete_id, stored)
    work.note_change(target.kind, grave, "delete")
    before = stored.record if stored is not None else None
    note_write(work, target.kind, target.id, target.athlete_id, before, None)
    return grave


def _empty_session(work: UnitOfWork, athlete_id: UUID, session_id: UUID, *, cascade: bool) -> None:
    held = work.log.session_set_ids(athlete_id, session_id)
    if held and not cascade:
        raise SessionHasSets(set_count=len(held))
    for set_id, stored in work.resources.get_many(SET, held, athlete_id).items() if held else ():
        _bury(work, Target(SET, set_id, athlete_id), stored)


def get(work: UnitOfWork, target: Target) -> Stored:
    """Return a living resource; raises ``Deleted`` for a tombstone and ``NotFound`` for what was never there."""
    if target.athlete_id is not None:
        _visible(work.people.athlete(target.athlete_id), target.athlete_id)
    _within_reach(work, target)
    return _living(work.resources.get(target.kind, target.id, target.athlete_id), target)


def find_athlete(work: UnitOfWork, athlete_id: UUID) -> Stored:
    """Return an athlete whom the caller may reach."""
    return _visible(work.people.athlete(athlete_id), athlete_id)


def lock_athlete(work: UnitOfWork, athlete_id: UUID) -> Stored:
    """Return an athlete whom the caller may reach, held until the transaction ends."""
    return _visible(work.people.lock(athlete_id), athlete_id)


def open_for_write(work: UnitOfWork, target: Target) -> Stored | None:
    """Lock what a write must lock, check reach and consent, and return what stands under the id."""
    if target.athlete_id is not None:
        lock_athlete(work, target.athlete_id)
        if target.kind.consent:
            require_consent(work, target.athlete_id, "process_health")
        return work.resources.get(target.kind, target.id, target.athlete_id)
    if target.kind is ATHLETE:
        return _athlete_for_write(work, target)
    _within_reach(work, target)
    if target.kind is IMPLEMENTS:
        _living(work.resources.lock(SITE, target.id), Target(SITE, target.id))
    return work.resources.lock(target.kind, target.id)


def _athlete_for_write(work: UnitOfWork, target: Target) -> Stored | None:
    stored = work.people.lock(target.id)
    reach = work.caller.reach
    may_create = reach.everyone or bool(reach.site_ids) or target.id in reach.athlete_ids
    if stored is None and not may_create:
        raise NotFound
    return stored


def _still_in_reach(work: UnitOfWork, target: Target) -> None:
    """A write must not put an athlete where its own caller may not look."""
    if target.kind is ATHLETE and not work.caller.reach.everyone and work.people.athlete(target.id) is None:
        raise NotFound


def _within_reach(work: UnitOfWork, target: Target) -> None:
    if target.kind is GROUP and not work.people.group_in_reach(target.id):
        raise NotFound
    if target.kind in (SITE, IMPLEMENTS) and not work.people.site_in_reach(target.id):
        raise NotFound


def _visible(stored: Stored | None, athlete_id: UUID) -> Stored:
    if stored is None:
        raise NotFound
    if stored.deleted_at is not None:
        raise Deleted(id=athlete_id, etag=stored.etag)
    return stored


def _living(stored: Stored | None, target: Target) -> Stored:
    if stored is None:
        raise NotFound
    if stored.deleted_at is not None:
        raise Deleted(id=target.id, etag=stored.etag)
    return stored


def _may_replace(kind: Kind, stored: Stored, if_match: IfMatch) -> None:
    current = to_document(stored.record)
    if kind.change_rule == "kept":
        raise PlanIsKept(current=current, etag=stored.etag)
    if if_match is None:
        refusal = DifferentBody if kind.change_rule == "different_body" else PreconditionRequired
        raise refusal(current=current, etag=stored.etag)
    if not _matches(if_match, stored):
        raise PreconditionFailed(current=current, etag=stored.etag)


def _matches(if_match: tuple[str, ...], stored: Stored) -> bool:
    """Strong comparison (RFC 9110, section 13.1.1): a weak tag never matches."""
    return "*" in if_match or stored.etag in if_match


def visible_groups(work: UnitOfWork) -> Mapping[str, Iterable[UUID]]:
    """Return the filter that keeps a list of groups within the caller's reach."""
    return {} if work.caller.reach.everyone else {"ids": work.caller.reach.group_ids}


def visible_sites(work: UnitOfWork) -> Mapping[str, Iterable[UUID]]:
    """Return the filter that keeps a list of sites within the caller's reach."""
    return {} if work.caller.reach.everyone else {"ids": work.caller.reach.site_ids}
