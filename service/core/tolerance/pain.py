"""Pain during, after and the next morning: carry on, reduce and watch, stop the movement, or swap it.

The zones follow the published pain-monitoring model [Thomee1997]_ [Silbernagel2007]_ as remembered; versions
differ on the first cut (2 or 3), and above 2 counts as the middle zone here. They come from tendon and knee
work. Nothing here says what causes a pain.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.estimates import Caution, Reason
from service.core.units import Days, Degrees, Share

PainZone = Literal["go", "reduce_and_watch", "stop"]
PainAction = Literal["continue", "hold", "reduce", "stop_movement", "swap"]
PainPhase = Literal["lifting", "lowering", "holding", "all"]

#: Upper ends of the first two zones, 0-10. [Silbernagel2007]_ (from memory; some versions end the first at 3)
GO_UP_TO = 2.0
WATCH_UP_TO = 5.0
#: Rise by the next morning that counts as worse, 0-10: two points are a clear change, one the least that
#: people notice, and one counts where the morning has left the first zone [Salaffi2004]_ (use: judgement).
WORSE_BY = 2.0
WORSE_BY_OUTSIDE_GO = 1.0
#: Load left in the middle zone, at 3 and at 5: judgement.
LOAD_LEFT_AT_3 = 0.80
LOAD_LEFT_AT_5 = 0.70
#: After one worse morning either a tenth to a fifth of the load goes, or a third of the sets: common
#: practice, no source.
LOAD_AFTER_WORSE_MORNING = 0.85
SETS_AFTER_WORSE_MORNING = 2.0 / 3.0
#: Worse mornings in a row after which the movement is swapped: common practice, no source.
WORSE_MORNINGS_TO_SWAP = 2
#: Pain must not rise from week to week: worst of the last so many days against those before [Silbernagel2007]_ (from
#: memory); the rise that counts is ``WORSE_BY``.
WEEK_DAYS: Days = 7.0
#: Distance kept from a painful arc, and the shortest range that is still worth training: judgement.
ARC_MARGIN_DEG = 10.0
SHORTEST_RANGE_DEG = 30.0


@dataclass(frozen=True, slots=True)
class PainReport:
    """Pain of one movement around one session, 0-10; None where nobody said.

    ``before`` is the pain of the morning before the session; ``worse_next_morning`` the athlete's own word,
    which beats the arithmetic. The arc is in degrees of the movement's main joint, ``phase`` the part of the repetition
    that hurts, ``day`` when the session was [d].
    """

    during: float | None = None
    after: float | None = None
    next_morning: float | None = None
    before: float | None = None
    worse_next_morning: bool | None = None
    painful_from_deg: Degrees | None = None
    painful_to_deg: Degrees | None = None
    phase: PainPhase | None = None
    day: Days | None = None


@dataclass(frozen=True, slots=True)
class PainDecision:
    """What to do with the movement next.

    ``load_factor`` and ``set_factor`` multiply the last load and sets (0 = none); ``instead_set_factor`` serves
    where the load cannot be lowered; ``range_end_deg`` is the angle to turn back at, None for the usual range.
    """

    zone: PainZone
    action: PainAction
    load_factor: Share
    set_factor: Share
    instead_set_factor: Share | None
    increase_allowed: bool
    range_end_deg: Degrees | None
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]


def zone_of(pain: float) -> PainZone:
    """Return the zone of a pain of 0-10.

    Raises
    ------
    OutsideValidity
        If the pain is outside 0 to 10.
    """
    if not 0.0 <= pain <= 10.0:
        raise OutsideValidity(pain=pain)
    if pain <= GO_UP_TO:
        return "go"
    return "reduce_and_watch" if pain <= WATCH_UP_TO else "stop"


def morning_got_worse(report: PainReport) -> bool | None:
    """Return whether the next morning was worse than the morning before; None where it is not known."""
    if report.worse_next_morning is not None:
        return report.worse_next_morning
    if report.next_morning is None:
        return None
    zone_of(report.next_morning)
    rise = report.next_morning - (report.before or 0.0)
    outside = report.next_morning > GO_UP_TO and rise >= WORSE_BY_OUTSIDE_GO
    return rise >= WORSE_BY or outside


def _worst(report: PainReport) -> float:
    """Return the pain of the session; during and after count alike, and what nobody said counts nothing."""
    pains = [p for p in (report.during, report.after) if p is not None]
    for pain in pains:
        zone_of(pain)
    return max(pains, default=0.0)


def _worse_in_a_row(reports: Sequence[PainReport]) -> int:
    count = 0
    for report in reversed(reports):
        if not morning_got_worse(report):
            break
        count += 1
    return count


def _range_end(report: PainReport) -> tuple[Degrees | None, bool]:
    """Return where to turn back before a painful arc, and whether a trainable range is left below it."""
    if report.painful_from_deg is None:
        return None, True
    end = report.painful_from_deg - ARC_MARGIN_DEG
    return (end, True) if end >= SHORTEST_RANGE_DEG else (None, False)


def _load_left(pain: float) -> Share:
    share = min(1.0, max(0.0, (pain - 3.0) / 2.0))
    return LOAD_LEFT_AT_3 + share * (LOAD_LEFT_AT_5 - LOAD_LEFT_AT_3)


def decide_pain(reports: Sequence[PainReport]) -> PainDecision:
    """Return what to do with a movement from its pain reports, oldest first.

    Above 5 the movement ends now; two worse mornings in a row swap it; one takes load or sets off; the middle
    zone takes load off and turns back before a painful arc; a missing morning is unknown and allows no
    increase, nor does pain that rose from one week to the next; a morning above 5 swaps.

    Raises
    ------
    TooFewObservations
        If there is no report.
    OutsideValidity
        If a pain is outside 0 to 10.

    References
    ----------
    [Silbernagel2007]_ and [Thomee1997]_ (from memory); load and set factors are judgement.
    """
    if not reports:
        raise TooFewObservations(reports=0)
    latest = reports[-1]
    pain, zone, worse = _worst(latest), zone_of(_worst(latest)), _worse_in_a_row(reports)
    range_end, range_left = _range_end(latest)
    if zone == "stop":
        return _ended(zone, Reason("tolerance.pain_above_five", {"pain": pain}))
    if latest.next_morning is not None and zone_of(latest.next_morning) == "stop":
        return _swapped(zone, Reason("tolerance.pain_morning_above_five", {"pain": latest.next_morning}))
    if worse >= WORSE_MORNINGS_TO_SWAP:
        return _swapped(zone, Reason("tolerance.pain_worse_two_mornings", {"mornings": worse}))
    if zone == "reduce_and_watch" and not range_left:
        return _swapped(zone, Reason("tolerance.pain_no_free_range", {"from_deg": latest.painful_from_deg}))
    decision = _adjusted(latest, zone, pain, worse, range_end)
    return _held(decision, rise) if (rise := _rise_over_a_week(reports)) >= WORSE_BY else decision


def _rise_over_a_week(reports: Sequence[PainReport]) -> float:
    """Return by how much the worst pain of the last week is above that of the week before, 0 where one is not told."""
    latest = reports[-1].day
    ages = [(latest - one.day, _worst(one)) for one in reports if latest is not None and one.day is not None]
    this_week = [pain for age, pain in ages if age < WEEK_DAYS]
    week_before = [pain for age, pain in ages if WEEK_DAYS <= age < 2.0 * WEEK_DAYS]
    return max(this_week) - max(week_before) if this_week and week_before else 0.0


def _held(decision: PainDecision, rise: float) -> PainDecision:
    """Allow no increase while pain rises from week to week."""
    others = tuple(reason for reason in decision.reasons if reason.code != "tolerance.pain_go")
    return replace(
        decision,
        action="hold" if decision.action == "continue" else decision.action,
        increase_allowed=False,
        reasons=(*others, Reason("tolerance.pain_rises_by_week", {"rise": rise})),
    )


def _ended(zone: PainZone, reason: Reason) -> PainDecision:
    cautions = (Caution("pain_stop", "soon"), Caution("guidance_not_diagnosis"))
    return PainDecision(zone, "stop_movement", 0.0, 0.0, None, False, None, (reason,), cautions)


def _swapped(zone: PainZone, reason: Reason) -> PainDecision:
    cautions = (Caution("pain_see_someone_if_it_stays", "soon"), Caution("guidance_not_diagnosis"))
    return PainDecision(zone, "swap", 0.0, 0.0, None, False, None, (reason,), cautions)


def _adjusted(
    latest: PainReport, zone: PainZone, pain: float, worse: int, range_end: Degrees | None
) -> PainDecision:
    reasons: list[Reason] = []
    load = 1.0
    instead: Share | None = None
    if zone == "reduce_and_watch":
        load = _load_left(pain)
        reasons.append(
            Reason("tolerance.pain_middle_zone", {"pain": pain, "load_percent": 100.0 * (1.0 - load)})
        )
    if worse == 1:
        # Either load or sets, not both: what the middle zone already took off in load counts.
        load, instead = min(load, LOAD_AFTER_WORSE_MORNING), SETS_AFTER_WORSE_MORNING
        params = {"load_percent": 100.0 * (1.0 - LOAD_AFTER_WORSE_MORNING)}
        reasons.append(Reason("tolerance.pain_worse_one_morning", params))
    if range_end is not None:
        reasons.append(Reason("tolerance.pain_range_ends_before_arc", {"end_deg": range_end}))
    if latest.phase not in {None, "all"} and zone == "reduce_and_watch":
        reasons.append(Reason("tolerance.pain_in_phase", {"phase": latest.phase}))
    action: PainAction = "continue" if load >= 1.0 else "reduce"
    unknown = morning_got_worse(latest) is None
    if action == "continue" and unknown:
        action = "hold"
        reasons.append(Reason("tolerance.pain_morning_unknown"))
    if not reasons:
        reasons.append(Reason("tolerance.pain_go", {"pain": pain}))
    cautions = (Caution("watch_next_morning"),) if action == "reduce" else ()
    allowed = action == "continue"
    return PainDecision(
        zone,
        action,
        load,
        1.0,
        instead,
        allowed,
        range_end,
        tuple(reasons),
        (*cautions, Caution("guidance_not_diagnosis")),
    )
