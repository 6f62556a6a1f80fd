"""What the reference data must satisfy; a broken file stops the service at its start, not in an answer."""

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence

from service.catalogue.catalogue import names_of
from service.catalogue.naming import comparable_name
from service.catalogue.records import UNCITED_BASES, BasisKey, Exercise, Muscle

SLUG = re.compile(r"[a-z0-9][a-z0-9-]{1,63}")
#: Fields of an exercise that are numbers or ordinals without a record of their own.
NUMBERED_FIELDS = frozenset(
    {
        "body_share",
        "repetition_range",
        "failure_exit",
        "balance",
        "axial_load",
        "trunk_moment",
        "grip",
        "breath_pressure",
        "joint_stress",
        "skill",
        "muscle_length",
    }
)
ORDINALS = ("failure_exit", "balance", "axial_load", "trunk_moment", "grip", "breath_pressure", "skill")
JOINTS = frozenset({"neck", "shoulder", "elbow", "wrist", "lumbar", "hip", "knee", "ankle"})
MOTIONS = frozenset(
    {
        "hip_flexion",
        "hip_extension",
        "hip_abduction",
        "hip_external_rotation",
        "knee_flexion",
        "loaded_dorsiflexion",
        "plantarflexion",
        "lumbar_flexion",
        "lumbar_extension",
        "lumbar_side_bend",
        "shoulder_elevation",
        "shoulder_extension",
        "shoulder_external_rotation",
        "shoulder_internal_rotation",
        "shoulder_horizontal_abduction",
        "elbow_flexion",
        "forearm_pronation",
        "forearm_supination",
        "wrist_extension",
        "wrist_flexion",
        "neck_flexion",
        "neck_extension",
    }
)
_NEEDS_STATION = frozenset({"stack", "plate_loaded", "levels"})


class BrokenCatalogue(ValueError):
    """The reference data breaks its own rules; the faults are listed."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(faults))


def _repeated(kind: str, ids: Collection[str]) -> Iterator[str]:
    for name, count in Counter(ids).items():
        if count > 1:
            yield f"{kind} id {name} stands {count} times"
    for name in ids:
        if not SLUG.fullmatch(name):
            yield f"{kind} id {name!r} is not a slug"


def _muscle_faults(muscles: Sequence[Muscle], bases: Collection[BasisKey]) -> Iterator[str]:
    ids = [muscle.muscle_id for muscle in muscles]
    yield from _repeated("muscle", ids)
    parents = {muscle.muscle_id: muscle.part_of for muscle in muscles}
    for muscle in muscles:
        if muscle.part_of is not None and muscle.part_of not in parents:
            yield f"{muscle.muscle_id} is part of {muscle.part_of}, which does not exist"
        if _climbs_in_a_circle(muscle.muscle_id, parents.get):
            yield f"{muscle.muscle_id} is part of itself"
        if muscle.basis not in bases:
            yield f"{muscle.muscle_id} has the unknown basis {muscle.basis!r}"
        if muscle.volume_cm3 is not None and (muscle.volume_cm3 <= 0.0 or muscle.basis in UNCITED_BASES):
            yield f"{muscle.muscle_id} has a volume that is not positive or not cited"


def _climbs_in_a_circle(start: str, above: Callable[[str], str | None]) -> bool:
    seen, here = {start}, above(start)
    while here is not None:
        if here in seen:
            return here == start
        seen.add(here)
        here = above(here)
    return False


def _name_faults(exercises: Sequence[Exercise]) -> Iterator[str]:
    yield from _repeated("exercise", [exercise.exercise_id for exercise in exercises])
    owners: dict[str, str] = {}
    for exercise in exercises:
        for name in names_of(exercise):
            owner = owners.setdefault(comparable_name(name), exercise.exercise_id)
            if owner != exercise.exercise_id:
                yield f"name {name!r} means both {owner} and {exercise.exercise_id}"


def _involvement_faults(exercise: Exercise, trainable: Collection[str]) -> Iterator[str]:
    rows = exercise.involvement
    if not any(row.share > 0.0 for row in rows):
        yield "trains no muscle"
    if len({row.muscle_id for row in rows}) < len(rows):
        yield "names a muscle twice"
    for row in rows:
        if row.muscle_id not in trainable:
            yield f"trains {row.muscle_id}, which is no muscle or has parts that must be named instead"
        if not 0.0 <= row.share <= 1.0 or not 0.0 < row.sd <= 0.5:
            yield f"gives {row.muscle_id} the share {row.share} +- {row.sd}"


def _joint_faults(exercise: Exercise) -> Iterator[str]:
    for demand in exercise.joint_demands:
        if demand.motion not in MOTIONS:
            yield f"asks for the unknown motion {demand.motion}"
        if not -90.0 <= demand.from_deg <= demand.to_deg <= 180.0 or demand.sd_deg <= 0.0:
            yield f"asks {demand.motion} from {demand.from_deg} to {demand.to_deg} +- {demand.sd_deg}"
    for joint, stress in exercise.joint_stress:
        if joint not in JOINTS or not 0 <= stress <= 3:
            yield f"stresses {joint} by {stress}"


def _number_faults(exercise: Exercise) -> Iterator[str]:
    lowest, highest = exercise.repetition_range
    if not 1 <= lowest <= highest <= 100:
        yield f"has the repetition range {lowest} to {highest}"
    if not 0.0 <= exercise.body_share <= 1.0:
        yield f"moves the share {exercise.body_share} of the body"
    for name in ORDINALS:
        if not 0 <= getattr(exercise, name) <= 3:
            yield f"has {name} {getattr(exercise, name)}"
    if exercise.implement in _NEEDS_STATION and exercise.station is None:
        yield f"is loaded by {exercise.implement} but names no station"


def _basis_faults(exercise: Exercise, bases: Collection[BasisKey]) -> Iterator[str]:
    for name in sorted(NUMBERED_FIELDS - exercise.basis.keys()):
        yield f"gives no basis for {name}"
    for name in sorted(exercise.basis.keys() - NUMBERED_FIELDS):
        yield f"gives a basis for {name}, which is no number of its own"
    used = {*exercise.basis.values(), *(row.basis for row in exercise.involvement)}
    used.update(demand.basis for demand in exercise.joint_demands)
    if exercise.anchor is not None:
        used.add(exercise.anchor.basis)
    for basis in sorted(used - set(bases)):
        yield f"has the unknown basis {basis!r}"


def _anchor_faults(exercises: Sequence[Exercise]) -> Iterator[str]:
    anchors = {exercise.exercise_id: exercise.anchor for exercise in exercises}

    def above(exercise_id: str) -> str | None:
        anchor = anchors.get(exercise_id)
        return anchor.exercise_id if anchor is not None else None

    for exercise_id, anchor in anchors.items():
        if anchor is None:
            continue
        if anchor.exercise_id not in anchors:
            yield f"{exercise_id} is anchored to {anchor.exercise_id}, which does not exist"
        if _climbs_in_a_circle(exercise_id, above):
            yield f"{exercise_id} is anchored to itself"
        if anchor.ratio <= 0.0 or anchor.ln_sd <= 0.0:
            yield f"{exercise_id} has the ratio {anchor.ratio} and ln-sd {anchor.ln_sd}"


def faults(
    muscles: Sequence[Muscle], exercises: Sequence[Exercise], cited: Collection[BasisKey]
) -> tuple[str, ...]:
    """Return every fault of the reference data in plain words; ``cited`` are the keys of known works.

    Definition: the rules are those of this module; there is no literature behind them.
    """
    bases = {*cited, *UNCITED_BASES}
    divided = {muscle.part_of for muscle in muscles if muscle.part_of is not None}
    trainable = {muscle.muscle_id for muscle in muscles} - divided
    found = [*_muscle_faults(muscles, bases), *_name_faults(exercises), *_anchor_faults(exercises)]
    for exercise in exercises:
        own = (
            *_involvement_faults(exercise, trainable),
            *_joint_faults(exercise),
            *_number_faults(exercise),
            *_basis_faults(exercise, bases),
        )
        found.extend(f"{exercise.exercise_id} {fault}" for fault in own)
    return tuple(found)
