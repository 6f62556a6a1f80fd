"""The reference data as one object that is looked things up in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from service.catalogue.naming import comparable_name
from service.catalogue.records import Exercise, Muscle
from service.core.units import Share


class UnknownExercise(LookupError):
    """No exercise of the catalogue has this id, name or alias."""


class UnknownMuscle(LookupError):
    """No muscle of the catalogue has this id."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Muscles and exercises by id, each in a stable order: that of the data files."""

    muscles: Mapping[str, Muscle]
    exercises: Mapping[str, Exercise]
    _by_name: Mapping[str, str] = field(init=False, repr=False, compare=False)
    _parts: Mapping[str, tuple[str, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_name = {
            comparable_name(name): exercise.exercise_id
            for exercise in self.exercises.values()
            for name in names_of(exercise)
        }
        parts: dict[str, tuple[str, ...]] = {}
        for muscle in self.muscles.values():
            if muscle.part_of is not None:
                parts[muscle.part_of] = (*parts.get(muscle.part_of, ()), muscle.muscle_id)
        object.__setattr__(self, "_by_name", MappingProxyType(by_name))
        object.__setattr__(self, "_parts", MappingProxyType(parts))

    def __iter__(self) -> Iterator[Exercise]:
        return iter(self.exercises.values())

    def __len__(self) -> int:
        return len(self.exercises)

    def __contains__(self, exercise_id: object) -> bool:
        return exercise_id in self.exercises

    def exercise(self, exercise_id: str) -> Exercise:
        """Return the exercise with this id; ``UnknownExercise`` if there is none."""
        try:
            return self.exercises[exercise_id]
        except KeyError:
            raise UnknownExercise(exercise_id) from None

    def muscle(self, muscle_id: str) -> Muscle:
        """Return the muscle with this id; ``UnknownMuscle`` if there is none."""
        try:
            return self.muscles[muscle_id]
        except KeyError:
            raise UnknownMuscle(muscle_id) from None

    def resolve(self, name: str) -> Exercise:
        """Return the exercise of this id, name or alias, however it is spelt; else ``UnknownExercise``."""
        try:
            return self.exercises[self._by_name[comparable_name(name)]]
        except KeyError:
            raise UnknownExercise(name) from None

    def parts(self, muscle_id: str) -> tuple[str, ...]:
        """Return the ids of the trainable parts of a muscle: itself where it is not divided."""
        own = self._parts.get(self.muscle(muscle_id).muscle_id, ())
        return tuple(leaf for part in own for leaf in self.parts(part)) if own else (muscle_id,)

    def trainable_muscles(self) -> tuple[Muscle, ...]:
        """Return the muscles that a dose is counted for: those without parts of their own."""
        return tuple(muscle for muscle in self.muscles.values() if muscle.muscle_id not in self._parts)

    def training_muscles(self, exercise_id: str) -> dict[str, Share]:
        """Return the share of a set's dose per muscle that receives any, largest first. [1]"""
        shares = (
            (row.muscle_id, row.share) for row in self.exercise(exercise_id).involvement if row.share > 0.0
        )
        return dict(sorted(shares, key=lambda pair: -pair[1]))


def names_of(exercise: Exercise) -> tuple[str, ...]:
    """Return every name that an exercise answers to: id, name and aliases, without repeats."""
    return tuple(dict.fromkeys((exercise.exercise_id, exercise.name, *exercise.aliases)))
