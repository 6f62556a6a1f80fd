"""Regions of the body as people name them, and the joints whose stress they concern."""

from collections.abc import Mapping
from types import MappingProxyType

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
_EVERY_JOINT = ("neck", "shoulder", "elbow", "wrist", "lumbar", "hip", "knee", "ankle")


def plain_region(region: str) -> str:
    """Return a told region in one spelling."""
    return region.strip().lower().replace(" ", "_").replace("-", "_")


def joints_of(region: str) -> tuple[str, ...]:
    """Return the joints that a told region concerns; every joint where it is not known."""
    return REGION_JOINTS.get(plain_region(region), _EVERY_JOINT)
