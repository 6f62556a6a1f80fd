"""What a schema cannot say: whether a well-formed record is possible for this tenant, athlete and exercise."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

from service.catalogue.records import Exercise
from service.usecases.errors import FieldFault, NotPossible, PerformedInFuture, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.exercises import OwnExercise
from service.usecases.records.log import Checkin, LoggedSet, Pain, Session, TestedMaximum
from service.usecases.records.people import Athlete, Group
from service.usecases.records.places import DumbbellsImplement, Inventory, LevelsImplement
from service.usecases.records.wants import Aim, Limit

#: A phone's clock may be off and time zones differ, but not by more than a day.
AHEAD = timedelta(hours=24)
#: No log of a living athlete is older; far older instants overflow when their offset is taken off.
EARLIEST_YEAR = 1930
Check = Callable[[UnitOfWork, ExerciseBook, Any], None]

#: Sides that a set of an exercise may name, by how the exercise loads the body.
_SIDES: Mapping[str, frozenset[str]] = {
    "two_sided": frozenset({"both", "unspecified"}),
    "two_loads": frozenset({"both", "left", "right", "unspecified"}),
    "one_sided": frozenset({"left", "right", "unspecified"}),
}
_NEEDS_LOAD = frozenset({"total", "per_hand"})


def check_set(work: UnitOfWork, book: ExerciseBook, record: LoggedSet) -> None:
    """Refuse a set that cannot have happened as it says."""
    _not_ahead(work, record.performed_at, "/performed_at")
    exercise = _known_exercise(book, record.exercise_id, "/exercise_id")
    if record.side not in _SIDES[exercise.laterality]:
        raise NotPossible(
            f"{exercise.name} is logged for {_spoken(_SIDES[exercise.laterality])}, not for side {record.side}.",
            faults=[
                FieldFault(
                    "/side",
                    "side_not_possible",
                    f"{exercise.name} is {exercise.laterality.replace('_', ' ')}",
                    f"one of {', '.join(sorted(_SIDES[exercise.laterality]))}",
                )
            ],
        )
    _load_fits(exercise, record)
    _work_fits(exercise, record)
    _known_muscles(book, record.felt_in, "/felt_in")
    _known_pain(book, record.pain)


def _load_fits(exercise: Exercise, record: LoggedSet) -> None:
    basis = record.load_basis or exercise.load_basis
    said = record.load is not None or record.plates_per_side is not None
    if basis in _NEEDS_LOAD and not said:
        raise _fault(
            "/load",
            "load_required",
            f"{exercise.name} is loaded ({basis})",
            "a load greater than 0",
            exercise,
        )
    if basis in _NEEDS_LOAD and record.load is not None and record.load.value == 0:
        raise _fault(
            "/load/value",
            "load_required",
            f"{exercise.name} is loaded ({basis})",
            "a value greater than 0",
            exercise,
        )
    if basis == "level" and record.level is None:
        raise _fault(
            "/level", "level_required", f"{exercise.name} is set by a level", "the station's label", exercise
        )


def _work_fits(exercise: Exercise, record: LoggedSet) -> None:
    wanted = {"repetitions": "reps", "hold": "hold_s", "distance": "distance_m"}[exercise.work]
    if getattr(record, wanted) is None:
        raise _fault(
            f"/{wanted}",
            "work_required",
            f"{exercise.name} is counted in {exercise.work}",
            f"`{wanted}`",
            exercise,
        )


def _fault(pointer: str, code: str, detail: str, expected: str, exercise: Exercise) -> NotPossible:
    return NotPossible(
        f"{detail}: expected {expected}.",
        faults=[FieldFault(pointer, code, detail, expected)],
        exercise_id=exercise.exercise_id,
    )


def check_session(work: UnitOfWork, book: ExerciseBook, record: Session) -> None:
    """Refuse a session that begins too far ahead."""
    _not_ahead(work, record.started_at, "/started_at")


def check_checkin(work: UnitOfWork, book: ExerciseBook, record: Checkin) -> None:
    """Refuse a check-in ahead of time or about a muscle that does not exist."""
    _not_ahead(work, record.at, "/at")
    _known_muscles(book, [soreness.muscle_id for soreness in record.soreness], "/soreness", "/muscle_id")
    _known_pain(book, record.pain)


def check_measurement(work: UnitOfWork, book: ExerciseBook, record: Any) -> None:
    """Refuse a measurement ahead of time or of an unknown exercise."""
    _not_ahead(work, record.at, "/at")
    if isinstance(record, TestedMaximum):
        _known_exercise(book, record.exercise_id, "/exercise_id")


def check_limit(work: UnitOfWork, book: ExerciseBook, record: Limit) -> None:
    """Refuse a limit on exercises that do not exist, that ends before it begins and so would never hold, or that was looked
    at again on a day to come."""
    latest = (work.now + AHEAD).date()
    if record.reviewed_on is not None and record.reviewed_on > latest:
        told = str(record.reviewed_on)
        raise NotPossible(faults=[FieldFault("/reviewed_on", "in_the_future", told, f"at most {latest}")])
    if record.starts_on is not None and record.ends_on is not None and record.ends_on < record.starts_on:
        expected = f"at least starts_on, {record.starts_on}"
        raise NotPossible(faults=[FieldFault("/ends_on", "range_backwards", str(record.ends_on), expected)])
    for index, exercise_id in enumerate(record.exercise_ids):
        _known_exercise(book, exercise_id, f"/exercise_ids/{index}")


def check_aim(work: UnitOfWork, book: ExerciseBook, record: Aim) -> None:
    """Refuse an aim at a muscle or lift that does not exist."""
    if record.muscle_id is not None:
        _known_muscles(book, [record.muscle_id], "/muscle_id", indexed=False)
    if record.exercise_id is not None:
        _known_exercise(book, record.exercise_id, "/exercise_id")


def check_athlete(work: UnitOfWork, book: ExerciseBook, record: Athlete) -> None:
    """Refuse a time zone that is not in the IANA database and a birth year that is not in the past."""
    if not book.knows_zone(record.time_zone):
        raise UnknownReference(
            faults=[
                FieldFault(
                    "/time_zone", "unknown_time_zone", record.time_zone, "an IANA name, such as Europe/Riga"
                )
            ]
        )
    if record.birth_year is not None and record.birth_year > work.now.year:
        raise NotPossible(
            faults=[
                FieldFault("/birth_year", "in_the_future", str(record.birth_year), f"at most {work.now.year}")
            ]
        )


def check_group(work: UnitOfWork, book: ExerciseBook, record: Group) -> None:
    """Refuse a roster with athletes whom the caller cannot reach or who do not exist: the two look the same."""
    known = work.people.in_reach(record.athlete_ids)
    faults = [
        FieldFault(f"/athlete_ids/{index}", "unknown_athlete", str(athlete_id), "the id of an athlete")
        for index, athlete_id in enumerate(record.athlete_ids)
        if athlete_id not in known
    ]
    if faults:
        raise UnknownReference(faults=faults)


def check_exercise(work: UnitOfWork, book: ExerciseBook, record: OwnExercise) -> None:
    """Refuse an exercise whose muscles do not exist or are named twice, or whose repetitions run backwards."""
    muscles = [part.muscle_id for part in record.involvement]
    _known_muscles(book, muscles, "/involvement", "/muscle_id")
    twice = [at for at, muscle_id in enumerate(muscles) if muscle_id in muscles[:at]]
    if twice:
        where = f"/involvement/{twice[0]}/muscle_id"
        raise NotPossible(faults=[FieldFault(where, "muscle_twice", muscles[twice[0]], "each muscle once")])
    if record.repetitions_low > record.repetitions_high:
        expected = f"at least repetitions_low, {record.repetitions_low}"
        raise NotPossible(
            faults=[
                FieldFault("/repetitions_high", "range_backwards", str(record.repetitions_high), expected)
            ]
        )


def check_inventory(work: UnitOfWork, book: ExerciseBook, record: Inventory) -> None:
    """Refuse a dumbbell rack that names neither its masses nor a range, and a station with one label twice."""
    for index, item in enumerate(record.items):
        if isinstance(item, LevelsImplement) and len(set(item.labels)) < len(item.labels):
            where = f"/items/{index}/labels"
            raise NotPossible(faults=[FieldFault(where, "label_twice", item.name, "each label once")])
        if isinstance(item, DumbbellsImplement) and not _names_its_masses(item):
            raise NotPossible(
                faults=[
                    FieldFault(
                        f"/items/{index}",
                        "masses_required",
                        item.name,
                        "`masses`, or `first`, `last` and `step`",
                    )
                ]
            )


def _names_its_masses(rack: DumbbellsImplement) -> bool:
    if rack.masses:
        return True
    if rack.first is None or rack.last is None or rack.step is None:
        return False
    return rack.first <= rack.last


def nothing_more(work: UnitOfWork, book: ExerciseBook, record: Any) -> None:
    """The schema says all there is to check."""


CHECKS: Mapping[str, Check] = {
    "athlete": check_athlete, "group": check_group, "site": nothing_more, "implements": check_inventory,
    "exercise": check_exercise, "session": check_session, "set": check_set, "checkin": check_checkin,
    "measurement": check_measurement, "limit": check_limit, "aim": check_aim, "frame": nothing_more,
    "plan": nothing_more,
}  # fmt: skip


def _not_ahead(work: UnitOfWork, at: datetime, pointer: str) -> None:
    if at.year < EARLIEST_YEAR:
        raise NotPossible(
            f"Nothing before {EARLIEST_YEAR} can be kept.",
            faults=[
                FieldFault(pointer, "too_long_ago", at.isoformat(), f"the year {EARLIEST_YEAR} or later")
            ],
        )
    if at > work.now + AHEAD:
        raise PerformedInFuture(
            faults=[
                FieldFault(
                    pointer,
                    "performed_in_future",
                    at.isoformat(),
                    f"at most {(work.now + AHEAD).isoformat()}",
                )
            ]
        )


def _known_exercise(book: ExerciseBook, exercise_id: str, pointer: str) -> Exercise:
    exercise = book.find(exercise_id)
    if exercise is None:
        raise UnknownReference(
            f"There is no exercise `{exercise_id}`.",
            faults=[
                FieldFault(pointer, "unknown_exercise", exercise_id, "an exercise_id of GET /v1/exercises")
            ],
        )
    return exercise


def _known_muscles(
    book: ExerciseBook, muscle_ids: list[str], pointer: str, member: str = "", *, indexed: bool = True
) -> None:
    for index, muscle_id in enumerate(muscle_ids):
        if not book.knows_muscle(muscle_id):
            where = f"{pointer}/{index}{member}" if indexed else pointer
            raise UnknownReference(
                f"There is no muscle `{muscle_id}`.",
                faults=[FieldFault(where, "unknown_muscle", muscle_id, "a muscle_id of GET /v1/muscles")],
            )


def _known_pain(book: ExerciseBook, pains: list[Pain]) -> None:
    for index, pain in enumerate(pains):
        if pain.exercise_id is not None:
            _known_exercise(book, pain.exercise_id, f"/pain/{index}/exercise_id")


def _spoken(sides: frozenset[str]) -> str:
    return " or ".join(sorted(sides))
