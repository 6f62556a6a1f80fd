"""From what a transaction wrote to where in the canonical order the log changed."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from service.usecases.fold_rows import SessionKey, Touched
from service.usecases.folding.visits import BEGINNING, SPAN, key_of_set
from service.usecases.ports import UnitOfWork


@dataclass(frozen=True, slots=True)
class Change:
    """The sessions from ``first`` to ``last`` changed; with ``shrank`` some may be gone. ``last`` None: all after."""

    first: SessionKey
    last: SessionKey | None
    shrank: bool
    set_count: int


def change_of(work: UnitOfWork, athlete_id: UUID, touched: Touched) -> Change | None:
    """Return where the log changed, None where nothing changed that a fold depends on."""
    if touched.whole:
        return Change((BEGINNING, ""), None, True, len(touched.sets))
    keys = [*touched.tests, *_of_sets(work, athlete_id, touched), *_of_moved(work, athlete_id, touched)]
    masses = [(at, "") for at in touched.masses]
    if not keys and not masses:
        return None
    first = min([key for key, _ in keys] + masses)
    last = None if masses else max(key for key, _ in keys)
    return Change(first, last, any(gone for _, gone in keys), len(touched.sets))


def _of_sets(work: UnitOfWork, athlete_id: UUID, touched: Touched) -> Iterator[tuple[SessionKey, bool]]:
    named = {record.session_id for record, _ in touched.sets if record.session_id is not None}
    starts = work.log.session_starts(athlete_id, named) if named else {}
    for record, gone in touched.sets:
        start = starts.get(record.session_id) if record.session_id is not None else None
        yield key_of_set(record, start), gone
        for earlier in touched.starts.get(record.session_id, ()) if record.session_id is not None else ():
            yield key_of_set(record, earlier), True


def _of_moved(work: UnitOfWork, athlete_id: UUID, touched: Touched) -> Iterator[tuple[SessionKey, bool]]:
    """Yield where the sets of a session that moved stood and stand; a session without sets moves nothing."""
    for session_id, starts in touched.starts.items():
        for start in starts:
            for row in work.log.rows_to_fold(athlete_id, start - SPAN, start + SPAN):
                if row.record.session_id == session_id:
                    places = (*starts, row.session_started_at, None)
                    yield from ((key_of_set(row.record, place), True) for place in places)
