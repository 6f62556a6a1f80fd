"""Which lifts a plan does not bring in by itself: those that take teaching, and those that are too hard for now."""

from collections.abc import Callable, Iterable, Iterator

from service.catalogue.records import Exercise
from service.core.planning import RuledOut
from service.core.progression.careful import FIRST_RESERVE
from service.core.tolerance.cautions import ADULT_FROM_YEARS, OLDER_FROM_YEARS, Person
from service.core.tolerance.screening import Gate
from service.usecases.answers.history import ExerciseHistory, Histories
from service.usecases.answers.site_loads import SiteOptions

#: Skill (0 to 3) from which a lift is not begun from an app's advice, and from which it is not by people who train
#: with care. (judgement)
TAUGHT_SKILL = 3
TAUGHT_SKILL_WITH_CARE = 2
#: Its lightest load must allow so many repetitions beyond the fewest that make sense: the reserve of a first time.
SPARE_REPETITIONS = FIRST_RESERVE


def trains_with_care(gate: Gate, person: Person) -> bool:
    """Whether someone should be taught a demanding lift before doing it: novices, minors, from 60 years, conditions,
    a clearance's limits, or nobody asked yet."""
    age = person.age_years
    by_age = age is not None and (age < ADULT_FROM_YEARS or age >= OLDER_FROM_YEARS)
    return person.novice or by_age or bool(person.conditions) or gate.min_reserve > 0.0


def not_begun_here(
    exercises: Iterable[Exercise],
    histories: Histories,
    *,
    with_care: bool,
    wanted: Iterable[str],
    options: Callable[[Exercise], SiteOptions],
) -> Iterator[RuledOut]:
    """Yield the lifts without a working set in the log that the plan must not bring in.

    A lift that the athlete aims to raise is brought in all the same, unless they train with care.
    """
    aimed = frozenset() if with_care else frozenset(wanted)
    taught = TAUGHT_SKILL_WITH_CARE if with_care else TAUGHT_SKILL
    for exercise in exercises:
        known = histories.by_exercise.get(exercise.exercise_id)
        if exercise.exercise_id in aimed or (known is not None and known.work_sets()):
            continue
        if exercise.skill >= taught:
            yield RuledOut(exercise.exercise_id, "planning.veto_needs_teaching")
        elif _too_hard_yet(exercise, known or histories.of(exercise.exercise_id), options):
            yield RuledOut(exercise.exercise_id, "planning.veto_too_hard_yet")


def _too_hard_yet(
    exercise: Exercise, history: ExerciseHistory | None, options: Callable[[Exercise], SiteOptions]
) -> bool:
    """Whether the lightest load here is too heavy for the fewest repetitions that make sense, as far as another lift tells."""
    if (
        exercise.load_basis == "level"
        or exercise.work != "repetitions"
        or history is None
        or not history.is_known
    ):
        return False
    made = options(exercise)
    forecast = history.forecast(history.known_until, "both")
    if not made.effective or forecast is None:
        return False
    possible = forecast.repetitions_at(made.effective[0].load_kg).median
    return possible < exercise.repetition_range[0] + SPARE_REPETITIONS
