"""What was known of strength at earlier instants, so that what is over is not judged by what came after it."""

from collections.abc import Collection, Sequence
from datetime import datetime

from service.core.capability import begin, fold
from service.usecases.answers.history import see_sets, sessions_of
from service.usecases.answers.situation import Situation, day_of
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


def strengths_seen(
    situation: Situation, book: ExerciseBook, instants: Sequence[datetime]
) -> dict[datetime, Strength]:
    """Return what the situation's own sets tell of strength as of each instant; nothing is read."""
    model = _inputs(situation, book).model
    sessions = sessions_of(see_sets(situation, book))
    state, newest, done = begin(model.training), None, 0
    found: dict[datetime, Strength] = {}
    for at in sorted(set(instants)):
        begun = sum(session.day <= day_of(at) for session in sessions)
        if begun > done:
            before = sessions[done : begun - 1] if newest is None else (newest, *sessions[done : begun - 1])
            state, newest, done = fold(state, before, model), sessions[begun - 1], begun
        found[at] = Strength(state, newest, model)
    return found


def _inputs(situation: Situation, book: ExerciseBook) -> FoldInputs:
    operated = situation.screening is not None and bool(situation.screening.procedures)
    return FoldInputs(situation.athlete, operated, book)
