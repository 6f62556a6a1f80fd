"""A tenant's own exercises: what a gym adds to the reference list."""

from service.catalogue.records import (
    BodyPart,
    CurveClass,
    Implement,
    Laterality,
    LoadBasis,
    Pattern,
    Position,
    Work,
)
from service.usecases.records.base import Record


class OwnInvolvement(Record, frozen=True, kw_only=True):
    """The share of a set's dose that a muscle receives. [1]"""

    muscle_id: str
    share: float


class OwnJointDemand(Record, frozen=True, kw_only=True):
    """A range that a joint must move through under load. [degrees]"""

    motion: str
    from_deg: float
    to_deg: float


class OwnExercise(Record, frozen=True, kw_only=True):
    """An exercise of the tenant's own; joint demands left out are unknown, and an unknown demand fails a veto."""

    name: str
    pattern: Pattern
    laterality: Laterality
    load_basis: LoadBasis
    implement: Implement
    curve_class: CurveClass
    body_part: BodyPart
    repetitions_low: int
    repetitions_high: int
    involvement: list[OwnInvolvement]
    aliases: list[str] = []
    work: Work = "repetitions"
    station: str | None = None
    gear: list[str] = []
    body_share: float = 0.0
    compound: bool = True
    free_weight: bool = True
    overhead: bool = False
    position: Position = "upright"
    failure_exit: int = 1
    joint_demands: list[OwnJointDemand] | None = None
