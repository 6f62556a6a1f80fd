"""Pain during, after and the next morning: carry on, reduce and watch, stop the movement, or swap it.

The zones follow the published pain-monitoring model [Thomee1997]_ [Silbernagel2007]_ as remembered; versions
differ on the first cut (2 or 3), and above 2 counts as the middle zone here. They come from tendon and knee
work. Nothing here says what causes a pain.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.estimates import Caution, Reason
from service.core.units import Days, Degrees, Kilograms, Share

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
#: Sets left in the middle zone where the load cannot be lowered, as after a worse morning: judgement.
SETS_IN_MIDDLE_ZONE = 2.0 / 3.0
#: Load left where pain was named and no number told: the least that the middle zone leaves, for it may be as much (judgement).
LOAD_LEFT_WITHOUT_NUMBER = LOAD_LEFT_AT_5
#: Worse mornings in a row after which the movement is swapped: common practice, no source.
WORSE_MORNINGS_TO_SWAP = 2
#: For so long the morning after a session is still to be told; no movement that ended begins again before (judgement).
MORNING_OPEN_DAYS: Days = 1.75
#: The reasons that say that a number of pain is missing.
NUMBER_MISSING_HOLDS = "tolerance.pain_number_missing_holds"
NUMBER_MISSING = ("tolerance.pain_number_missing", NUMBER_MISSING_HOLDS)
#: Distance kept from a painful arc, and the shortest range that is still worth training: judgement.
ARC_MARGIN_DEG = 10.0
SHORTEST_RANGE_DEG = 30.0
#: Loads within this share are the same load. [1] (judgement)
SAME_LOAD: Share = 1e-6


@dataclass(frozen=True, slots=True)
class PainReport:
    """Pain of one movement around one session, 0-10; None where nobody said.

    ``before`` is the pain of the last morning told before the session; ``worse_next_morning`` the athlete's own word,
    which beats the arithmetic. The arc is in degrees of the movement's main joint, and so is the range that the
    movement takes it through, None where that is not known; ``phase`` is the part of the repetition that hurts,
    ``day`` when the session was [d] and ``on`` its date as told, ``load_kg`` the load at which it hurt [kg]. ``told_apart``
    is pain told too long after any session of the movement to be of one; ``number_missing`` says that pain of the session
    was named and its number not told, whatever numbers stand beside it.
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
    range_from_deg: Degrees | None = None
    range_to_deg: Degrees | None = None
    load_kg: Kilograms | None = None
    on: str | None = None
    told_apart: bool = False
    number_missing: bool = False


@dataclass(frozen=True, slots=True)
class PainDecision:
    """What to do with the movement next.

    ``load_factor`` multiplies the load at which it hurt, ``hurt_at_kg`` [kg], or the last load where that is not known;
    ``set_factor`` the last sets (0 = none); ``instead_set_factor`` serves where the load cannot be lowered;
    ``range_start_deg`` and ``range_end_deg`` are the angles to begin and to turn back at, None for the usual range;
    ``told_day`` is the day of the newest report [d]; ``region`` is named where pain was told of it and of no one movement.
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
    range_start_deg: Degrees | None = None
    hurt_at_kg: Kilograms | None = None
    told_day: Days | None = None
    region: str | None = None

    def heaviest_kg(self, last_kg: Kilograms | None) -> Kilograms | None:
        """Return the heaviest load that pain leaves after a last load, None where it holds nothing. [kg]

        Where no last load is known it is what is left of the load at which it hurt.
        """
        hurt_at = last_kg if self.hurt_at_kg is None else self.hurt_at_kg
        if self.increase_allowed or hurt_at is None:
            return None
        left = self.load_factor * hurt_at
        if last_kg is None:
            return left
        return last_kg if last_kg <= left * (1.0 + SAME_LOAD) else left


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
    """Return whether the next morning was worse than the morning before; None where it is not known.

    Without a morning told before, the pain of the session itself is what it is held against; without either it is known
    only where no pain before could have been so much less.
    """
    if report.worse_next_morning is not None:
        return report.worse_next_morning
    if report.next_morning is None:
        return None
    zone_of(report.next_morning)
    before = worst_of(report) if report.before is None else report.before
    if before is None:
        return None if _rose(0.0, report.next_morning) else False
    return _rose(before, report.next_morning)


def _rose(before: float, after: float) -> bool:
    """Whether pain rose by more than the scale's own error."""
    rise = after - before
    return rise >= WORSE_BY or (after > GO_UP_TO and rise >= WORSE_BY_OUTSIDE_GO)


def worst_of(report: PainReport) -> float | None:
    """Return the pain of the session, during and after alike; None where nobody said."""
    pains = [p for p in (report.during, report.after) if p is not None]
    for pain in pains:
        zone_of(pain)
    return max(pains, default=None)


def lacks_number(report: PainReport) -> bool:
    """Whether pain was named of which no number was told: unknown, and never a pain of 0."""
    return report.number_missing or (worst_of(report) is None and report.next_morning is None)


def _zone_now(report: PainReport) -> PainZone:
    """Return the zone of the session's worst pain, else of the morning after; without a number the middle one at least.

    References
    ----------
    Judgement, for what is not known: it may be the middle zone, and pain that ends a movement is known to.
    """
    told = worst_of(report)
    # Where only the morning was told, that is all the pain there is to go by.
    known = report.next_morning if told is None else told
    zone = "go" if known is None else zone_of(known)
    return "reduce_and_watch" if zone == "go" and lacks_number(report) else zone


def _worse_in_a_row(reports: Sequence[PainReport]) -> int:
    """Return how many of the last mornings in a row were worse.

    A worse morning does not become the measure of the next one: as long as nothing lower was told since, a morning
    that is no better counts as worse too. One that is better does not. Pain named without any number changes no count.
    """
    count, earlier = 0, None
    for report in reports:
        if lacks_number(report) and report.next_morning is None and report.worse_next_morning is None:
            continue
        worse = morning_got_worse(report)
        told = report.next_morning
        no_better = earlier is not None and told is not None and report.before == earlier <= told
        stays = count > 0 and report.worse_next_morning is None and no_better
        count = count + 1 if worse or stays else 0
        earlier = told
    return count


@dataclass(frozen=True, slots=True)
class _FreeRange:
    """Where to begin and to turn back so as to stay out of a painful arc, and whether enough is left to train."""

    start: Degrees | None = None
    end: Degrees | None = None
    enough: bool = True


def _free_range(report: PainReport) -> _FreeRange:
    """Return the range below a painful arc, else the one above it, where the movement is known to go so far.

    Below comes first: what lies above is reached through the arc, unless the movement can begin there.
    """
    if report.painful_from_deg is None:
        return _FreeRange()
    end = report.painful_from_deg - ARC_MARGIN_DEG
    if end - (report.range_from_deg or 0.0) >= SHORTEST_RANGE_DEG:
        return _FreeRange(end=end)
    if report.painful_to_deg is not None and report.range_to_deg is not None:
        start = report.painful_to_deg + ARC_MARGIN_DEG
        if report.range_to_deg - start >= SHORTEST_RANGE_DEG:
            return _FreeRange(start=start)
    return _FreeRange(enough=False)


def _load_left(pain: float) -> Share:
    share = min(1.0, max(0.0, (pain - 3.0) / 2.0))
    return LOAD_LEFT_AT_3 + share * (LOAD_LEFT_AT_5 - LOAD_LEFT_AT_3)


def decide_report(reports: Sequence[PainReport]) -> PainDecision:
    """Return what the newest of some reports, oldest first, asks for, with the mornings before it.

    Raises
    ------
    OutsideValidity
        If a pain is outside 0 to 10.
    """
    latest = reports[-1]
    told, morning = worst_of(latest), latest.next_morning
    zone = _zone_now(latest)
    worse, free = _worse_in_a_row(reports), _free_range(latest)
    if told is not None and zone == "stop":
        return _ended(zone, _stop_reason(told, latest.on))
    if morning is not None and zone_of(morning) == "stop":
        return _swapped(zone, Reason("tolerance.pain_morning_above_five", {"pain": morning}))
    if worse >= WORSE_MORNINGS_TO_SWAP:
        return _swapped(zone, Reason("tolerance.pain_worse_two_mornings", {"mornings": worse}))
    if zone == "reduce_and_watch" and not free.enough:
        return _swapped(zone, Reason("tolerance.pain_no_free_range", {"from_deg": latest.painful_from_deg}))
    return _adjusted(latest, zone, worse, free, asks_morning=needs_morning(reports))


def _stop_reason(pain: float, on: str | None) -> Reason:
    if on is None:
        return Reason("tolerance.pain_above_five", {"pain": pain})
    return Reason("tolerance.pain_above_five_on", {"pain": pain, "on": on})


def in_go(report: PainReport) -> bool:
    """Whether nothing told of a session or its morning is beyond the first zone of 0 to 2."""
    pains = [pain for pain in (worst_of(report), report.next_morning) if pain is not None]
    return not lacks_number(report) and all(zone_of(pain) == "go" for pain in pains)


def _hurts(report: PainReport) -> bool:
    told = (worst_of(report), report.next_morning)
    known = any(pain is not None and pain > 0.0 for pain in told) or report.worse_next_morning is True
    return known or lacks_number(report)


def needs_morning(reports: Sequence[PainReport]) -> bool:
    """Whether nothing may rise before the morning after the newest report is told.

    It is for pain: where all that was told is a pain of 0, lately or in a row for longer than a morning stays open, telling
    that counts no less than silence does.
    """
    if not any(_hurts(one) or (one.before or 0.0) > 0.0 for one in reports):
        return False
    first = latest = reports[-1]
    for one in reversed(reports):
        if _hurts(one):
            break
        first = one
    free = first.day is not None and latest.day is not None and latest.day - first.day > MORNING_OPEN_DAYS
    return not free


def _ended(zone: PainZone, reason: Reason) -> PainDecision:
    cautions = (Caution("pain_stop", "soon"), Caution("guidance_not_diagnosis"))
    return PainDecision(zone, "stop_movement", 0.0, 0.0, None, False, None, (reason,), cautions)


def _swapped(zone: PainZone, reason: Reason) -> PainDecision:
    cautions = (Caution("pain_see_someone_if_it_stays", "soon"), Caution("guidance_not_diagnosis"))
    return PainDecision(zone, "swap", 0.0, 0.0, None, False, None, (reason,), cautions)


def _adjusted(
    latest: PainReport, zone: PainZone, worse: int, free: _FreeRange, *, asks_morning: bool
) -> PainDecision:
    load, instead, reasons = _taken_off(latest, zone, worse)
    if free.end is not None:
        reasons.append(Reason("tolerance.pain_range_ends_before_arc", {"end_deg": free.end}))
    if free.start is not None:
        reasons.append(Reason("tolerance.pain_range_begins_after_arc", {"start_deg": free.start}))
    if latest.phase not in {None, "all"} and zone == "reduce_and_watch":
        reasons.append(Reason("tolerance.pain_in_phase", {"phase": latest.phase}))
    action: PainAction = "continue" if load >= 1.0 else "reduce"
    holds = _why_nothing_rises(latest, asks_morning=asks_morning)
    if action == "continue" and holds is not None:
        action = "hold"
        reasons.append(holds)
    told = [pain for pain in (worst_of(latest), latest.next_morning) if pain is not None]
    if not reasons and told:
        reasons.append(Reason("tolerance.pain_go", {"pain": max(told)}))
    cautions = (Caution("watch_next_morning"),) if action == "reduce" else ()
    return PainDecision(
        zone=zone,
        action=action,
        load_factor=load,
        set_factor=1.0,
        instead_set_factor=instead,
        increase_allowed=action == "continue",
        range_end_deg=free.end,
        reasons=tuple(reasons),
        cautions=(*cautions, Caution("guidance_not_diagnosis")),
        range_start_deg=free.start,
        hurt_at_kg=latest.load_kg if action == "reduce" else None,
        told_day=latest.day,
    )


def _taken_off(latest: PainReport, zone: PainZone, worse: int) -> tuple[Share, Share | None, list[Reason]]:
    """Return what is left of the load and, instead, of the sets, with the reasons."""
    load, instead, reasons = 1.0, None, list[Reason]()
    pain = worst_of(latest)
    if zone == "reduce_and_watch" and pain is not None and _above_go(pain):
        load, instead = _load_left(pain), SETS_IN_MIDDLE_ZONE
        params = {"pain": pain, "load_percent": 100.0 * (1.0 - load)}
        reasons.append(Reason("tolerance.pain_middle_zone", params))
        if lacks_number(latest):
            reasons.append(Reason(NUMBER_MISSING_HOLDS))
    elif zone == "reduce_and_watch" and lacks_number(latest):
        load, instead = LOAD_LEFT_WITHOUT_NUMBER, SETS_IN_MIDDLE_ZONE
        reasons.append(Reason("tolerance.pain_number_missing", {"load_percent": 100.0 * (1.0 - load)}))
    not_compared = morning_got_worse(latest) is None and _above_go(latest.next_morning)
    if worse == 1 or not_compared:
        # Either load or sets, not both: what the middle zone already took off in load counts.
        load, instead = min(load, LOAD_AFTER_WORSE_MORNING), SETS_AFTER_WORSE_MORNING
        params = {"load_percent": 100.0 * (1.0 - LOAD_AFTER_WORSE_MORNING)}
        if not_compared:
            # It may have been worse, so as much comes off; but it is no worse morning to be counted.
            params["pain"] = latest.next_morning or 0.0
        code = "tolerance.pain_morning_not_compared" if not_compared else "tolerance.pain_worse_one_morning"
        reasons.append(Reason(code, params))
    return load, instead, reasons


def _above_go(pain: float | None) -> bool:
    return pain is not None and pain > GO_UP_TO


def _why_nothing_rises(latest: PainReport, *, asks_morning: bool) -> Reason | None:
    """Return why a morning allows no increase: not told, above the first zone, or with nothing to hold it against."""
    morning = latest.next_morning
    if morning is None:
        known = latest.worse_next_morning is not None or not asks_morning
        return None if known else Reason("tolerance.pain_morning_unknown")
    if _above_go(morning):
        return Reason("tolerance.pain_morning_not_settled", {"pain": morning})
    if morning_got_worse(latest) is None:
        return Reason("tolerance.pain_mornings_before_unknown")
    return None
