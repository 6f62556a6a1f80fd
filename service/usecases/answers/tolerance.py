"""What this body tolerates now: pain by region and side, warning signs, what is due to be told, and the load of weeks."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import Basis, Caution, Reason
from service.core.tolerance import MODEL_VERSION
from service.core.tolerance.pain import GO_UP_TO, WATCH_UP_TO, PainDecision, PainReport, decide_pain, zone_of
from service.core.tolerance.session_load import (
    LONGER_DAYS,
    RECENT_DAYS,
    describe_week,
    session_load,
    weighted_mean,
)
from service.usecases.answers.history import SeenSet, see_sets
from service.usecases.answers.joint_retests import due_retests, joint_documents
from service.usecases.answers.pain_reports import (
    MORNING_FROM,
    MORNING_TO,
    PAIN_WINDOW,
    region_of,
    report_from,
    report_of,
)
from service.usecases.answers.situation import Situation, day_of, read_situation
from service.usecases.answers.telling import Teller, basis_document, documents, instant_of_day
from service.usecases.answers.weeks import TrainingWeek, calendar_of
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.base import BodySide
from service.usecases.records.log import Pain, Session

#: Weeks of load unless asked otherwise, and the most; more would reach beyond the window that answers read.
USUAL_WEEKS, MOST_WEEKS = 4, 16
#: Works behind the pain rules, and behind the load of weeks.
PAIN_SOURCES = ("Silbernagel2007", "Thomee1997", "Salaffi2004")
LOAD_SOURCES = ("Foster1998", "Foster2001", "Lolli2019", "Williams2017")
#: What is done, the most careful first.
ACTIONS = (
    "stop_training", "rest_region", "stop_movement", "swap", "reduce", "hold", "continue",
)  # fmt: skip
_GUIDANCE = Caution("guidance_not_diagnosis")
_MINUTE = timedelta(minutes=1)
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ToleranceQuestion:
    """Whose tolerance, over how many weeks of load, as of when (None = now)."""

    weeks: int = USUAL_WEEKS
    as_of: datetime | None = None
    min_position: int | None = None


@dataclass(frozen=True, slots=True)
class _Place:
    """Where it hurts: a region, a side if one was told, and the lift that brings it on if one does."""

    region: str
    side: BodySide | None
    exercise_id: str | None

    def holds(self, pain: Pain) -> bool:
        """Whether pain was told of this region and side."""
        return region_of(pain) == self.region and pain.side == self.side


def answer_tolerance(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, athlete_id: UUID, question: ToleranceQuestion
) -> Document:
    """Return what pain asks for by region, side and lift, the warning signs that stand, and the load of the last weeks.

    Raises what ``read_situation`` raises.
    """
    situation = read_situation(work, athlete_id, as_of=question.as_of, min_position=question.min_position)
    teller = Teller(texts)
    sets = see_sets(situation, book)
    items = [
        _item(place, reports, teller, resting=_rests(place, situation))
        for place, reports in _places(sets, situation)
    ]
    return {
        "action": _action(items, situation, teller),
        "items": items,
        "stops_all_training": situation.flags.stops_all_training,
        "stops_region": situation.flags.stops_region,
        "reasons": documents(teller.reasons(_reasons(items, situation))),
        "cautions": documents(teller.cautions(_cautions(situation))),
        "due_checks": [*_due_mornings(sets, situation, teller), *due_retests(situation, teller)],
        "joint_tests": joint_documents(situation, teller),
        "zones": _zones(teller),
        "weeks": _weeks(situation, question.weeks, teller),
        **_means(situation),
        "sources": [*PAIN_SOURCES, *LOAD_SOURCES],
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
    }


def _cautions(situation: Situation) -> list[Caution]:
    closed = () if situation.gate.open else situation.gate.cautions
    return [*situation.flags.cautions, *closed, _GUIDANCE]


def _reasons(items: Sequence[Document], situation: Situation) -> list[Reason]:
    silent = [] if items else [Reason("tolerance.no_pain_told")]
    return [*situation.flags.reasons, *situation.gate.closing_reasons, *silent]


def _zones(teller: Teller) -> Document:
    return {
        "go_up_to": GO_UP_TO,
        "watch_up_to": WATCH_UP_TO,
        "reason": documents([teller.reason(Reason("tolerance.zones"))])[0],
    }


def _places(
    sets: Sequence[SeenSet], situation: Situation
) -> list[tuple[_Place, list[tuple[PainReport, list[Pain]]]]]:
    """Return every place that pain was told of lately, with its reports, oldest first; the worst place first."""
    by_lift: dict[str, dict[int, list[SeenSet]]] = defaultdict(lambda: defaultdict(list))
    for seen in sets:
        if situation.as_of - seen.record.performed_at <= PAIN_WINDOW:
            by_lift[seen.exercise.exercise_id][seen.session].append(seen)
    found = [
        (place, reports)
        for place in _told_places(by_lift, situation)
        if (reports := _reports(place, by_lift, situation))
    ]
    return sorted(found, key=lambda one: (_rank(decide_pain([r for r, _ in one[1]])), one[0].region))


def _rank(decision: PainDecision) -> int:
    return ACTIONS.index(decision.action)


def _told_places(by_lift: dict[str, dict[int, list[SeenSet]]], situation: Situation) -> list[_Place]:
    places: dict[_Place, None] = {}
    for exercise_id, sessions in by_lift.items():
        for sets in sessions.values():
            for pain in (pain for seen in sets for pain in seen.record.pain):
                places[_Place(region_of(pain), pain.side, exercise_id)] = None
    for checkin in situation.checkins:
        if situation.as_of - checkin.at <= PAIN_WINDOW:
            for pain in checkin.pain:
                lift = pain.exercise_id if pain.exercise_id in by_lift else None
                places[_Place(region_of(pain), pain.side, lift)] = None
    return list(places)


def _reports(
    place: _Place, by_lift: dict[str, dict[int, list[SeenSet]]], situation: Situation
) -> list[tuple[PainReport, list[Pain]]]:
    if place.exercise_id is None:
        return _region_reports(place, by_lift, situation)
    found = []
    for sets in by_lift[place.exercise_id].values():
        report = report_of(sets, place.exercise_id, "both", situation, place.holds)
        if report is not None:
            told = [pain for seen in sets for pain in seen.record.pain if place.holds(pain)]
            found.append((report, told))
    return found


def _region_reports(
    place: _Place, by_lift: dict[str, dict[int, list[SeenSet]]], situation: Situation
) -> list[tuple[PainReport, list[Pain]]]:
    """Return one report a check-in that tells of a region and of no lift in the log."""
    found = []
    for checkin in situation.checkins:
        told = [p for p in checkin.pain if place.holds(p) and p.exercise_id not in by_lift]
        if told and situation.as_of - checkin.at <= PAIN_WINDOW:
            mornings = [pain.next_morning for pain in told if pain.next_morning is not None]
            found.append((report_from(told, mornings, day_of(checkin.at)), told))
    return found


def _rests(place: _Place, situation: Situation) -> bool:
    """Whether a warning sign rests a place: all of them, or those that the newest check-in tells of."""
    if situation.flags.stops_all_training:
        return True
    newest = situation.checkins[-1].pain if situation.checkins else []
    return situation.flags.stops_region and any(
        region_of(pain) == place.region
        and (pain.side in {None, "both"} or place.side in {None, "both", pain.side})
        for pain in newest
    )


def _item(
    place: _Place, reports: Sequence[tuple[PainReport, list[Pain]]], teller: Teller, *, resting: bool
) -> Document:
    told = [report for report, _ in reports]
    decision, latest = decide_pain(told), told[-1]
    action: str = decision.action
    if resting:
        reasons = (Reason("tolerance.rests_for_sign"), *decision.reasons)
        decision = replace(
            decision,
            load_factor=0.0,
            set_factor=0.0,
            instead_set_factor=None,
            increase_allowed=False,
            reasons=reasons,
        )
        action = "rest_region"
    return {
        "region": place.region,
        "side": place.side or "unspecified",
        "exercise_id": place.exercise_id,
        "zone": decision.zone,
        "action": action,
        "during": latest.during,
        "after": latest.after,
        "next_morning": latest.next_morning,
        "sessions": [_session(report) for report in told],
        "bands": _bands([pain for _, pains in reports for pain in pains]),
        "load_factor": round(decision.load_factor, 4),
        "set_factor": round(decision.set_factor, 4),
        "instead_set_factor": decision.instead_set_factor,
        "range_end_deg": decision.range_end_deg,
        "increase_allowed": decision.increase_allowed,
        "basis": basis_document(Basis(len(told), latest.day, 0.0)),
        "reasons": documents(teller.reasons(decision.reasons)),
        "cautions": documents(teller.cautions(decision.cautions)),
        "sources": list(PAIN_SOURCES),
    }


def _session(report: PainReport) -> Document:
    """Return one session's pain; where only the morning after was told there is no worst of it, and no zone."""
    worst = max((pain for pain in (report.during, report.after) if pain is not None), default=None)
    return {
        "at": instant_of_day(report.day or 0.0).isoformat(),
        "worst": worst,
        "during": report.during,
        "after": report.after,
        "next_morning": report.next_morning,
        "zone": None if worst is None else zone_of(worst),
    }


def _bands(told: Sequence[Pain]) -> list[Document]:
    """Return the worst pain of every angle band and phase that was told."""
    worst: dict[tuple[float | None, float | None, str | None], float] = {}
    for pain in told:
        band = pain.angle_band
        if band is None and pain.phase is None:
            continue
        key = (band.from_deg if band else None, band.to_deg if band else None, pain.phase)
        worst[key] = max(worst.get(key, 0.0), pain.worst or 0.0)
    return [
        {"from_deg": key[0], "to_deg": key[1], "phase": key[2], "worst": score}
        for key, score in sorted(worst.items(), key=lambda one: (-one[1], str(one[0])))
    ]


def _action(items: Sequence[Document], situation: Situation, teller: Teller) -> Document:
    """Return the one thing to do: what the most careful of all rules asks for."""
    asked = [item["action"] for item in items]
    if situation.flags.stops_all_training:
        asked.append("stop_training")
    elif situation.flags.stops_region:
        asked.append("rest_region")
    code = min(asked, key=ACTIONS.index, default="continue")
    return {"code": code, "text": teller.texts.render(f"tolerance.do_{code}", {})}


def _due_mornings(sets: Sequence[SeenSet], situation: Situation, teller: Teller) -> list[Document]:
    """Return the mornings that are still to be told: those after a session in which something hurt."""
    last: dict[tuple[str, BodySide | None, str], SeenSet] = {}
    for seen in sets:
        for pain in seen.record.pain:
            last[region_of(pain), pain.side, seen.exercise.exercise_id] = seen
    due = []
    for (region, side, exercise_id), seen in last.items():
        done = seen.record.performed_at
        if situation.as_of - done > MORNING_TO or _morning_told(region, side, seen, situation):
            continue
        reason = teller.reason(Reason("tolerance.ask_next_morning", {"region": region.replace("_", " ")}))
        due.append(
            {
                "kind": "next_morning_pain", "region": region, "side": side or "unspecified",
                "exercise_id": exercise_id, "due_from": (done + MORNING_FROM).isoformat(),
                "due_until": (done + MORNING_TO).isoformat(), "reason": documents([reason])[0],
            }
        )  # fmt: skip
    return due


def _morning_told(region: str, side: BodySide | None, seen: SeenSet, situation: Situation) -> bool:
    if any(pain.next_morning is not None and region_of(pain) == region for pain in seen.record.pain):
        return True
    return any(
        MORNING_FROM <= checkin.at - seen.record.performed_at <= MORNING_TO
        and region_of(pain) == region
        and pain.side in {None, side}
        for checkin in situation.checkins
        for pain in checkin.pain
    )


def _loads(situation: Situation) -> tuple[dict[date, float], dict[date, int]]:
    """Return the load of each local day, and the sessions of each whose RPE or minutes nobody told."""
    calendar = calendar_of(situation.athlete)
    loads: dict[date, float] = defaultdict(float)
    untold: dict[date, int] = defaultdict(int)
    trained = {stored.record.session_id for stored in situation.sets}
    for session_id, session in situation.sessions.items():
        minutes = _minutes(session)
        day = calendar.day_of(session.started_at)
        if session.session_rpe is not None and minutes is not None:
            loads[day] += session_load(session.session_rpe, minutes)
        elif session_id in trained:
            untold[day] += 1
    alone = {
        calendar.day_of(one.record.performed_at) for one in situation.sets if one.record.session_id is None
    }
    for day in alone:
        untold[day] += 1
    return loads, untold


def _minutes(session: Session) -> float | None:
    if session.ended_at is None or session.ended_at < session.started_at:
        return None
    return (session.ended_at - session.started_at) / _MINUTE


def _weeks(situation: Situation, count: int, teller: Teller) -> list[Document]:
    calendar = calendar_of(situation.athlete)
    loads, untold = _loads(situation)
    weeks = calendar.weeks_until(calendar.day_of(situation.as_of), count)
    return [_week(week, week.end <= situation.as_of, loads, untold, teller) for week in weeks]


def _week(
    week: TrainingWeek, over: bool, loads: dict[date, float], untold: dict[date, int], teller: Teller
) -> Document:
    days = [week.first_day + n * _DAY for n in range(7)]
    told = describe_week(
        [loads.get(day, 0.0) for day in days], sum(untold.get(day, 0) for day in days), over=over
    )
    return {
        "first_day": week.first_day.isoformat(),
        "load": round(told.load, 1),
        "monotony": None if told.monotony is None else round(told.monotony, 4),
        "strain": None if told.strain is None else round(told.strain, 1),
        "sd_convention": told.sd_convention,
        "reasons": documents(teller.reasons(told.reasons)),
    }


def _means(situation: Situation) -> Document:
    """Return the weighted mean loads of about a week and four weeks, where every session of the window told its load."""
    loads, untold = _loads(situation)
    if not loads:
        return {}
    today = calendar_of(situation.athlete).day_of(situation.as_of)
    first = max(min(loads), today - 16 * 7 * _DAY)
    if any(first <= day <= today for day in untold) or (today - first).days < LONGER_DAYS:
        return {}
    daily = [loads.get(first + n * _DAY, 0.0) for n in range((today - first).days + 1)]
    return {
        "recent_load": round(weighted_mean(daily, RECENT_DAYS), 2),
        "longer_load": round(weighted_mean(daily, LONGER_DAYS), 2),
    }
