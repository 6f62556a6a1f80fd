"""Folding a log forward from a state that is kept, and keeping what comes of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from service.usecases.fold_rows import KeptFold, SessionKey
from service.usecases.folding.checkpoints import kept_checkpoints
from service.usecases.folding.engine import LOG, Engine, Unreadable
from service.usecases.folding.evidence import Reader
from service.usecases.folding.inputs import FoldInputs, reader_of
from service.usecases.folding.visits import REACH, Visit, earliest_row, visits_of
from service.usecases.ports import UnitOfWork


@dataclass(frozen=True, slots=True)
class Fold:
    """A decoded state of the first sessions, and how far it reaches."""

    state: Any
    session_count: int = 0
    set_count: int = 0
    last: SessionKey | None = None
    through: datetime | None = None


@dataclass(frozen=True, slots=True)
class Ahead:
    """The sessions after a fold in canonical order, and what turns them into evidence."""

    visits: Sequence[Visit]
    reader: Reader


@dataclass(frozen=True, slots=True)
class Folder:
    """One athlete's fold in one transaction."""

    work: UnitOfWork
    engine: Engine
    inputs: FoldInputs
    athlete_id: UUID

    def nothing(self) -> Fold:
        """Return the fold of an empty log."""
        return Fold(self.engine.begin(self.inputs.training))

    def newest(
        self,
        *,
        before: datetime | None = None,
        through: datetime | None = None,
        fewer_than: int | None = None,
    ) -> Fold:
        """Return the kept fold that reaches furthest and can be used, else that of an empty log.

        Bytes that cannot be decoded, and bytes folded under other inputs, are never used.
        """
        while True:
            kept = self.work.states.newest(
                self.athlete_id, self.engine.packing, before=before, through=through, fewer_than=fewer_than
            )
            if kept is None or kept.state is None:
                return self.nothing()
            try:
                state = self.engine.unpack(kept.state)
            except Unreadable as torn:
                LOG.warning("a state of %s sessions cannot be read: %s", kept.session_count, torn)
                fewer_than = kept.session_count
                continue
            if kept.inputs != self._print(state):
                return self.nothing()
            return Fold(state, kept.session_count, kept.set_count, kept.last, kept.through)

    def ahead(self, fold: Fold, *, until: datetime | None = None, limit: int | None = None) -> Ahead | None:
        """Return the sessions after a fold, None where more than ``limit`` sets lie there."""
        since = earliest_row(fold.last)
        rows = self.work.log.rows_to_fold(
            self.athlete_id, since, until, limit + 1 if limit is not None else None
        )
        if limit is not None and len(rows) > limit:
            return None
        told = self.work.log.told_to_fold(self.athlete_id, since, until)
        return Ahead(
            visits_of(rows, told, self.inputs.athlete.time_zone, fold.last),
            reader_of(self.work, self.inputs, rows, told),
        )

    def first_part(self, fold: Fold, limit: int) -> tuple[Ahead, bool]:
        """Return whole sessions after a fold, about ``limit`` sets of them and at least one, and whether those are all."""
        since = earliest_row(fold.last)
        while True:
            rows = self.work.log.rows_to_fold(self.athlete_id, since, None, limit)
            told = self.work.log.told_to_fold(self.athlete_id, since)
            visits = visits_of(rows, told, self.inputs.athlete.time_zone, fold.last)
            all_of_it = len(rows) < limit
            if not all_of_it:
                # A session may have sets a day after its start, and one still unseen may begin a day before them.
                complete = rows[-1].record.performed_at - REACH
                visits = [visit for visit in visits if visit.key[0] < complete]
            if visits or all_of_it:
                return Ahead(visits, reader_of(self.work, self.inputs, rows, told)), all_of_it
            limit *= 2

    def over(self, fold: Fold, visits: Sequence[Visit], reader: Reader) -> Fold:
        """Return the fold after further sessions."""
        if not visits:
            return fold
        said = [evidence for visit in visits if (evidence := reader.session(visit)) is not None]
        through = max(visit.through for visit in visits)
        return Fold(
            self.engine.fold(fold.state, said, self.inputs.model),
            fold.session_count + len(visits),
            fold.set_count + sum(len(visit.rows) for visit in visits),
            visits[-1].key,
            through if fold.through is None else max(through, fold.through),
        )

    def advance(self, fold: Fold, visits: Sequence[Visit], reader: Reader) -> Fold:
        """Fold sessions, keep the checkpoints that belong to the new length, and return the end."""
        end = fold.session_count + len(visits)
        kept = kept_checkpoints(end)
        made = [fold] if fold.session_count in kept else []
        at = fold
        for count in sorted(one for one in kept if one > fold.session_count):
            at = self.over(
                at, visits[at.session_count - fold.session_count : count - fold.session_count], reader
            )
            made.append(at)
        self.work.states.add_checkpoints(self.athlete_id, [self.packed(one) for one in made])
        self.work.states.drop_checkpoints(self.athlete_id, keep=kept)
        return self.over(at, visits[at.session_count - fold.session_count :], reader)

    def packed(self, fold: Fold) -> KeptFold:
        """Return a fold as it is kept."""
        return KeptFold(
            fold.session_count, fold.set_count, fold.last, fold.through, self.engine.packing,
            self._print(fold.state), self.engine.pack(fold.state),
        )  # fmt: skip

    def _print(self, state: Any) -> bytes:
        series = self.engine.series(state)
        self.inputs.book.gather(series)
        return self.inputs.print_of(series)
