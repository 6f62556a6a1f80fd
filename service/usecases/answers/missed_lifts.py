"""A lift whose working sets were all missed: a lift like it tells what may be possible, the misses that it is no more."""

from dataclasses import replace
from typing import Final

from service.core.units import Days, Share
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet, tells_miss
from service.usecases.folding.evidence import counted

#: A miss is believed where the load has no higher a chance to go up now: a little above even, since days differ. A miss that
#: the engine takes for a slip leaves nearly 1. [1] (judgement)
BELIEVED: Final[Share] = 2.0 / 3.0


def history_of(histories: Histories, exercise_id: str) -> ExerciseHistory | None:
    """Return the history of an exercise; one of which nothing went up yet is told by its anchor lift and its misses.

    Without an anchor lift nothing bounds its strength from below, and where the two contradict each other one of them is
    wrong: then nothing is known of it. None where there is no such exercise.
    """
    history = histories.of(exercise_id)
    if history is None or history.is_known:
        return history
    missed = [seen for seen in history.sets if tells_miss(seen)]
    if not missed or any(seen.is_work and counted(seen.record, seen.exercise) for seen in history.sets):
        return history
    # Its own sets alone are folded: a lift begins in the athlete's state with what went up, and with nothing else.
    told = replace(history, prior=histories.prior(history.exercise), strength=None, only_missed=True)
    now = histories.situation.now_day
    return told if all(_is_believed(seen, told, now) for seen in missed) else history


def _is_believed(missed: SeenSet, told: ExerciseHistory, now: Days) -> bool:
    forecast = told.forecast(now, missed.side)
    if forecast is None or missed.load is None:
        return False
    return forecast.repetitions_at(missed.load.kilograms).probability_at_least(1) <= BELIEVED
