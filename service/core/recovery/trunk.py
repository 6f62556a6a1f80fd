"""The trunk as a channel of its own: what axial load and bending moment ask of it, and when it ends a set first.

A lift's target muscle may be fresh and the trunk not: then the trunk ends the set before the muscle has had its dose.
Ordinals of the catalogue, judgement, stand behind every number here.
"""

from dataclasses import dataclass

from service.core.estimates import Reason
from service.core.units import Share

#: Top of the catalogue's ordinals for axial load and trunk moment.
MOST = 3
#: Ordinal from which a lift counts as one that the trunk may end. (judgement)
TRUNK_LIFT_FROM = 2
#: How much the trunk's fatigue weighs beside the muscles' in what limits such a lift, at the top ordinal. (judgement)
TRUNK_WEIGHT: Share = 0.5
#: Share of sets told to have been ended by the trunk from which it is named as what limits. (judgement)
LIMITING_SHARE: Share = 0.2
#: The trunk is called later ready only where its chance is less by so much: less is no difference. [1] (judgement)
READY_MARGIN: Share = 0.05


@dataclass(frozen=True, slots=True)
class TrunkToll:
    """Sets of recent lifts that load the trunk, those told to be ended by it, and whether it is the later one ready."""

    sets: int
    ended_by_trunk: int
    p_ready_trunk: Share
    p_ready_target: Share


def trunk_share(axial_load: int, trunk_moment: int) -> Share:
    """Return the share of a hard set that the trunk receives: the greater of the two ordinals over their top. [1]"""
    return max(axial_load, trunk_moment) / MOST


def loads_trunk(axial_load: int, trunk_moment: int) -> bool:
    """Whether the trunk may end a set of this lift."""
    return max(axial_load, trunk_moment) >= TRUNK_LIFT_FROM


def trunk_limits(toll: TrunkToll) -> tuple[Reason, ...]:
    """Return why the trunk and not the target muscle may end the next sets; none where it does not.

    References
    ----------
    Judgement.
    """
    found: list[Reason] = []
    if toll.sets and toll.ended_by_trunk / toll.sets >= LIMITING_SHARE:
        params = {"ended": toll.ended_by_trunk, "sets": toll.sets}
        found.append(Reason("recovery.trunk_ended_sets", params))
    if toll.sets and toll.p_ready_trunk <= toll.p_ready_target - READY_MARGIN:
        percents = {"trunk": 100.0 * toll.p_ready_trunk, "target": 100.0 * toll.p_ready_target}
        found.append(Reason("recovery.trunk_ready_later", percents))
    return tuple(found)
