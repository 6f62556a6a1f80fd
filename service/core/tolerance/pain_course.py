"""Pain from one session to the next: when it holds a movement, ends it, and lets it begin again."""

from collections.abc import Sequence
from dataclasses import replace

from service.core.errors import TooFewObservations
from service.core.estimates import Caution, Reason
from service.core.tolerance.pain import (
    LOAD_LEFT_AT_5,
    MORNING_OPEN_DAYS,
    NUMBER_MISSING,
    NUMBER_MISSING_HOLDS,
    SAME_LOAD,
    SETS_IN_MIDDLE_ZONE,
    WORSE_BY,
    PainDecision,
    PainReport,
    decide_report,
    in_go,
    lacks_number,
    worst_of,
)
from service.core.units import Days, Kilograms

#: Load to begin again with after pain that ended or swapped the movement: no more than the middle zone leaves of the load
#: at which it hurt (judgement).
LOAD_LEFT_TO_RESTART = LOAD_LEFT_AT_5
#: The reason that says so.
RESTART = "tolerance.pain_restart"
#: Pain must not rise from week to week: worst of the last so many days against those before [Silbernagel2007]_ (from
#: memory); the rise that counts is ``WORSE_BY``.
WEEK_DAYS: Days = 7.0
#: What takes the movement out altogether.
_ENDED = frozenset({"stop_movement", "swap"})


def decide_pain(
    reports: Sequence[PainReport], last_load_kg: Kilograms | None = None, silent_sessions: int = 0
) -> PainDecision:
    """Return what to do with a movement from its pain reports, oldest first, its last load [kg] and the sessions since the
    newest report in which nobody told of pain.

    Above 5 the movement ends now; two worse mornings in a row swap it; one takes load or sets off; the middle
    zone takes load off, or sets where no less load is there, and keeps out of a painful arc; a missing morning is
    unknown and allows no increase, nor does a morning above the first zone, nor pain that rose from one week to the
    next; a morning above 5 swaps. Load comes off the load at which it hurt, once: a last load that is low enough
    already is held.

    A movement that ended or was swapped stays out until pain of the first zone is told apart from its sessions, and begins
    again with less; a session that tells of pain counts as any other. What was held with no pain beyond the first zone
    is held no longer after a session in which nobody told of any; whatever asks for more care outlives silence. Pain named
    without a number is unknown: it counts as the middle zone at least, and what stood before it stands.

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
    decision = _decide_told(reports, last_load_kg, silent_sessions)
    if len(reports) < 2 or not lacks_number(reports[-1]):
        return decision
    stood = decide_pain(reports[:-1], last_load_kg)
    says_so = any(reason.code in NUMBER_MISSING for reason in decision.reasons)
    if says_so and _care(decision, last_load_kg) <= _care(stood, last_load_kg):
        return decision
    return replace(stood, reasons=(*stood.reasons, Reason(NUMBER_MISSING_HOLDS)))


def _care(decision: PainDecision, last_load_kg: Kilograms | None) -> tuple[bool, float, float]:
    """Return what sorts decisions: an end before all others, then what leaves the least load."""
    heaviest = decision.heaviest_kg(last_load_kg)
    left = float("inf") if heaviest is None else heaviest
    return decision.action not in _ENDED, left, decision.load_factor


def _decide_told(
    reports: Sequence[PainReport], last_load_kg: Kilograms | None, silent_sessions: int
) -> PainDecision:
    """Return what the newest report asks for after those before it, before what a missing number leaves standing."""
    latest = reports[-1]
    decision = decide_report(reports)
    if decision.action in _ENDED:
        return decision
    ended = ended_at(reports)
    if ended is not None:
        if not in_go(latest) or _too_soon(reports[ended], latest):
            return decide_report(reports[: ended + 1])
        return _lightened(_restarted(decision, reports[ended]), last_load_kg)
    decision = _lightened(decision, last_load_kg)
    if (rise := _rise_over_a_week(reports)) >= WORSE_BY:
        decision = _held(decision, rise)
    if decision.action == "hold" and in_go(latest) and silent_sessions > 0:
        return _released(decision, latest, silent_sessions)
    return decision


def ended_at(reports: Sequence[PainReport]) -> int | None:
    """Return which report ended or swapped a movement that only pain told apart from its sessions speaks of since; None
    where none did, or the newest did itself."""
    if decide_report(reports).action in _ENDED:
        return None
    for index in range(len(reports) - 1, 0, -1):
        # A session whose pain has no number lets nothing begin again.
        if not reports[index].told_apart and not lacks_number(reports[index]):
            return None
        if decide_report(reports[:index]).action in _ENDED:
            return index - 1
    return None


def _too_soon(ended: PainReport, latest: PainReport) -> bool:
    if ended.day is None or latest.day is None:
        return False
    return latest.day - ended.day < MORNING_OPEN_DAYS


def _restarted(decision: PainDecision, ended: PainReport) -> PainDecision:
    """Begin a movement that had ended again, with less load than it hurt at."""
    others = (reason for reason in decision.reasons if reason.code != "tolerance.pain_go")
    off = {"load_percent": 100.0 * (1.0 - LOAD_LEFT_TO_RESTART)}
    return replace(
        decision,
        action="reduce",
        load_factor=min(decision.load_factor, LOAD_LEFT_TO_RESTART),
        instead_set_factor=SETS_IN_MIDDLE_ZONE,
        increase_allowed=False,
        reasons=(Reason(RESTART, off), *others),
        cautions=(Caution("watch_next_morning"), Caution("guidance_not_diagnosis")),
        hurt_at_kg=ended.load_kg,
    )


def _released(decision: PainDecision, latest: PainReport, sessions: int) -> PainDecision:
    """Hold nothing any longer once little pain or none was followed by sessions of which nobody told any."""
    told = [pain for pain in (worst_of(latest), latest.next_morning) if pain is not None]
    params = {"pain": max(told), "sessions": sessions}
    return replace(
        decision,
        action="continue",
        load_factor=1.0,
        increase_allowed=True,
        reasons=(Reason("tolerance.pain_go_and_silence", params),),
        hurt_at_kg=None,
    )


def _rise_over_a_week(reports: Sequence[PainReport]) -> float:
    """Return by how much the last week's worst is above that of the week before, 0 where one is not told.

    Sessions are held against sessions, mornings against mornings.
    """
    latest = reports[-1].day
    ages = [(latest - one.day, one) for one in reports if latest is not None and one.day is not None]
    rises = [0.0]
    for told in (worst_of, _morning):
        this_week = [pain for age, one in ages if age < WEEK_DAYS and (pain := told(one)) is not None]
        week_before = [
            pain
            for age, one in ages
            if WEEK_DAYS <= age < 2.0 * WEEK_DAYS and (pain := told(one)) is not None
        ]
        if this_week and week_before:
            rises.append(max(this_week) - max(week_before))
    return max(rises)


def _morning(report: PainReport) -> float | None:
    return report.next_morning


def _held(decision: PainDecision, rise: float) -> PainDecision:
    """Allow no increase while pain rises from week to week."""
    others = tuple(reason for reason in decision.reasons if reason.code != "tolerance.pain_go")
    return replace(
        decision,
        action="hold" if decision.action == "continue" else decision.action,
        increase_allowed=False,
        reasons=(*others, Reason("tolerance.pain_rises_by_week", {"rise": rise})),
    )


def _lightened(decision: PainDecision, last_load_kg: Kilograms | None) -> PainDecision:
    """Hold what is as light already as a reduction asks for: the load that hurt comes down once, not again and again."""
    hurt_at = decision.hurt_at_kg
    if decision.action != "reduce" or hurt_at is None or last_load_kg is None:
        return decision
    if last_load_kg > decision.load_factor * hurt_at * (1.0 + SAME_LOAD):
        return decision
    return replace(
        decision,
        action="hold",
        instead_set_factor=None,
        reasons=(*decision.reasons, Reason("tolerance.pain_load_is_off")),
    )
