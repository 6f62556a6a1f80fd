"""What still fits into the minutes that are left: sets of a lift with their rests, the rest already taken among them."""

from collections.abc import Sequence

from service.catalogue.records import Exercise
from service.core.planning.timing import CHANGE_OF_SIDE_S
from service.core.units import Seconds
from service.usecases.answers.history import SeenSet
from service.usecases.answers.plan_request import rest_of, work_seconds
from service.usecases.answers.situation import Situation

#: A last set longer ago than this is no rest: the clock of a log entered afterwards says nothing. (judgement) [s]
_LONGEST_REST: Seconds = 1800.0


def seconds_of_sets(exercise: Exercise, sets: int, rested_s: Seconds) -> Seconds:
    """Return how long so many further sets take, on both sides of a one-sided lift, rests before each included. [s]"""
    one = work_seconds(exercise)
    if exercise.laterality == "one_sided":
        one = 2.0 * one + CHANGE_OF_SIDE_S
    rest = rest_of(exercise)
    return max(rest - rested_s, 0.0) + sets * one + max(sets - 1, 0) * rest


def sets_that_fit(exercise: Exercise, minutes: float, rested_s: Seconds, most: int) -> int:
    """Return how many further sets fit into some minutes, no more than ``most``."""
    fitting = (
        sets for sets in range(most, 0, -1) if seconds_of_sets(exercise, sets, rested_s) <= 60.0 * minutes
    )
    return next(fitting, 0)


def rested(today: Sequence[SeenSet], situation: Situation) -> Seconds:
    """Return the rest taken since the newest set of the lift: all that is needed where none was done yet. [s]"""
    if not today:
        return _LONGEST_REST
    newest = max(seen.record.performed_at for seen in today)
    since = (situation.as_of - newest).total_seconds()
    return min(max(since, 0.0), _LONGEST_REST)
