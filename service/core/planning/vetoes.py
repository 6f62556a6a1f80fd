"""What rules an exercise out: a clinician's word, pain, joint ranges, the site. A good match never outvotes one.

What is not known of an exercise fails a veto about joints.
"""

from collections.abc import Iterator

from service.core.estimates import Reason
from service.core.planning.request import (
    SIDES,
    BodySide,
    Candidate,
    Demand,
    JointRange,
    LimbSide,
    RestingRegion,
    Restrictions,
)

#: Joint whose stress makes a motion relevant even where an exercise names no range for it. (anatomy)
JOINT_OF_MOTION = {
    "wrist": "wrist",
    "forearm": "elbow",
    "elbow": "elbow",
    "shoulder": "shoulder",
    "neck": "neck",
    "lumbar": "lumbar",
    "hip": "hip",
    "knee": "knee",
    "loaded": "ankle",
    "plantarflexion": "ankle",
}


def joint_of(motion: str) -> str | None:
    """Return the joint that a motion belongs to, None where it is not known."""
    return JOINT_OF_MOTION.get(motion.split("_", 1)[0])


def fits(demand: Demand, allowed: JointRange) -> bool:
    """Whether a demand stays inside a range with its spread to spare.

    A range from 0 or below sets no lower bound beyond the demand's own start: joints rest there.
    """
    if demand.to_deg + demand.sd_deg > allowed.to_deg:
        return False
    margin = demand.sd_deg if allowed.from_deg > 0.0 else -demand.sd_deg
    return demand.from_deg - margin >= allowed.from_deg


def _stress(candidate: Candidate, joint: str | None) -> int | None:
    if candidate.joint_stress is None:
        return None
    return dict(candidate.joint_stress).get(joint or "", 0)


def against_range(candidate: Candidate, allowed: JointRange) -> Reason | None:
    """Return why an exercise does not stay inside a joint range with its spread to spare, None where it does."""
    params: dict[str, str | float] = {"motion": allowed.motion.replace("_", " "), "to_deg": allowed.to_deg}
    if candidate.demands is None:
        return Reason("planning.veto_unknown_demand", params)
    demands = [demand for demand in candidate.demands if demand.motion == allowed.motion]
    if any(not fits(demand, allowed) for demand in demands):
        needed = max(demand.to_deg for demand in demands)
        return Reason("planning.veto_joint_range", {**params, "needed_deg": needed})
    if not demands and _stress(candidate, joint_of(allowed.motion)) != 0:
        return Reason("planning.veto_unknown_demand", params)
    return None


def _against_region(candidate: Candidate, resting: RestingRegion) -> Reason | None:
    if _stress(candidate, resting.region) == 0 and resting.region not in candidate.burdened:
        return None
    return Reason(resting.code, {"region": resting.region})


def _concerns(bound: BodySide, side: LimbSide) -> bool:
    return bound in ("both", side)


def _vetoes(candidate: Candidate, restrictions: Restrictions, side: LimbSide) -> Iterator[Reason]:
    for out in restrictions.ruled_out:
        if out.exercise_id == candidate.exercise_id and _concerns(out.side, side):
            yield Reason(out.code)
    for allowed in restrictions.joint_ranges:
        if _concerns(allowed.side, side) or joint_of(allowed.motion) in candidate.either_side:
            found = against_range(candidate, allowed)
            if found is not None:
                yield found
    for resting in restrictions.resting_regions:
        if _concerns(resting.side, side) or resting.region in candidate.either_side:
            found = _against_region(candidate, resting)
            if found is not None:
                yield found
    if not candidate.available:
        yield Reason("planning.not_at_site")


def vetoes(candidate: Candidate, restrictions: Restrictions, side: LimbSide) -> tuple[Reason, ...]:
    """Return every reason why an exercise is ruled out on one side; none = it may be done there."""
    return tuple(_vetoes(candidate, restrictions, side))


def open_sides(candidate: Candidate, restrictions: Restrictions) -> tuple[LimbSide, ...]:
    """Return the sides on which an exercise may be done; a lift that moves both limbs needs both."""
    free = tuple(side for side in SIDES if not vetoes(candidate, restrictions, side))
    if candidate.limbs != "one_sided" and len(free) < len(SIDES):
        return ()
    return free
