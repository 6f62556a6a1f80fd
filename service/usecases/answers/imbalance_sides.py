"""Which limb is dominant, which was hurt, and what a clinician wants of it, for one part of the body."""

from dataclasses import dataclass
from typing import Final

from service.catalogue.records import BodyPart
from service.core.symmetry.closing import Surgery
from service.core.symmetry.girths import MeasuredPart
from service.core.symmetry.index_catalogue import Side
from service.core.symmetry.posterior import AFTER_INJURY, POPULATION, SidePrior
from service.core.units import Share
from service.usecases.answers.situation import Situation
from service.usecases.records.people import Screening

_LOWER: Final = frozenset(
    {"hip", "groin", "thigh", "knee", "shin", "leg", "calf", "ankle", "achilles", "foot", "toe"}
)
_UPPER: Final = frozenset({"shoulder", "arm", "elbow", "forearm", "wrist", "hand", "finger", "thumb"})


@dataclass(frozen=True, slots=True)
class Sides:
    """Which limb is the dominant one, which was hurt, and a clinician's target for that one, its share of the other."""

    dominant: Side | None
    involved: Side | None
    target: Share | None = None

    @property
    def prior(self) -> SidePrior:
        """What is believed of the gap before any set: far more is possible after an injury."""
        return POPULATION if self.involved is None else AFTER_INJURY

    @property
    def surgery(self) -> Surgery | None:
        """The hurt side with its target, None where no side was hurt."""
        return None if self.involved is None else Surgery(self.involved, self.target)


def sides_of(
    situation: Situation, part: BodyPart | None, dominant_side: Side | None, involved_side: Side | None
) -> Sides:
    """Return the sides as asked, else as the athlete's record tells them for that part of the body."""
    dominance = situation.athlete.dominance
    told = None if dominance is None else (dominance.leg if part == "lower" else dominance.hand)
    dominant: Side | None = dominant_side
    if dominant is None and part in {"upper", "lower"} and told != "mixed":
        dominant = told
    involved = involved_side or _operated_side(situation.screening, part)
    return Sides(dominant, involved, _target(situation.screening, part, involved))


def _operated_side(screening: Screening | None, part: BodyPart | None) -> Side | None:
    """Return the one side on which a procedure touched this part of the body, None where there is none or both."""
    if screening is None or part is None:
        return None
    operated = {
        procedure.side for procedure in screening.procedures if part_of_region(procedure.region) == part
    }
    if operated == {"left"}:
        return "left"
    return "right" if operated == {"right"} else None


def operated_on_both(screening: Screening | None, part: BodyPart | None) -> bool:
    """Whether procedures touched both sides of this part of the body, or a side that was not told."""
    told = [] if screening is None or part is None else screening.procedures
    sides = {procedure.side for procedure in told if part_of_region(procedure.region) == part}
    return "both" in sides or len(sides) > 1


def _target(screening: Screening | None, part: BodyPart | None, side: Side | None) -> Share | None:
    """Return what a clinician's clearance wants of an operated side; one target for every region that was operated."""
    clearance = screening.clearance if screening is not None else None
    if screening is None or clearance is None or side is None:
        return None
    regions = {_plain(one.region) for one in screening.procedures if part_of_region(one.region) == part}
    told = {
        _plain(one.region): one.percent_of_other_side / 100.0
        for one in clearance.side_targets
        if one.side == side
    }
    return min(told[region] for region in regions) if regions and regions <= told.keys() else None


def _plain(region: str) -> str:
    return region.strip().lower().replace("_", " ").replace("-", " ")


def part_of_region(region: str) -> BodyPart | None:
    """Return the part of the body that a region as people name it lies in, None where it is not known."""
    words = set(_plain(region).split())
    if words & _UPPER:
        return "upper"
    return "lower" if words & _LOWER else None


def measured_part(site: str) -> MeasuredPart:
    """Return the part of a limb that a tape's place lies on, as far as its error was published."""
    words = set(_plain(site).split())
    if "arm" in words and "forearm" not in words:
        return "arm"
    if "thigh" in words:
        return "thigh"
    return "calf" if "calf" in words else "other"


#: Groups of muscles under a tape, by the word that names the part of the limb. (anatomy)
GROUPS_UNDER_TAPE: Final = {
    "forearm": frozenset({"forearm"}),
    "arm": frozenset({"elbow flexors", "triceps"}),
    "thigh": frozenset({"quadriceps", "hamstrings", "adductors"}),
    "calf": frozenset({"calves"}),
}


def groups_under_tape(site: str) -> frozenset[str]:
    """Return the groups of muscles that a tape at this place goes round; none where the place is not known."""
    words = set(_plain(site).split())
    return next((groups for word, groups in GROUPS_UNDER_TAPE.items() if word in words), frozenset())
