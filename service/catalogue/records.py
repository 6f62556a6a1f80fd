"""The shapes of the reference data: muscles, exercises, and what an exercise asks of a body.

Every number carries a basis: the key of a work in ``service.core.sources``, ``anatomy`` for what any
atlas says, or ``judgement`` for our own estimate, which an athlete's logs are meant to overrule. A share with
a cited basis is our reading of the growth that the work measured: a prior, as its sd says, not a quotation.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from service.core.units import Degrees, Kilograms, LogRatio, Share

#: A source key, ``anatomy`` or ``judgement``.
BasisKey = str
#: What may stand as a basis besides the key of a cited work.
UNCITED_BASES = ("anatomy", "judgement")

Pattern = Literal[
    "knee",
    "hip",
    "horizontal_press",
    "vertical_press",
    "horizontal_pull",
    "vertical_pull",
    "carry",
    "trunk",
    "elbow_flexion",
    "elbow_extension",
    "shoulder_abduction",
    "shoulder_flexion",
    "shoulder_horizontal_abduction",
    "shoulder_horizontal_adduction",
    "shoulder_rotation",
    "knee_extension",
    "knee_flexion",
    "hip_abduction",
    "hip_adduction",
    "hip_flexion",
    "plantarflexion",
    "dorsiflexion",
    "wrist",
    "neck",
    "scapular",
]
Laterality = Literal["two_sided", "one_sided", "two_loads"]
Work = Literal["repetitions", "hold", "distance"]
LoadBasis = Literal["total", "per_hand", "added", "assistance", "level", "none"]
Implement = Literal["bar", "dumbbells", "stack", "plate_loaded", "levels", "body", "kettlebell", "band"]
CurveClass = Literal[
    "bench", "upper_press", "row_pull", "single_joint", "lower_compound", "leg_press", "trunk_hold"
]
BodyPart = Literal["upper", "lower", "trunk"]
Position = Literal[
    "upright", "seated", "supine", "prone", "bent", "floor", "hang", "reclined", "kneeling", "side_lying"
]
MuscleLength = Literal["long", "mid", "short"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Muscle:
    """A muscle, or a part of one (``part_of``) where training tells the parts apart.

    ``volume_cm3`` [cm3] is one side's volume; identifiers are those of open anatomy ontologies.
    """

    muscle_id: str
    name: str
    group: str
    actions: tuple[str, ...]
    uberon_id: str | None = None
    fma_id: str | None = None
    part_of: str | None = None
    volume_cm3: float | None = None
    basis: BasisKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Involvement:
    """The share of a hard set's dose that a muscle receives. [1]"""

    muscle_id: str
    share: Share
    sd: Share = 0.15
    basis: BasisKey


@dataclass(frozen=True, slots=True, kw_only=True)
class JointDemand:
    """A range that a joint must move through or hold under load. [deg]

    The motion names its direction (``shoulder_elevation``, ``wrist_extension``); ``sd_deg`` is the spread
    over people and set-ups.
    """

    motion: str
    from_deg: Degrees
    to_deg: Degrees
    sd_deg: Degrees = 10.0
    basis: BasisKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """Expected ratio of this exercise's capability to that of the anchor lift, in effective loads. [1]

    An effective load is per hand where the load basis is ``per_hand``. ``ln_sd`` is the spread of the ratio's
    logarithm over people, and over stations where the implement is a machine.
    """

    exercise_id: str
    ratio: float
    ln_sd: LogRatio
    basis: BasisKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """A movement with the way it is loaded, what it trains and what it asks of the body.

    Ordinals run from 0 (none) to 3 (much); ``failure_exit`` 3 means trapped under the load unless something
    catches it. ``body_share`` is the share of body mass that is moved. [1] It enters the effective load only
    where the body is the load (``added``, ``assistance``, ``none``). ``repetition_range`` counts repetitions,
    seconds for a hold and metres for a distance. ``basis`` names the basis of every number that has no record
    of its own. ``joint_stress`` pairs a joint with an ordinal.
    """

    exercise_id: str
    name: str
    aliases: tuple[str, ...]
    pattern: Pattern
    laterality: Laterality
    work: Work
    load_basis: LoadBasis
    implement: Implement
    station: str | None
    gear: tuple[str, ...]
    body_share: Share
    curve_class: CurveClass
    compound: bool
    body_part: BodyPart
    free_weight: bool
    overhead: bool
    repetition_range: tuple[int, int]
    involvement: tuple[Involvement, ...]
    joint_demands: tuple[JointDemand, ...]
    position: Position
    failure_exit: int
    support: tuple[str, ...]
    balance: int
    axial_load: int
    trunk_moment: int
    grip: int
    breath_pressure: int
    joint_stress: tuple[tuple[str, int], ...]
    skill: int
    muscle_length: MuscleLength | None
    anchor: Anchor | None
    basis: Mapping[str, BasisKey] = field(hash=False)
    default_increment_kg: Kilograms | None = None
