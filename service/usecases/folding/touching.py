"""From what a transaction wrote to where in the canonical order the log changed."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
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
    zone = zone_of(work, athlete_id)
    keys = [
        *touched.tests,
        *_of_sets(work, athlete_id, touched, zone),
        *_of_moved(work, athlete_id, touched, zone),
    ]
    masses = [(at, "") for at in touched.masses]
    if not keys and not masses:
        return None
    first = min([key for key, _ in keys] + masses)
    last = None if masses else max(key for key, _ in keys)
    return Change(first, last, any(gone for _, gone in keys), len(touched.sets))


def zone_of(work: UnitOfWork, athlete_id: UUID) -> Callable[[], str]:
    """Return what tells an athlete's time zone, asked once, and of the lock that the write holds where it holds one.

    A write that changes the zone folds the whole log anew and asks for no place in it.
    """

    @cache
    def read() -> str:
        stored = work.people.held(athlete_id) or work.people.athlete(athlete_id)
        return stored.record.time_zone if stored is not None and stored.record is not None else "UTC"

    return read


def _of_sets(
    work: UnitOfWork, athlete_id: UUID, touched: Touched, zone: Callable[[], str]
) -> Iterator[tuple[SessionKey, bool]]:
    named = {record.session_id for record, _ in touched.sets if record.session_id is not None}
    starts = work.log.session_starts(athlete_id, named) if named else {}
    for record, gone in touched.sets:
        start = starts.get(record.session_id) if record.session_id is not None else None
        yield key_of_set(record, start, zone), gone
        for earlier in touched.starts.get(record.session_id, ()) if record.session_id is not None else ():
            yield key_of_set(record, earlier, zone), True


def _of_moved(
    work: UnitOfWork, athlete_id: UUID, touched: Touched, zone: Callable[[], str]
) -> Iterator[tuple[SessionKey, bool]]:
    """Yield where the sets of a session that moved stood and stand; a session without sets moves nothing."""
    for session_id, starts in touched.starts.items():
        for start in starts:
            for row in work.log.rows_to_fold(athlete_id, start - SPAN, start + SPAN):
                if row.record.session_id == session_id:
                    places = (*starts, row.session_started_at, None)
                    yield from ((key_of_set(row.record, place, zone), True) for place in places)
