"""The exercises that a tenant may name: the reference list and its own."""

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from uuid import UUID
from zoneinfo import available_timezones

from service.catalogue.catalogue import Catalogue
from service.catalogue.records import Exercise, Involvement, JointDemand
from service.usecases.kinds import EXERCISE
from service.usecases.ports import UnitOfWork
from service.usecases.records.exercises import OwnExercise

#: What a tenant says of its own exercise is its own judgement.
_OWN_BASIS = "judgement"
_ZONES = frozenset(available_timezones())


def as_exercise(exercise_id: UUID, own: OwnExercise) -> Exercise:
    """Return a tenant's exercise in the shape of the reference list; what was not said is the cautious default."""
    return Exercise(
        exercise_id=str(exercise_id),
        name=own.name,
        aliases=tuple(own.aliases),
        pattern=own.pattern,
        laterality=own.laterality,
        work=own.work,
        load_basis=own.load_basis,
        implement=own.implement,
        station=own.station,
        gear=tuple(own.gear),
        body_share=own.body_share,
        curve_class=own.curve_class,
        compound=own.compound,
        body_part=own.body_part,
        free_weight=own.free_weight,
        overhead=own.overhead,
        repetition_range=(own.repetitions_low, own.repetitions_high),
        involvement=tuple(
            Involvement(muscle_id=part.muscle_id, share=part.share, basis=_OWN_BASIS)
            for part in own.involvement
        ),
        joint_demands=tuple(
            JointDemand(
                motion=demand.motion, from_deg=demand.from_deg, to_deg=demand.to_deg, basis=_OWN_BASIS
            )
            for demand in own.joint_demands or ()
        ),
        position=own.position,
        failure_exit=own.failure_exit,
        support=(),
        balance=1,
        axial_load=1,
        trunk_moment=1,
        grip=1,
        breath_pressure=2,
        joint_stress=(),
        skill=1,
        muscle_length=None,
        anchor=None,
        basis={},
    )


class ExerciseBook:
    """The reference list with one tenant's own exercises read on demand.

    ``find_own`` looks one up by id; it is asked only for ids that are not on the reference list. ``find_many`` looks up
    several at once.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        find_own: Callable[[UUID], OwnExercise | None],
        find_many: Callable[[list[UUID]], Mapping[UUID, OwnExercise]] | None = None,
    ) -> None:
        self._catalogue = catalogue
        self._find_own = find_own
        self._find_many = find_many
        self._own: dict[str, Exercise | None] = {}
        self.unknown_demands: set[str] = set()

    def find(self, exercise_id: str) -> Exercise | None:
        """Return an exercise by id, None where there is none."""
        known = self._catalogue.exercises.get(exercise_id)
        if known is not None:
            return known
        if exercise_id not in self._own:
            self._own[exercise_id] = self._look_up(exercise_id)
        return self._own[exercise_id]

    def knows_muscle(self, muscle_id: str) -> bool:
        """Whether there is such a muscle."""
        return muscle_id in self._catalogue.muscles

    def knows_zone(self, name: str) -> bool:
        """Whether the IANA database has such a time zone."""
        return name in _ZONES

    @cached_property
    def catalogue(self) -> Catalogue:
        """The reference list itself."""
        return self._catalogue

    def gather(self, exercise_ids: Iterable[str]) -> None:
        """Read in one statement those of some exercises that are the tenant's own and not yet known."""
        unknown = {
            own_id
            for exercise_id in exercise_ids
            if exercise_id not in self._catalogue.exercises and exercise_id not in self._own
            if (own_id := _as_uuid(exercise_id)) is not None
        }
        if not unknown or self._find_many is None:
            return
        found = self._find_many(sorted(unknown))
        for own_id in unknown:
            self._own[str(own_id)] = self._described(own_id, found.get(own_id))

    def _look_up(self, exercise_id: str) -> Exercise | None:
        own_id = _as_uuid(exercise_id)
        return self._described(own_id, self._find_own(own_id)) if own_id is not None else None

    def _described(self, own_id: UUID, own: OwnExercise | None) -> Exercise | None:
        if own is None:
            return None
        if own.joint_demands is None:
            self.unknown_demands.add(str(own_id))
        return as_exercise(own_id, own)


def book_of(work: UnitOfWork, catalogue: Catalogue) -> ExerciseBook:
    """Return the exercises that a transaction's tenant may name."""

    def find_own(exercise_id: UUID) -> OwnExercise | None:
        stored = work.resources.get(EXERCISE, exercise_id)
        return stored.record if stored is not None else None

    def find_many(ids: list[UUID]) -> dict[UUID, OwnExercise]:
        found = work.resources.get_many(EXERCISE, ids)
        return {id: stored.record for id, stored in found.items() if stored.record is not None}

    return ExerciseBook(catalogue, find_own, find_many)


def _as_uuid(exercise_id: str) -> UUID | None:
    try:
        return UUID(exercise_id)
    except ValueError:
        return None
