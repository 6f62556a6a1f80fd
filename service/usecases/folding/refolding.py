"""Folding a log anew, part by part: for states that are stale, torn, or of another model."""

from datetime import timedelta
from uuid import UUID

from service.usecases.exercises import ExerciseBook
from service.usecases.folding.advancing import Folder
from service.usecases.folding.engine import ENGINE, Engine
from service.usecases.folding.inputs import read_inputs
from service.usecases.folding.visits import BEGINNING
from service.usecases.folding.writing import fold_to_the_end
from service.usecases.ports import UnitOfWork

#: Sets folded in one transaction of a refold: the athlete is locked for about a fifth of a second (judgement).
PART_SETS = 4_000
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
    base = folder.newest()
    if fold_to_the_end(folder, base, part):
        return True
    ahead = folder.first_part(base, part)
    end = folder.advance(base, ahead.visits, ahead.reader)
    if end.last is not None:
        work.states.add_checkpoints(athlete_id, [folder.packed(end)])
        work.states.refolded_before(athlete_id, end.last[0] + _JUST_AFTER, folder.engine.packing)
    return False


def start_over(work: UnitOfWork, athlete_id: UUID, *, engine: Engine | None = None) -> None:
    """Declare everything that is kept of an athlete stale, so that the next refold begins at the log's beginning."""
    work.people.lock(athlete_id)
    work.states.mark_stale(athlete_id, BEGINNING, (engine or ENGINE).packing)
