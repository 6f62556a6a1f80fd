"""The muscles that a question names."""

from collections.abc import Sequence

from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook


def named_muscles(book: ExerciseBook, muscle_ids: Sequence[str]) -> list[str]:
    """Return the trainable muscles that were asked for: a muscle in parts stands for its parts.

    Raises ``UnknownReference`` for a muscle that does not exist.
    """
    for muscle_id in muscle_ids:
        if not book.knows_muscle(muscle_id):
            fault = FieldFault(
                "?muscle_id", "unknown_reference", "there is no such muscle", "an id of GET /v1/muscles"
            )
            raise UnknownReference(faults=[fault])
    return list(dict.fromkeys(part for asked in muscle_ids for part in book.catalogue.parts(asked)))
