"""The fold in the write path: after what a transaction wrote, under the athlete's lock, before the feed."""

from uuid import UUID

from service.usecases.exercises import ExerciseBook
from service.usecases.fold_rows import SessionKey, Touched
from service.usecases.folding.advancing import Ahead, Fold, Folder
from service.usecases.folding.engine import ENGINE, Engine
from service.usecases.folding.inputs import read_inputs
from service.usecases.folding.touching import Change, change_of, zone_of
from service.usecases.folding.visits import BEGINNING, REACH, key_of_set
from service.usecases.ports import UnitOfWork

#: As many sets are folded anew in the transaction that changed the log, besides those that it wrote; more wait for a
#: job (judgement: about a tenth of a second).
INLINE_SETS = 2_000


def settle(work: UnitOfWork, book: ExerciseBook, engine: Engine | None = None) -> None:
    """Fold what this transaction changed. Must come after its last write, and needs the athletes' locks.

    A set of the newest session touches no state; the first set of a newer one folds the session that ended. Anything
    earlier goes back to the newest checkpoint before it: here where few sets lie behind, by a job where many do.
    """
    touched = dict(work.touched)
    work.touched.clear()
    for athlete_id, what in touched.items():
        if what.gone:
            work.states.forget(athlete_id)
        else:
            _settle(work, book, engine or ENGINE, athlete_id, what)


def _settle(work: UnitOfWork, book: ExerciseBook, engine: Engine, athlete_id: UUID, touched: Touched) -> None:
    change = change_of(work, athlete_id, touched)
    if change is None:
        return
    standing = work.states.standing(athlete_id)
    if standing is not None and standing.stale_from is not None:
        # A job is on its way; until then reads fold from before the change.
        if change.first[0] < standing.stale_from:
            work.states.mark_stale(athlete_id, change.first[0], engine.packing)
        return
    if (
        standing is not None
        and standing.packing == engine.packing
        and _only_newest(work, athlete_id, change, standing.open)
    ):
        return
    inputs = read_inputs(work, book, athlete_id)
    if inputs is not None:
        _fold_on(Folder(work, engine, inputs, athlete_id), change)


def _only_newest(work: UnitOfWork, athlete_id: UUID, change: Change, newest: SessionKey | None) -> bool:
    """Whether the change lies in the newest session alone, and that session still has sets."""
    if newest is None or not change.first == change.last == newest:
        return False
    if not change.shrank:
        return True
    near = work.log.rows_to_fold(athlete_id, newest[0] - REACH, newest[0] + REACH)
    zone = zone_of(work, athlete_id)
    return any(key_of_set(row.record, row.session_started_at, zone) == newest for row in near)


def _fold_on(folder: Folder, change: Change) -> None:
    base = folder.newest(before=change.first[0])
    if not fold_to_the_end(folder, base, INLINE_SETS + change.set_count):
        since = change.first[0] if base.last is not None else BEGINNING
        folder.work.states.mark_stale(folder.athlete_id, since, folder.engine.packing)
        folder.work.states.defer_refold(folder.athlete_id)


def fold_to_the_end(folder: Folder, base: Fold, limit: int | None) -> bool:
    """Fold up to before the newest session and keep it; False where more than ``limit`` sets lie there."""
    ahead = folder.ahead(base, limit=limit)
    if ahead is None:
        return False
    finish(folder, base, ahead)
    return True


def finish(folder: Folder, base: Fold, ahead: Ahead) -> None:
    """Fold all sessions but the newest one, and keep the state before that."""
    if ahead.visits:
        end = folder.advance(base, ahead.visits[:-1], ahead.reader)
        folder.work.states.keep(folder.athlete_id, folder.packed(end), ahead.visits[-1].key)
    elif base.last is None:
        folder.work.states.forget(folder.athlete_id)
    else:
        # What was newest is gone: the session before it is the newest now, and must not be in the state.
        fold_to_the_end(folder, folder.newest(before=base.last[0]), None)
