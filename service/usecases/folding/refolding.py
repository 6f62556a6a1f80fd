"""Folding a log anew, part by part: for states that are stale, torn, or of another model."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from service.catalogue.catalogue import Catalogue
from service.usecases.exercises import ExerciseBook, book_of
from service.usecases.folding.advancing import Folder
from service.usecases.folding.engine import ENGINE, Engine
from service.usecases.folding.inputs import read_inputs
from service.usecases.folding.visits import BEGINNING
from service.usecases.folding.writing import finish
from service.usecases.ports import Caller, Store, UnitOfWork

#: Sets folded in one transaction of a refold: the athlete is locked for about a fifth of a second (judgement).
PART_SETS = 4_000
_PAGE = 500
#: The clock of the database has no finer step.
_JUST_AFTER = timedelta(microseconds=1)


def refold(
    work: UnitOfWork,
    book: ExerciseBook,
    athlete_id: UUID,
    *,
    engine: Engine | None = None,
    part: int = PART_SETS,
) -> bool:
    """Fold an athlete's log on by one part; True once the state is right up to before the newest session.

    Each part is kept, so that a refold that is killed goes on from there. Writes that come between two parts are heeded:
    one in a part that is done takes the refold back to before it.
    """
    work.people.lock(athlete_id)
    inputs = read_inputs(work, book, athlete_id)
    if inputs is None:
        work.states.forget(athlete_id)
        return True
    folder = Folder(work, engine or ENGINE, inputs, athlete_id)
    was = _kept(folder)
    base = folder.newest()
    ahead, all_of_it = folder.first_part(base, part)
    if all_of_it:
        finish(folder, base, ahead)
        if _kept(folder) != was:
            work.note_recomputed(athlete_id, folder.engine.packing.model_version)
        return True
    end = folder.advance(base, ahead.visits, ahead.reader)
    if end.last is not None:
        work.states.add_checkpoints(athlete_id, [folder.packed(end)])
        work.states.refolded_before(athlete_id, end.last[0] + _JUST_AFTER, folder.engine.packing)
    return False


def _kept(folder: Folder) -> tuple[bytes | None, bytes] | None:
    """Return the state that answers begin with and what it hangs on, None where there is none or it is stale."""
    standing = folder.work.states.standing(folder.athlete_id)
    if standing is None or standing.stale_from is not None:
        return None
    kept = folder.work.states.newest(folder.athlete_id, folder.engine.packing)
    return (kept.state, kept.inputs) if kept is not None else None


@dataclass(frozen=True, slots=True)
class Refolder:
    """Folds athletes anew, each part in a transaction of its own as the athlete's tenant."""

    store: Store
    catalogue: Catalogue
    engine: Engine | None = None

    def athlete(self, tenant_id: UUID, athlete_id: UUID, *, anew: bool = False) -> None:
        """Bring one athlete's state up to date; with ``anew`` from the log's beginning, whatever is kept."""
        if anew:
            with self.store.write(_as_worker(tenant_id)) as work:
                start_over(work, athlete_id, engine=self.engine)
        done = False
        while not done:
            with self.store.write(_as_worker(tenant_id)) as work:
                done = refold(work, book_of(work, self.catalogue), athlete_id, engine=self.engine)

    def tenant(self, tenant_id: UUID, *, anew: bool = False) -> int:
        """Bring the states of a tenant's athletes up to date, and return how many there are."""
        count = 0
        for athlete_id in self._folded(tenant_id):
            self.athlete(tenant_id, athlete_id, anew=anew)
            count += 1
        return count

    def defer_outdated(self, tenant_id: UUID) -> int:
        """Ask for a job for each of a tenant's athletes whose state is stale, missing, or of another model."""
        packing = (self.engine or ENGINE).packing
        asked, after = 0, None
        while True:
            with self.store.write(_as_worker(tenant_id)) as work:
                found = work.states.outdated(packing, after, _PAGE)
                for athlete_id in found:
                    work.states.defer_refold(athlete_id)
            asked += len(found)
            if len(found) < _PAGE:
                return asked
            after = found[-1]

    def _folded(self, tenant_id: UUID) -> Iterator[UUID]:
        after = None
        while True:
            with self.store.read(_as_worker(tenant_id)) as work:
                found = work.states.folded(after, _PAGE)
            yield from found
            if len(found) < _PAGE:
                return
            after = found[-1]


def _as_worker(tenant_id: UUID) -> Caller:
    return Caller(tenant_id, UUID(int=0), frozenset())


def start_over(work: UnitOfWork, athlete_id: UUID, *, engine: Engine | None = None) -> None:
    """Declare everything that is kept of an athlete stale, so that the next refold begins at the log's beginning."""
    work.people.lock(athlete_id)
    work.states.mark_stale(athlete_id, BEGINNING, (engine or ENGINE).packing)
