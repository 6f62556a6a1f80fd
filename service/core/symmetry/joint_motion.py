"""The two sides of one joint's motion: right less left in degrees, a kind of its own.

A ratio of angles has no meaning where zero is a convention: the difference is what is read. No index of a
log ratio applies to it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.errors import TooFewObservations
from service.core.symmetry.girths import LIMBS, Limb, within_sd
from service.core.symmetry.posterior import SidePrior, SideReading
from service.core.units import Days, Degrees

#: Spread of right less left before any reading, and after an injury. (judgement) [deg]
MOTION_PRIOR = SidePrior(sd=6.0)
MOTION_PRIOR_AFTER_INJURY = SidePrior(sd=20.0)
#: Smallest difference worth acting on, and its wandering per root week. (judgement) [deg]
SMALLEST_WORTHWHILE_MOTION: Degrees = 8.0
MOTION_WALK: Degrees = 1.0
#: Error of one reading, and the repeats of one's own that it weighs as much as. (judgement) [deg]
READING_ERROR: Degrees = 3.0
ERROR_WEIGHT = 6.0
#: What differs between visits whatever is averaged on one: placing the tool, the day's stiffness. (judgement)
VISIT_ERROR: Degrees = 2.0


@dataclass(frozen=True, slots=True)
class MotionVisit:
    """The readings of one test on one day, by side. [deg]"""

    day: Days
    readings: dict[Limb, tuple[Degrees, ...]]


def motion_readings(test: str, visits: Sequence[MotionVisit]) -> tuple[SideReading, ...]:
    """Return right less left for each visit that measured both sides. [deg]

    Raises
    ------
    TooFewObservations
        If no visit measured both sides.
    """
    both = [visit for visit in visits if all(visit.readings.get(limb) for limb in LIMBS)]
    if not both:
        raise TooFewObservations(test=test, visits=0)
    sd, freedom = within_sd(visit.readings[limb] for visit in both for limb in LIMBS)
    error = (ERROR_WEIGHT * READING_ERROR**2 + freedom * sd**2) / (ERROR_WEIGHT + freedom)
    return tuple(_reading(test, visit, error) for visit in both)


def _reading(test: str, visit: MotionVisit, error: float) -> SideReading:
    right, left = (visit.readings[limb] for limb in ("right", "left"))
    difference = sum(right) / len(right) - sum(left) / len(left)
    variance = error / len(right) + error / len(left) + 2.0 * VISIT_ERROR**2
    return SideReading(test, "joint_motion", difference, variance, 1, visit.day, visit_variance=variance)
