"""What this body tolerates now: pain by region and side, warning signs, what is due to be told, and the load of weeks."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import Basis, Reason
from service.core.tolerance import MODEL_VERSION
from service.core.tolerance.pain import GO_UP_TO, WATCH_UP_TO, PainReport, zone_of
from service.core.tolerance.session_load import (
    LONGER_DAYS,
    RECENT_DAYS,
    describe_week,
    session_load,
    weighted_mean,
)
from service.usecases.answers.history import SeenSet, see_sets
from service.usecases.answers.joint_retests import due_retests, joint_documents
from service.usecases.answers.pain_asking import missing_numbers, open_mornings, spoken_region
from service.usecases.answers.pain_loads import pain_loads
from service.usecases.answers.pain_places import (
    ACTIONS,
    PlacePain,
    pains_of,
    sessions_by_lift,
)
from service.usecases.answers.pain_reports import PainPlace
from service.usecases.answers.regions import is_known
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import Teller, basis_document, documents, instant_of_day
from service.usecases.answers.weeks import TrainingWeek, calendar_of
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.log import Pain, Session

#: Weeks of load unless asked otherwise, and the most; more would reach beyond the window that answers read.
USUAL_WEEKS, MOST_WEEKS = 4, 16
#: Works behind the pain rules, and behind the load of weeks.
PAIN_SOURCES = ("Silbernagel2007", "Thomee1997", "Salaffi2004")
LOAD_SOURCES = ("Foster1998", "Foster2001", "Lolli2019", "Williams2017")
_MINUTE = timedelta(minutes=1)
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ToleranceQuestion:
    """Whose tolerance, over how many weeks of load, as of when (None = now)."""

    weeks: int = USUAL_WEEKS
    as_of: datetime | None = None
    min_position: int | None = None


def answer_tolerance(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, athlete_id: UUID, question: ToleranceQuestion
) -> Document:
    """Return what pain asks for by region, side and lift, the warning signs that stand, and the load of the last weeks.

    Raises what ``read_situation`` raises.
    """
    situation = read_situation(work, athlete_id, as_of=question.as_of, min_position=question.min_position)
    teller = Teller(texts, situation.unit)
    sets = see_sets(situation, book)
    items = [_item(one, situation, teller) for one in pains_of(sessions_by_lift(sets, situation), situation)]
    return {
        "action": _action(items, situation, teller),
        "items": items,
        "stops_all_training": situation.flags.stops_all_training,
        "stops_region": situation.flags.stops_region,
        "reasons": documents(teller.reasons(_reasons(items, situation))),
        "cautions": documents(teller.cautions(situation.cautions)),
        "due_checks": [
            *_due_of_pain(sets, situation, teller),
            *due_retests(situation, teller),
        ],
        "joint_tests": joint_documents(situation, teller),
        "zones": _zones(teller),
        "weeks": _weeks(situation, question.weeks, teller),
        **_means(situation),
        "sources": [*PAIN_SOURCES, *LOAD_SOURCES],
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
    }


def _reasons(items: Sequence[Document], situation: Situation) -> list[Reason]:
    silent = [] if items else [Reason("tolerance.no_pain_told")]
    return [*situation.flags.reasons, *situation.gate.closing_reasons, *silent]


def _zones(teller: Teller) -> Document:
    return {
        "go_up_to": GO_UP_TO,
        "watch_up_to": WATCH_UP_TO,
        "reason": documents([teller.reason(Reason("tolerance.zones"))])[0],
    }


def _rests(place: PainPlace, situation: Situation) -> bool:
    """Whether a warning sign rests a place: all of them, or those that it was told of."""
    return situation.flags.stops_all_training or any(
        sign.may_concern(place.region, place.side) for sign in situation.signs
    )


def _item(told: PlacePain, situation: Situation, teller: Teller) -> Document:
    place, decision, latest = told.place, told.decision, told.reports[-1]
    action: str = decision.action
    loads, which = pain_loads(told, situation, teller.unit)
    unknown: tuple[Reason, ...] = ()
    if place.exercise_id is None and not is_known(place.region):
        unknown = (Reason("tolerance.region_not_known", {"region": spoken_region(place.region)}),)
    reasons = (*decision.reasons[:1], *which, *unknown, *decision.reasons[1:])
    if _rests(place, situation):
        # What may be done beside a sign is nothing: of the pain only an end is still true.
        ends = decision.reasons if decision.action == "stop_movement" else ()
        loads, reasons = {}, (Reason("tolerance.rests_for_sign"), *ends)
        decision = replace(
            decision,
            load_factor=0.0,
            set_factor=0.0,
            instead_set_factor=None,
            increase_allowed=False,
            range_start_deg=None,
            range_end_deg=None,
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
        "sessions": [_session(report) for report in told.reports],
        "bands": _bands([pain for one in told.occasions for pain in one.told]),
        "load_factor": round(decision.load_factor, 4),
        **loads,
        "set_factor": round(decision.set_factor, 4),
        "instead_set_factor": decision.instead_set_factor,
        "range_start_deg": decision.range_start_deg,
        "range_end_deg": decision.range_end_deg,
        "increase_allowed": decision.increase_allowed,
        "basis": basis_document(Basis(len(told.reports), latest.day, 0.0)),
        "reasons": documents(teller.reasons(reasons)),
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
    """Return the worst pain of every angle band and phase that was told, None where no number was."""
    worst: dict[tuple[float | None, float | None, str | None], float | None] = {}
    for pain in told:
        band = pain.angle_band
        if band is None and pain.phase is None:
            continue
        key = (band.from_deg if band else None, band.to_deg if band else None, pain.phase)
        scores = [score for score in (worst.get(key), pain.worst) if score is not None]
        worst[key] = max(scores, default=None)
    return [
        {"from_deg": key[0], "to_deg": key[1], "phase": key[2], "worst": score}
        for key, score in sorted(worst.items(), key=lambda one: (-(one[1] or 0.0), str(one[0])))
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


def _due_of_pain(sets: Sequence[SeenSet], situation: Situation, teller: Teller) -> list[Document]:
    """Return what is still to be told of pain: the number of one that was named, and mornings after one that was told."""
    numbers = [
        _due("pain_number", one.place, teller, "tolerance.ask_pain_number", due_from=one.told_at)
        for one in missing_numbers(sets, situation)
    ]
    return numbers + [
        _due(
            "next_morning_pain", one.place, teller, "tolerance.ask_next_morning",
            due_from=one.due_from, due_until=one.due_until,
        )
        for one in open_mornings(sets, situation)
    ]  # fmt: skip


def _due(kind: str, place: PainPlace, teller: Teller, code: str, **instants: datetime) -> Document:
    reason = teller.reason(Reason(code, {"region": spoken_region(place.region)}))
    return {
        "kind": kind,
        "region": place.region,
        "side": place.side or "unspecified",
        "exercise_id": place.exercise_id,
        **{name: instant.isoformat() for name, instant in instants.items()},
        "reason": documents([reason])[0],
    }


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
        [loads.get(day, 0.0) for day in days],
        sum(untold.get(day, 0) for day in days),
        any_told=any(day in loads for day in days),
        over=over,
    )
    return {
        "first_day": week.first_day.isoformat(),
        "load": None if told.load is None else round(told.load, 1),
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
