"""What the athlete wants, as weights of muscles, sides and movements; a balanced whole body where nothing is said."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType

from service.catalogue.catalogue import Catalogue
from service.core.capability import Training
from service.core.planning import LimbSide, MuscleSide, WantedWork
from service.core.units import HardSets
from service.core.volume.thresholds import OLDER_FROM_YEARS, Wanted, thresholds_prior
from service.usecases.answers.recent_work import RecentWork
from service.usecases.answers.situation import Situation
from service.usecases.exercises import ExerciseBook
from service.usecases.records.wants import Aim

#: What a group of muscles is worth beside the others where no aim says better, shared out among its muscles. (judgement)
GROUP_WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        "chest": 1.0, "upper back": 1.0, "quadriceps": 1.0, "glutes": 1.0, "hamstrings": 1.0, "deltoid": 0.8,
        "triceps": 0.5, "elbow flexors": 0.5, "calves": 0.5, "abdominals": 0.5, "trapezius": 0.3,
        "spinal extensors": 0.3, "adductors": 0.2, "hip abductors": 0.2, "rotator cuff": 0.1, "forearm": 0.1,
    }
)  # fmt: skip
_OTHER_GROUP = 0.02
#: What a movement is worth for its own strength, and the weekly sets beyond which no more is sought. (judgement)
PATTERN_WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        "knee": 1.0, "hip": 1.0, "horizontal_press": 1.0, "horizontal_pull": 1.0, "vertical_pull": 0.7,
        "vertical_press": 0.6,
    }
)  # fmt: skip
PATTERN_SETS: HardSets = 6.0
#: Weight of an aim by priority, in the scale of the groups above; what is left of everything else; and the weekly sets
#: of a lift that is to be raised. (judgement)
AIM_WEIGHTS: Mapping[int, float] = MappingProxyType({1: 6.0, 2: 4.0, 3: 2.0})
REST_OF_BODY = 0.3
LIFT_SETS: HardSets = 8.0
#: Share of a lift's aim that goes to the muscles that do the lift. (judgement)
LIFT_MUSCLES = 0.3
SIDES: tuple[LimbSide, ...] = ("left", "right")


@cache
def _targets(training: Training, older: bool) -> tuple[HardSets, HardSets]:
    """Return the weekly sets that keep size, and where one more adds little. [hard sets]"""
    age = OLDER_FROM_YEARS if older else None
    keeps, _, small = thresholds_prior(training, Wanted(age_years=age))
    return keeps.weekly_hard_sets.value, small.weekly_hard_sets.value


@dataclass
class Wants:
    """Weights and targets by muscle and side, and of movements and lifts; ``lifts`` are those to be raised.

    ``closing`` are the muscles and ``closing_lifts`` the lifts whose gap is to be closed; ``undecided_gap`` says that the
    evidence does not decide which side is behind in one of them.
    """

    weights: dict[tuple[str, LimbSide], float] = field(default_factory=dict)
    targets: dict[tuple[str, LimbSide], float] = field(default_factory=dict)
    works: dict[str, tuple[float, float]] = field(default_factory=dict)
    lifts: set[str] = field(default_factory=set)
    closing: set[str] = field(default_factory=set)
    closing_lifts: set[str] = field(default_factory=set)
    undecided_gap: bool = False

    def muscles(self, recent: RecentWork) -> tuple[MuscleSide, ...]:
        """Return every muscle and side with what the log says of it."""
        return tuple(
            MuscleSide(
                muscle, side, weight, self.targets[muscle, side], recent.week_sets.get((muscle, side), 0.0),
                recent.p_ready((muscle, side)),
            )
            for (muscle, side), weight in self.weights.items()
        )  # fmt: skip

    def wanted_works(self, recent: RecentWork, book: ExerciseBook) -> tuple[WantedWork, ...]:
        """Return movements and lifts with the sets that they had this week."""
        done: dict[str, HardSets] = defaultdict(float)
        for exercise_id, sets in recent.week_by_exercise.items():
            exercise = book.find(exercise_id)
            if exercise is not None:
                done[lift_key(exercise_id)] += sets
                if exercise.compound:
                    done[pattern_key(exercise.pattern)] += sets
        return tuple(WantedWork(key, weight, sets, done[key]) for key, (weight, sets) in self.works.items())


def lift_key(exercise_id: str) -> str:
    """Return the key of a lift that is wanted for itself."""
    return f"lift {exercise_id}"


def pattern_key(pattern: str) -> str:
    """Return the key of a movement."""
    return f"movement {pattern}"


def read_wants(situation: Situation, book: ExerciseBook, lagging: Mapping[str, LimbSide | None]) -> Wants:
    """Return what is wanted; ``lagging`` tells the side that is behind by exercise, where it is decided."""
    catalogue = book.catalogue
    keeps, small = _targets(situation.training, (situation.age_years or 0.0) >= OLDER_FROM_YEARS)
    scale = REST_OF_BODY if any(aim.kind != "hold" for aim in situation.aims) else 1.0
    wants = Wants()
    sizes = Counter(muscle.group for muscle in catalogue.trainable_muscles())
    for muscle in catalogue.trainable_muscles():
        weight = scale * GROUP_WEIGHTS.get(muscle.group, _OTHER_GROUP) / sizes[muscle.group]
        for side in SIDES:
            wants.weights[muscle.muscle_id, side] = weight
            wants.targets[muscle.muscle_id, side] = small
    for pattern, weight in PATTERN_WEIGHTS.items():
        wants.works[pattern_key(pattern)] = (scale * weight, PATTERN_SETS)
    for aim in situation.aims:
        _add_aim(wants, aim, book, lagging, keeps)
    return wants


def _add_aim(
    wants: Wants, aim: Aim, book: ExerciseBook, lagging: Mapping[str, LimbSide | None], keeps: HardSets
) -> None:
    weight = AIM_WEIGHTS[aim.priority]
    if aim.kind == "hold":
        _hold(wants, aim, book, keeps)
    elif aim.kind == "grow_muscle" and aim.muscle_id is not None:
        sides = tuple(side for side in SIDES if aim.side in (None, "both", "unspecified", side))
        _raise_muscle(wants, book.catalogue, aim.muscle_id, sides, weight)
    elif aim.kind == "raise_lift" and aim.exercise_id is not None:
        _raise_lift(wants, book, aim.exercise_id, weight)
    elif aim.kind == "close_gap":
        _close_gap(wants, aim, book, lagging, weight)


def _hold(wants: Wants, aim: Aim, book: ExerciseBook, keeps: HardSets) -> None:
    held = set(book.catalogue.parts(aim.muscle_id)) if aim.muscle_id is not None else None
    for key in wants.targets:
        if held is None or key[0] in held:
            wants.targets[key] = min(wants.targets[key], keeps)


def _raise_muscle(
    wants: Wants, catalogue: Catalogue, muscle_id: str, sides: tuple[LimbSide, ...], weight: float
) -> None:
    parts = catalogue.parts(muscle_id)
    for part in parts:
        for side in sides:
            wants.weights[part, side] += weight / (len(parts) * len(sides))


def _raise_lift(wants: Wants, book: ExerciseBook, exercise_id: str, weight: float) -> None:
    exercise = book.find(exercise_id)
    if exercise is None:
        return
    wants.lifts.add(exercise_id)
    wants.works[lift_key(exercise_id)] = (weight, LIFT_SETS)
    whole = sum(part.share for part in exercise.involvement)
    for part in exercise.involvement if whole > 0.0 else ():
        for side in SIDES:
            if (part.muscle_id, side) in wants.weights:
                wants.weights[part.muscle_id, side] += LIFT_MUSCLES * weight * part.share / whole / 2.0


def _close_gap(
    wants: Wants, aim: Aim, book: ExerciseBook, lagging: Mapping[str, LimbSide | None], weight: float
) -> None:
    """Weigh the lagging side where the evidence decides which it is; both sides alike otherwise."""
    side = _lagging_of(aim, book, lagging)
    sides = (side,) if side is not None else SIDES
    wants.undecided_gap = wants.undecided_gap or side is None
    if aim.muscle_id is not None:
        _raise_muscle(wants, book.catalogue, aim.muscle_id, sides, weight)
        wants.closing |= set(book.catalogue.parts(aim.muscle_id))
    if aim.exercise_id is not None:
        exercise = book.find(aim.exercise_id)
        direct = [part for part in exercise.involvement if part.share >= 0.75] if exercise else []
        wants.closing_lifts.add(aim.exercise_id)
        for part in direct:
            for one in sides:
                wants.weights[part.muscle_id, one] += weight / (len(direct) * len(sides))


def _lagging_of(aim: Aim, book: ExerciseBook, lagging: Mapping[str, LimbSide | None]) -> LimbSide | None:
    if aim.exercise_id is not None:
        return lagging.get(aim.exercise_id)
    if aim.muscle_id is None:
        return None
    parts = set(book.catalogue.parts(aim.muscle_id))
    found = set()
    for exercise_id, side in lagging.items():
        exercise = book.find(exercise_id)
        if exercise is not None and any(
            p.muscle_id in parts and p.share >= 0.75 for p in exercise.involvement
        ):
            found.add(side)
    return found.pop() if len(found) == 1 else None
