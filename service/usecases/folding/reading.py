"""What answers read: the state before the newest session, and that session, as of an instant."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.capability import AthleteModel, SessionEvidence, SetEvidence
from service.usecases.errors import NotFound
from service.usecases.exercises import ExerciseBook
from service.usecases.fold_rows import SessionKey
from service.usecases.folding.advancing import Ahead, Fold, Folder
from service.usecases.folding.engine import ENGINE, Engine
from service.usecases.folding.inputs import FoldInputs, read_inputs, reader_of
from service.usecases.folding.visits import REACH, day_of, earliest_row, visits_of
from service.usecases.ports import UnitOfWork


@dataclass(frozen=True, slots=True)
class ReadState:
    """An athlete's state before the newest session, and that session's sets as evidence, with their ids, in order.

    ``newest`` names the session; it is None where the log is empty, and its evidence where it says nothing.
    """

    before: Any
    newest: SessionKey | None
    sets: Sequence[tuple[UUID, SetEvidence]]
    model: AthleteModel
    session_count: int
    set_count: int

    @property
    def session(self) -> SessionEvidence | None:
        """The newest session's evidence, None where it says nothing of strength."""
        if self.newest is None or not self.sets:
            return None
        return SessionEvidence(day_of(self.newest[0]), tuple(said for _, said in self.sets))


def read_state(
    work: UnitOfWork,
    book: ExerciseBook,
    athlete_id: UUID,
    as_of: datetime,
    *,
    inputs: FoldInputs | None = None,
    engine: Engine | None = None,
) -> ReadState:
    """Return what is known of an athlete's strength from everything performed up to ``as_of``.

    Five statements, three of them where the inputs are given, however long the log is; one more for a tenant's own
    exercises. As of an earlier instant, or while a refold waits, sessions are folded from a checkpoint: as right, only
    slower. Raises ``NotFound`` where there is no such athlete.
    """
    told = inputs or read_inputs(work, book, athlete_id)
    if told is None:
        raise NotFound
    folder = Folder(work, engine or ENGINE, told, athlete_id)
    base, ahead = _with_newest(folder, as_of)
    before = folder.over(base, ahead.visits[:-1], ahead.reader)
    newest = ahead.visits[-1] if ahead.visits else None
    sets = ahead.reader.sets(newest) if newest is not None else ()
    return ReadState(
        before.state, newest.key if newest is not None else None, sets, told.model,
        before.session_count, before.set_count,
    )  # fmt: skip


def read_states(
    work: UnitOfWork, athlete_id: UUID, instants: Sequence[datetime], inputs: FoldInputs
) -> list[ReadState]:
    """Return what `read_state` returns as of several instants, the earliest first, by one fold over the log.

    Its statements do not grow with the instants.
    """
    folder = Folder(work, ENGINE, inputs, athlete_id)
    done, _ = _with_newest(folder, instants[0])
    since = earliest_row(done.last)
    rows = work.log.rows_to_fold(athlete_id, since, instants[-1], None)
    told = work.log.told_to_fold(athlete_id, since, instants[-1])
    reader = reader_of(work, inputs, rows, told)
    found: list[ReadState] = []
    for at in instants:
        visits = visits_of(
            [row for row in rows if row.record.performed_at <= at],
            [one for one in told if one.record.at <= at],
            inputs.athlete.time_zone,
            done.last,
        )
        # Sets of a session may still come for as long as one lasts: only what is over is kept folded.
        whole = [visit for visit in visits[:-1] if visit.key[0] <= at - 2 * REACH]
        done = folder.over(done, whole, reader)
        before = folder.over(done, visits[len(whole) : -1], reader)
        newest = visits[-1] if visits else None
        sets = reader.sets(newest) if newest is not None else ()
        key = newest.key if newest is not None else None
        counts = before.session_count, before.set_count
        found.append(ReadState(before.state, key, sets, inputs.model, *counts))
    return found


def _with_newest(folder: Folder, as_of: datetime) -> tuple[Fold, Ahead]:
    """Return a fold that ends before the newest session; as of an earlier instant the furthest one may hold it."""
    base = folder.newest(through=as_of)
    while True:
        ahead = folder.ahead(base, until=as_of)
        if ahead is None:
            raise AssertionError("read without a limit")
        if ahead.visits or base.last is None:
            return base, ahead
        base = folder.newest(before=base.last[0], through=as_of)
