"""How a tape's readings of one place become readings of t: the log ratio of the two sides' cross-sections.

Places are never mixed, nor girths corrected for skinfolds with plain ones; sides are best measured in turn.
The error of a reading is learned from the athlete's own repeats, and a slip of the pen is left out and told.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import exp, fsum, log, pi, sqrt
from statistics import median
from types import MappingProxyType
from typing import Literal

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.estimates import Reason
from service.core.symmetry.posterior import PRIOR_SD, SideReading
from service.core.units import Centimetres, Days, LogRatio, Share

Limb = Literal["left", "right"]
LIMBS: tuple[Limb, Limb] = ("left", "right")
#: Parts of a limb whose error of a reading was published.
MeasuredPart = Literal["arm", "thigh", "calf", "other"]

#: Error of one girth reading as a share of the girth, within one occasion: arm and thigh from the triplicates
#: of an open trial [SportRxivTape2026]_, the calf from limits of +-0.5 cm on the difference of two readings
#: [Jamaiyah2008]_, elsewhere what is asked of a skilled hand [Norton1996]_ (from memory).
GIRTH_ERRORS: Mapping[MeasuredPart, Share] = MappingProxyType(
    {"arm": 0.0125, "thigh": 0.0078, "calf": 0.0053, "other": 0.010}
)
#: Error of one skinfold reading as a share of the fold. [SportRxivTape2026]_
SKINFOLD_ERROR: Share = 0.048
#: Repeats of one's own that the published error weighs as much as, at a place and for the person. (judgement)
ERROR_WEIGHT = 4.0
#: The gap in size wanders by so much of the log area ratio per root week. (judgement)
SIZE_WALK: LogRatio = 0.003
#: A reading further than this from the middle of all readings of its place is a slip of the pen, such as a
#: decimal point: no limb differs from its fellow, or from itself in half a year, by a third. (judgement) [ln]
SLIP: LogRatio = log(1.35)
#: Repeats of one side further from their middle than so many errors are left out; so are lone readings that
#: put the sides further apart than so many standard deviations of what is possible. (judgement)
MOST_ERRORS = 4.0
MOST_APART = 5.0


@dataclass(frozen=True, slots=True)
class GirthReading:
    """One tape reading of one side, in the order of measuring."""

    site: str
    side: Limb
    girth_cm: Centimetres


@dataclass(frozen=True, slots=True)
class GirthVisit:
    """The readings of one place on one day, and the skinfold there by side where it was taken. [cm]"""

    day: Days
    readings: tuple[GirthReading, ...]
    skinfolds_cm: Mapping[Limb, Centimetres] = field(default_factory=dict)

    @property
    def interleaved(self) -> bool:
        """Whether the sides were measured in turn; two readings always are."""
        switches = sum(a.side != b.side for a, b in pairwise(self.readings))
        return len(self.readings) < 3 or switches > 1


@dataclass(frozen=True, slots=True)
class TechnicalError:
    """Error of one reading as a share of the girth, and the repeats that it was learned from."""

    share: Share
    repeats: int


@dataclass(frozen=True, slots=True)
class _Sifted:
    """A visit's log girths by side without slips, and what was left out."""

    day: Days
    logs: Mapping[Limb, tuple[float, ...]]
    reasons: tuple[Reason, ...]
    visit: GirthVisit


def corrected_girth(girth_cm: Centimetres, skinfold_cm: Centimetres) -> Centimetres:
    """Return the girth without skin and fat, girth - pi skinfold, both in one unit [Martin1990]_. [cm]

    Raises
    ------
    OutsideValidity
        If nothing is left.
    """
    corrected = girth_cm - pi * skinfold_cm
    if not corrected > 0.0:
        raise OutsideValidity(girth_cm=girth_cm, skinfold_cm=skinfold_cm)
    return corrected


def within_sd(repeats: Iterable[Sequence[float]]) -> tuple[float, int]:
    """Return the sd of repeats about their own means, and its degrees of freedom.

    For duplicates it is the technical error of measurement, sqrt(sum d^2 / 2n) [Perini2005]_ (from memory).
    """
    squares: list[float] = []
    freedom = 0
    for values in repeats:
        centre = fsum(values) / len(values)
        squares += [(x - centre) ** 2 for x in values]
        freedom += len(values) - 1
    # An exact sum, so that the order of the sides does not matter to the last bit.
    return (sqrt(fsum(squares) / freedom) if freedom else 0.0), freedom


def learn_error(
    visits_by_site: Mapping[str, Sequence[GirthVisit]], parts: Mapping[str, MeasuredPart]
) -> dict[str, TechnicalError]:
    """Return the error of one reading at each site: the published one, moved by the athlete's own repeats.

    Pooled twice by degrees of freedom: over all sites for the hand that measures, then at the site itself.
    """
    own = {site: within_sd(_repeats(visits, parts[site])) for site, visits in visits_by_site.items()}
    ratios = {site: (sd / GIRTH_ERRORS[parts[site]]) ** 2 for site, (sd, _) in own.items()}
    errors = {}
    for site, (sd, freedom) in own.items():
        others = [name for name in own if name != site]
        weight = ERROR_WEIGHT + sum(own[name][1] for name in others)
        hand = (ERROR_WEIGHT + sum(ratios[name] * own[name][1] for name in others)) / weight
        published = GIRTH_ERRORS[parts[site]] ** 2
        variance = (ERROR_WEIGHT * hand * published + freedom * sd**2) / (ERROR_WEIGHT + freedom)
        errors[site] = TechnicalError(sqrt(variance), freedom)
    return errors


def _repeats(visits: Sequence[GirthVisit], part: MeasuredPart) -> list[tuple[float, ...]]:
    return [logs for one in _sift(visits, GIRTH_ERRORS[part]) for logs in one.logs.values() if logs]


def _sift(visits: Sequence[GirthVisit], error: Share) -> list[_Sifted]:
    """Leave out what cannot be a girth of this limb, and say so."""
    sites = {reading.site for visit in visits for reading in visit.readings}
    if len(sites) > 1:
        raise MixedInputs(sites=sorted(sites))
    every = [log(reading.girth_cm) for visit in visits for reading in visit.readings]
    middle = median(every) if every else 0.0
    return [_sift_visit(visit, middle, error) for visit in visits]


def _sift_visit(visit: GirthVisit, middle: float, error: Share) -> _Sifted:
    kept: dict[Limb, tuple[float, ...]] = {}
    out: list[float] = []
    for limb in LIMBS:
        told = [log(reading.girth_cm) for reading in visit.readings if reading.side == limb]
        near = [x for x in told if abs(x - middle) <= SLIP]
        kept[limb] = tuple(x for x in near if len(near) < 3 or abs(x - median(near)) <= MOST_ERRORS * error)
        out += [x for x in told if x not in kept[limb]]
    reasons = [Reason("sides.girth_slip", {"count": len(out)})] if out else []
    if not visit.interleaved:
        reasons.append(Reason("sides.girths_not_interleaved"))
    return _Sifted(visit.day, kept, tuple(reasons), visit)


def readings_of_visits(
    visits: Sequence[GirthVisit],
    error: TechnicalError,
    *,
    corrected: bool = False,
    prior_sd: LogRatio = PRIOR_SD,
) -> tuple[SideReading, ...]:
    """Return one reading of t_area = 2 ln(girth right / girth left) for each visit that measured both sides.

    Parameters
    ----------
    visits
        Visits to one site, oldest first.
    error
        Error of one reading, from ``learn_error``.
    corrected
        Take skin and fat off, from the visits on which both sides' skinfolds were measured.
    prior_sd
        Spread of t before any reading: what lies absurdly beyond is a slip. [ln(1)]

    Raises
    ------
    MixedInputs
        If the readings come from more than one site.

    References
    ----------
    Area goes with the square of the girth; [Martin1990]_ for the correction.
    """
    told = [one for one in _sift(visits, error.share) if all(one.logs[limb] for limb in LIMBS)]
    wanted = [one for one in told if not corrected or all(_lean(one, limb) > 0.0 for limb in LIMBS)]
    found = (_reading(one, error, corrected) for one in wanted)
    return tuple(one for one in found if abs(one.t) <= _possible(one, prior_sd))


@dataclass(frozen=True, slots=True)
class GirthLevel:
    """What a visit read: the ln girth, the mean of the sides that were measured [ln(cm)], its error variance, and which
    sides these are."""

    day: Days
    ln_girth: float
    variance: float
    side: Literal["left", "right", "both"] = "both"


def levels_of_visits(
    visits: Sequence[GirthVisit], error: TechnicalError, *, corrected: bool = False
) -> tuple[GirthLevel, ...]:
    """Return the ln girth of each visit, oldest first, always of the same sides: both, or the one measured more often.

    ``corrected`` takes skin and fat off, from the visits on which the skinfold was measured.

    Raises
    ------
    MixedInputs
        If the readings come from more than one site.
    """
    sifted = _sift(visits, error.share)
    told = [(one, {limb for limb in LIMBS if one.logs[limb]}) for one in sifted]
    if corrected:
        told = [(one, {limb for limb in limbs if _lean(one, limb) > 0.0}) for one, limbs in told]
    counts = {limb: sum(limb in limbs for _, limbs in told) for limb in LIMBS}
    paired = sum(len(limbs) == len(LIMBS) for _, limbs in told)
    chosen = set(LIMBS) if paired > 1 else {max(LIMBS, key=lambda limb: counts[limb])}
    side: Literal["left", "right", "both"] = "both" if len(chosen) > 1 else min(chosen)
    levels = []
    for one, limbs in told:
        if chosen <= limbs:
            sides = [_side(one, limb, error, corrected) for limb in sorted(chosen)]
            mean = fsum(ln for ln, _ in sides) / len(sides)
            levels.append(GirthLevel(one.day, mean, fsum(v for _, v in sides) / len(sides) ** 2, side))
    return tuple(levels)


def _lean(one: _Sifted, limb: Limb) -> Centimetres:
    """Return what a fold leaves of a side's smallest girth; nothing where no fold was measured, or an impossible one."""
    fold = one.visit.skinfolds_cm.get(limb)
    return 0.0 if fold is None else exp(min(one.logs[limb])) - pi * fold


def _possible(reading: SideReading, prior_sd: LogRatio) -> LogRatio:
    return MOST_APART * sqrt(reading.variance + prior_sd**2)


def _reading(one: _Sifted, error: TechnicalError, corrected: bool) -> SideReading:
    site = one.visit.readings[0].site
    right, right_variance = _side(one, "right", error, corrected)
    left, left_variance = _side(one, "left", error, corrected)
    variance = 4.0 * (right_variance + left_variance)
    reasons = one.reasons
    if any(_disagree(logs, error.share) for logs in one.logs.values()):
        reasons = (*reasons, Reason("sides.girths_disagree"))
    key = f"{site}, corrected" if corrected else site
    return SideReading(key, "size", 2.0 * (right - left), variance, 1, one.day, True, reasons, variance)


def _disagree(logs: Sequence[float], error: Share) -> bool:
    return len(logs) == 2 and abs(logs[0] - logs[1]) > MOST_ERRORS * sqrt(2.0) * error


def _side(one: _Sifted, limb: Limb, error: TechnicalError, corrected: bool) -> tuple[float, float]:
    """Return a side's mean log girth and its error variance; two readings that disagree count as they scatter."""
    logs = one.logs[limb]
    mean = sum(logs) / len(logs)
    variance = error.share**2 / len(logs)
    if _disagree(logs, error.share):
        variance = (0.5 * (logs[0] - logs[1])) ** 2
    if not corrected:
        return mean, variance
    fold = pi * one.visit.skinfolds_cm[limb]
    girth = sum(exp(x) for x in logs) / len(logs)
    lean = corrected_girth(girth, one.visit.skinfolds_cm[limb])
    return log(lean), (girth / lean) ** 2 * variance + (SKINFOLD_ERROR * fold / lean) ** 2


def reading_from_girths(
    girths: Sequence[GirthReading], *, technical_error: Share | None = None, newest_day: Days | None = None
) -> SideReading:
    """Return the t of a limb's area from one visit's tape readings alone.

    Parameters
    ----------
    girths
        Readings of one site in the order of measuring; sides are best interleaved.
    technical_error
        Error of one reading as a share of the girth; published, and moved by the repeats, unless given. [1]

    Raises
    ------
    MixedInputs
        If the readings come from more than one site.
    TooFewObservations
        If a side has no reading that can be used.
    """
    visit = GirthVisit(newest_day or 0.0, tuple(girths))
    sites = {girth.site for girth in girths}
    if len(sites) > 1:
        raise MixedInputs(sites=sorted(sites))
    if technical_error is None and sites:
        (site,) = sites
        error = learn_error({site: [visit]}, {site: "other"})[site]
    else:
        error = TechnicalError(technical_error or GIRTH_ERRORS["other"], 0)
    found = readings_of_visits([visit], error)
    if not found:
        raise TooFewObservations(left=_count(girths, "left"), right=_count(girths, "right"))
    return found[0]


def _count(girths: Sequence[GirthReading], limb: Limb) -> int:
    return sum(girth.side == limb for girth in girths)
