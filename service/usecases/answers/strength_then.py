"""What was known of strength at earlier instants, so that what is over is not judged by what came after it."""

from collections.abc import Collection
from datetime import datetime

from service.usecases.answers.situation import Situation
from service.usecases.answers.strength import Strength
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.inputs import FoldInputs
from service.usecases.folding.reading import read_states
from service.usecases.ports import UnitOfWork


def strengths_known(
    work: UnitOfWork, book: ExerciseBook, situation: Situation, instants: Collection[datetime]
) -> dict[datetime, Strength]:
    """Return what the whole log tells of strength as of each instant, the situation's own where that is the same."""
    own = situation.strength
    earlier = sorted({one for one in instants if own is None or one < situation.as_of})
    found = {} if own is None else dict.fromkeys(instants, own)
    if earlier:
        states = read_states(work, situation.athlete_id, earlier, _inputs(situation, book))
        found |= {
            at: Strength(one.before, one.session, one.model) for at, one in zip(earlier, states, strict=True)
        }
    return found


def _inputs(situation: Situation, book: ExerciseBook) -> FoldInputs:
    operated = situation.screening is not None and bool(situation.screening.procedures)
    return FoldInputs(situation.athlete, operated, book)
