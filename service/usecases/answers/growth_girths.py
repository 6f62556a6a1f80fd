"""The tape's places of a log, as witnesses of how the muscles under them grew."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.catalogue.girth_sites import GirthSite, girth_site
from service.core.symmetry.girths import (
    GirthReading,
    GirthVisit,
    TechnicalError,
    learn_error,
    levels_of_visits,
)
from service.core.units import Days, length_to_cm
from service.core.volume.girths import GirthReading as GrowthReading
from service.core.volume.girths import TapeVisits, UnderTape, growth_from_girths
from service.core.volume.response import SlopePrior
from service.core.volume.weekly_dose import DoseSide
from service.usecases.answers.imbalance_measured import girth_visits
from service.usecases.answers.imbalance_sides import measured_part
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.weeks import calendar_of
from service.usecases.records.log import Girth

Array = NDArray[np.float64]
#: A body mass this far from a visit still is that day's (judgement). [d]
SAME_MASS: Final[Days] = 14.0
#: Root sets and sets of a muscle on a side over the stretches between some days.
DosesBetween = Callable[[str, Sequence[Days], DoseSide], tuple[Array, Array]]


@dataclass(frozen=True, slots=True)
class MeasuredPlace:
    """A place of the log, what lies under it, and its visits; ``told`` is its name in the log, ``side`` the side that the tape
    went round, whose sets it answers to."""

    told: str
    site: GirthSite
    visits: TapeVisits
    side: DoseSide = "both"

    def reading(
        self, muscle: str, doses: DosesBetween, believed: SlopePrior, population: SlopePrior
    ) -> GrowthReading:
        """Return what the place says of one muscle under it."""
        under = {
            name: UnderTape(part.share, *doses(name, self.visits.days, self.side))
            for name, part in self.site.muscles.items()
        }
        own = under.pop(muscle)
        others = list(under.values())
        return growth_from_girths(
            self.visits, own, others, self.site.muscle_share, self.site.doubt, believed, population
        )


def measured_places(situation: Situation, since: Days) -> tuple[MeasuredPlace, ...]:
    """Return the places with known muscles under them, by name, from the visits since a day. [d]"""
    found_visits, whole = _visits(situation)
    visits = {site: told for site, told in found_visits.items() if girth_site(site) is not None}
    errors = learn_error(visits, {site: measured_part(site) for site in visits})
    found = []
    for told, site in ((told, girth_site(told)) for told in sorted(visits)):
        recent = [visit for visit in visits[told] if visit.day >= since]
        if site is not None and recent:
            tape, side = _tape_visits(situation, recent, errors[told])
            found.append(MeasuredPlace(told, site, tape, "both" if told in whole else side))
    return tuple(found)


def place_of(muscle: str, places: Sequence[MeasuredPlace]) -> MeasuredPlace | None:
    """Return the one place that tells most of a muscle, None where none lies over it.

    One only: two places over a muscle lie over the same neighbours, and what these did would count twice.
    """
    over = [place for place in places if muscle in place.site.muscles]
    rank = [
        (place.visits.spans_enough, place.site.muscles[muscle].share, len(place.visits.days))
        for place in over
    ]
    return over[max(range(len(over)), key=lambda at: rank[at])] if over else None


def _visits(situation: Situation) -> tuple[dict[str, list[GirthVisit]], frozenset[str]]:
    """Return visits by place, and the places where one tape went round both sides: there it stands as the left one."""
    found = girth_visits(situation)
    calendar = calendar_of(situation.athlete)
    round_both: dict[str, dict[object, list[Girth]]] = {}
    for stored in sorted(situation.measurements, key=lambda one: one.record.at):
        girth = stored.record
        if isinstance(girth, Girth) and girth.side == "both" and girth.site not in found:
            round_both.setdefault(girth.site, {}).setdefault(calendar.day_of(girth.at), []).append(girth)
    for site, days in round_both.items():
        found[site] = [
            _whole_visit(girths) for _, girths in sorted(days.items(), key=lambda one: str(one[0]))
        ]
    return found, frozenset(round_both)


def _whole_visit(girths: Sequence[Girth]) -> GirthVisit:
    readings = tuple(
        GirthReading(girth.site, "left", length_to_cm(value, girth.unit))
        for girth in girths
        for value in girth.readings
    )
    folds = [girth.skinfold for girth in girths if girth.skinfold is not None]
    fold = {"left": length_to_cm(folds[-1].value, folds[-1].unit)} if folds else {}
    return GirthVisit(max(day_of(girth.at) for girth in girths), readings, fold)  # type: ignore[arg-type]


def _tape_visits(
    situation: Situation, visits: Sequence[GirthVisit], error: TechnicalError
) -> tuple[TapeVisits, DoseSide]:
    """Return the visits without skin and fat where these were measured for long enough, else as they were; and their side."""
    lean, plain = (_levels(situation, visits, error, corrected) for corrected in (True, False))
    return lean if lean[0].spans_enough else plain


def _levels(
    situation: Situation, visits: Sequence[GirthVisit], error: TechnicalError, corrected: bool
) -> tuple[TapeVisits, DoseSide]:
    levels = levels_of_visits(visits, error, corrected=corrected)
    tape = TapeVisits(
        tuple(one.day for one in levels),
        tuple(one.ln_girth for one in levels),
        tuple(one.variance for one in levels),
        tuple(_ln_mass(situation, one.day) for one in levels),
        corrected,
    )
    return tape, levels[0].side if levels else "both"


def _ln_mass(situation: Situation, day: Days) -> float | None:
    near = [
        (abs(told - day), mass)
        for told, mass in situation.body_mass.told
        if mass > 0.0 and abs(told - day) <= SAME_MASS
    ]
    return float(np.log(min(near)[1])) if near else None
