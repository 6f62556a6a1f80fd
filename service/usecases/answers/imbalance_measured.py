"""What a tape and a goniometer say of the gap between the sides, place by place and test by test."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.core.errors import TooFewObservations
from service.core.symmetry.following import join_visits
from service.core.symmetry.girths import (
    LIMBS,
    SIZE_WALK,
    GirthReading,
    GirthVisit,
    Limb,
    MeasuredPart,
    learn_error,
    readings_of_visits,
)
from service.core.symmetry.joint_motion import MOTION_WALK, MotionVisit, motion_readings
from service.core.symmetry.posterior import SideReading
from service.core.units import Centimetres, LogRatio, length_to_cm
from service.usecases.answers.imbalance_sides import measured_part
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.weeks import calendar_of
from service.usecases.records.log import Girth, JointMotion


@dataclass(frozen=True, slots=True)
class MeasuredGap:
    """The visits to one place or of one test, as readings; ``place`` is what was told, ``corrected`` without skinfold."""

    place: str
    visits: tuple[SideReading, ...]
    walk: LogRatio
    corrected: bool = False
    technical_error: LogRatio | None = None

    def now(self, day: float) -> SideReading:
        """Return what all visits say of a day."""
        return join_visits(self.visits, day, self.walk)


@dataclass(frozen=True, slots=True)
class Measured:
    """Every place and test whose sides can be compared, and those that cannot."""

    girths: tuple[MeasuredGap, ...]
    motions: tuple[MeasuredGap, ...]
    unusable_sites: tuple[str, ...]
    unusable_tests: tuple[str, ...]


def measured_gaps(situation: Situation, prior_sd: dict[str, LogRatio]) -> Measured:
    """Return what was measured in the window; ``prior_sd`` is the spread of t before any reading, by site."""
    sites = girth_visits(situation)
    parts: dict[str, MeasuredPart] = {site: measured_part(site) for site in sites}
    errors = learn_error(sites, parts)
    girths: list[MeasuredGap] = []
    for site, visits in sorted(sites.items()):
        for corrected in (False, True):
            found = readings_of_visits(visits, errors[site], corrected=corrected, prior_sd=prior_sd[site])
            if found:
                girths.append(MeasuredGap(site, found, SIZE_WALK, corrected, errors[site].share))
    motions, silent = _motions(situation)
    known = {gap.place for gap in girths}
    return Measured(tuple(girths), motions, tuple(s for s in sorted(sites) if s not in known), silent)


def girth_sites(situation: Situation) -> list[str]:
    """Return the places of the tape in the window."""
    return sorted({one.record.site for one in situation.measurements if isinstance(one.record, Girth)})


def _by_day(situation: Situation, kind: type[Any], name: str) -> dict[str, dict[date, list[Any]]]:
    """Return measurements of a kind with a side, by place or test and local day, in the order of measuring."""
    calendar = calendar_of(situation.athlete)
    found: dict[str, dict[date, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for stored in sorted(situation.measurements, key=lambda one: one.record.at):
        record = stored.record
        if isinstance(record, kind) and getattr(record, "side", "both") != "both":
            found[getattr(record, name)][calendar.day_of(record.at)].append(record)
    return found


def girth_visits(situation: Situation) -> dict[str, list[GirthVisit]]:
    """Return the visits to each place whose sides were measured, oldest first."""
    return {
        site: [_girth_visit(site, girths) for _, girths in sorted(days.items())]
        for site, days in _by_day(situation, Girth, "site").items()
    }


def _girth_visit(site: str, girths: Sequence[Girth]) -> GirthVisit:
    readings = tuple(
        GirthReading(site, girth.side, length_to_cm(value, girth.unit))
        for girth in girths if girth.side != "both" for value in girth.readings
    )  # fmt: skip
    folds: dict[Limb, Centimetres] = {
        girth.side: length_to_cm(girth.skinfold.value, girth.skinfold.unit)
        for girth in girths
        if girth.side != "both" and girth.skinfold is not None
    }
    return GirthVisit(max(day_of(girth.at) for girth in girths), readings, folds)


def _motions(situation: Situation) -> tuple[tuple[MeasuredGap, ...], tuple[str, ...]]:
    gaps: list[MeasuredGap] = []
    silent: list[str] = []
    for test, days in sorted(_by_day(situation, JointMotion, "test").items()):
        try:
            found = motion_readings(test, [_motion_visit(told) for _, told in sorted(days.items())])
        except TooFewObservations:
            silent.append(test)
        else:
            gaps.append(MeasuredGap(test, found, MOTION_WALK))
    return tuple(gaps), tuple(silent)


def _motion_visit(told: Sequence[JointMotion]) -> MotionVisit:
    by_side: dict[Limb, tuple[float, ...]] = {
        limb: tuple(value for one in told if one.side == limb for value in one.readings_deg) for limb in LIMBS
    }
    return MotionVisit(max(day_of(one.at) for one in told), by_side)
