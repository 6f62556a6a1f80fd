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
        "hand": ("wrist",), "finger": ("wrist",), "thumb": ("wrist",), "biceps": ("shoulder", "elbow"),
        "triceps": ("shoulder", "elbow"), "rotator_cuff": ("shoulder",), "shoulder_blade": ("shoulder", "neck"),
        "lat": ("shoulder",), "trapezius": ("shoulder", "neck"), "hip_flexor": ("hip",), "adductor": ("hip",),
        "buttock": ("hip",), "heel": ("ankle",), "toe": ("ankle",),
    }
)  # fmt: skip
#: Joints that are loaded by what either limb does: of these no side is spared by the other one's sets. (anatomy)
_OF_TRUNK = frozenset({"neck", "lumbar"})
_ARM, _LEG = frozenset({"shoulder", "elbow", "wrist"}), frozenset({"hip", "knee", "ankle"})
_LOWER_SPINE = frozenset({"lumbar", "hip"})
_SPINE = _LOWER_SPINE | {"neck"}
_ON_FEET = frozenset({"upright", "bent"})
#: How much is gripped, carried or held up by the trunk at all, and from where it is much: a gripped load then hangs in the
#: hands, and so from shoulder and elbow too. (judgement) [0-3]
_ANY, _MUCH = 1, 2
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
    """Return a told region without its side, in the singular where only that is known."""
    words = plain_region(region).split("_")
    named = "_".join(word for word in words if word not in {"left", "right"})
    one = "calf" if named == "calves" else named.removesuffix("s")
    return one if named not in REGION_JOINTS and one in REGION_JOINTS else named


def loads_region(exercise: Exercise, region: str) -> bool:
    """Whether an exercise loads a joint of a told region at all, little or much.

    What is not known does: an exercise that nobody rated, and any exercise where the region is not known.
    """
    if not exercise.basis or not is_known(region):
        return True
    return bool(_loaded_joints(exercise, held_from=_ANY) & {*joints_of(region)})


def burdened_joints(exercise: Exercise) -> frozenset[str]:
    """Return the joints that cannot rest under a lift, every one of a lift that nobody rated.

    Those that it stresses or moves, and those through which much is gripped or carried: an arm from which a weight hangs
    and a spine or leg under a heavy one do not rest either. (common practice, no source)
    """
    return _loaded_joints(exercise, held_from=_MUCH) if exercise.basis else frozenset(_EVERY_JOINT)


def joints_of_either_side(exercise: Exercise) -> frozenset[str]:
    """Return the joints that the sets of either side of a lift load or move alike, so that a side spares none of them.

    The trunk; the arms that hold what a leg lifts, and the legs that stand or kneel under what an arm lifts; of what the trunk
    does the legs, and the arms but where one hand holds the load or one forearm bears the body. (anatomy, judgement)
    """
    if exercise.body_part == "lower":
        return _OF_TRUNK | _ARM
    if exercise.body_part == "upper":
        return _OF_TRUNK | _LEG
    one_arm = exercise.load_basis == "per_hand" or "forearm" in exercise.support
    return _OF_TRUNK | _LEG | (frozenset() if one_arm else _ARM)


def is_of_trunk(region: str) -> bool:
    """Whether a told region is of the trunk alone, and so has no side."""
    return _OF_TRUNK.issuperset(joints_of(region))


def either_side_loads(exercise: Exercise, region: str) -> bool:
    """Whether sets of either side of an exercise load a joint of a told region at all."""
    rated = _loaded_joints(exercise, held_from=_ANY) if exercise.basis else frozenset(_EVERY_JOINT)
    return bool(joints_of_either_side(exercise) & rated & {*joints_of(region)})


def either_side_hurts(exercise: Exercise, region: str) -> bool:
    """Whether pain of a told region under an exercise is, or may be, of the sets of either side.

    It is where the region is of the trunk alone, or has a joint that can rest under the sets of neither.
    """
    burdened = joints_of_either_side(exercise) & burdened_joints(exercise)
    return is_of_trunk(region) or bool(burdened & {*joints_of(region)})


def _loaded_joints(exercise: Exercise, *, held_from: int) -> frozenset[str]:
    """Return the joints that are stressed, moved, or on the way of a load that is gripped or carried so much. (judgement)"""
    stressed = {joint for joint, ordinal in exercise.joint_stress if ordinal > 0}
    moved = {joint for demand in exercise.joint_demands if (joint := joint_of(demand.motion)) is not None}
    held = _gripping(exercise, held_from) | _carrying(exercise, held_from)
    return frozenset(stressed | (moved - _posed(exercise)) | held)


def _posed(exercise: Exercise) -> frozenset[str]:
    """Return the joints that are only posed: legs of what the upper body does, arms of what legs do with empty hands."""
    if exercise.body_part == "upper":
        return _LEG
    return _ARM if exercise.body_part == "lower" and not exercise.grip else frozenset()


def _gripping(exercise: Exercise, least: int) -> frozenset[str]:
    """Return the joints of the arm that hold what is gripped so much: the wrist, and all that a load hangs from.

    From a forearm that lies on something it does not hang: what lies there carries it, and the shoulder nothing.
    """
    if exercise.grip < least:
        return frozenset()
    if exercise.grip < _MUCH:
        return frozenset({"wrist"})
    return _ARM - {"shoulder"} if "forearm" in exercise.support else _ARM


def _carrying(exercise: Exercise, least: int) -> frozenset[str]:
    """Return the joints that hold so much of a load up: the spine and hip, on one's feet the whole leg."""
    bent = _LOWER_SPINE if exercise.trunk_moment >= least else frozenset()
    if exercise.axial_load < least:
        return bent
    return bent | _SPINE | (_LEG if exercise.position in _ON_FEET else frozenset())
