"""Regions of the body as people name them, and the joints whose stress they concern."""

from collections.abc import Mapping
from types import MappingProxyType

from service.catalogue.records import Exercise
from service.core.planning import joint_of

#: Regions as people say them, and the joints whose stress they concern; a region not listed concerns every joint.
REGION_JOINTS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "ankle": ("ankle",), "foot": ("ankle",), "calf": ("ankle", "knee"), "achilles": ("ankle",),
        "shin": ("ankle", "knee"), "knee": ("knee",), "thigh": ("knee", "hip"), "quadriceps": ("knee", "hip"),
        "hamstring": ("knee", "hip"), "hamstrings": ("knee", "hip"), "groin": ("hip",), "hip": ("hip",),
        "glute": ("hip",), "glutes": ("hip",), "lower_back": ("lumbar",), "back": ("lumbar",), "lumbar": ("lumbar",),
        "spine": ("lumbar", "neck"), "trunk": ("lumbar",), "abdomen": ("lumbar",), "neck": ("neck",),
        "upper_back": ("shoulder", "neck"), "chest": ("shoulder",), "shoulder": ("shoulder",),
        "upper_arm": ("shoulder", "elbow"), "elbow": ("elbow",), "forearm": ("elbow", "wrist"), "wrist": ("wrist",),
        "hand": ("wrist",),
    }
)  # fmt: skip
_ARM, _LEG = frozenset({"shoulder", "elbow", "wrist"}), frozenset({"hip", "knee", "ankle"})
_LOWER_SPINE = frozenset({"lumbar", "hip"})
_SPINE = _LOWER_SPINE | {"neck"}
_ON_FEET = frozenset({"upright", "bent"})
#: Grip from which a load hangs in the hands, and so from shoulder and elbow too. (judgement) [0-3]
_HANGS_FROM = 2
_EVERY_JOINT = ("neck", "shoulder", "elbow", "wrist", "lumbar", "hip", "knee", "ankle")


def plain_region(region: str) -> str:
    """Return a told region in one spelling."""
    return region.strip().lower().replace(" ", "_").replace("-", "_")


def joints_of(region: str) -> tuple[str, ...]:
    """Return the joints that a told region concerns; every joint where it is not known."""
    return REGION_JOINTS.get(_without_side(region), _EVERY_JOINT)


def is_known(region: str) -> bool:
    """Whether the joints that a told region concerns are known; one that is not concerns every joint."""
    return _without_side(region) in REGION_JOINTS


def _without_side(region: str) -> str:
    words = plain_region(region).split("_")
    return "_".join(word for word in words if word not in {"left", "right"})


def loads_region(exercise: Exercise, region: str) -> bool:
    """Whether an exercise loads a joint of a told region at all, little or much.

    What is not known does: an exercise that nobody rated, and any exercise where the region is not known.
    """
    if not exercise.basis or not is_known(region):
        return True
    return bool(_loaded_joints(exercise) & {*joints_of(region)})


def _loaded_joints(exercise: Exercise) -> frozenset[str]:
    """Return the joints that are stressed, moved, or on the way of the load. (judgement)

    Of what the upper body does the legs are only posed.
    """
    stressed = {joint for joint, ordinal in exercise.joint_stress if ordinal > 0}
    moved = {joint for demand in exercise.joint_demands if (joint := joint_of(demand.motion)) is not None}
    if exercise.body_part == "upper":
        moved -= _LEG
    held = _ARM if exercise.grip >= _HANGS_FROM else {"wrist"} if exercise.grip else set()
    return frozenset(stressed | moved | held | _carrying(exercise))


def _carrying(exercise: Exercise) -> frozenset[str]:
    """Return the joints that hold the load up: the spine and hip, on one's feet the whole leg."""
    bent = _LOWER_SPINE if exercise.trunk_moment else frozenset()
    if not exercise.axial_load:
        return bent
    return bent | _SPINE | (_LEG if exercise.position in _ON_FEET else frozenset())
