"""What the last days asked of each muscle and side: this week's dose, readiness, and the sessions still to come."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from service.core.planning import LimbSide
from service.core.recovery import MuscleSession, p_ready_in
from service.core.units import Days, HardSets, Hours, Share
from service.core.volume.hard_sets import DROP_CREDIT, HardSet, hard_carry, hard_hold, hard_set
from service.core.volume.weekly_dose import SIDE_WEIGHTS
from service.usecases.answers.history import Histories, SeenSet
from service.usecases.answers.situation import Situation
from service.usecases.answers.weeks import calendar_of

#: Sessions older than this no longer keep a muscle from being ready (judgement; residual fatigue halves in a day).
_RECENT = timedelta(days=7)
#: Soreness older than this says nothing of today (judgement).
_SORENESS_FRESH = timedelta(hours=36)
#: Sessions a week where no frame says how many (judgement).
USUAL_SESSIONS = 3
_HOURS = timedelta(hours=1)
MuscleKey = tuple[str, LimbSide]


@dataclass(slots=True)
class _Asked:
    """What one session asked of one muscle, added up."""

    hours_ago: Hours = 1e9
    dose: HardSets = 0.0
    to_failure: HardSets = 0.0
    single_joint: HardSets = 0.0
    reserve: float = 0.0
    reserve_known: HardSets = 0.0

    def session(self) -> MuscleSession:
        known = self.reserve / self.reserve_known if self.reserve_known else None
        return MuscleSession(
            self.hours_ago,
            self.dose,
            min(self.to_failure / self.dose, 1.0),
            min(self.single_joint / self.dose, 1.0),
            known,
        )


@dataclass
class RecentWork:
    """Everything recent about muscles and movements, read once from the log."""

    week_sets: Mapping[MuscleKey, HardSets]
    week_by_exercise: Mapping[str, HardSets]
    sessions_left: int
    gap_days: Days | None
    _asked: Mapping[MuscleKey, Mapping[str, _Asked]]
    _soreness: Mapping[MuscleKey, float] = field(default_factory=dict)

    def p_ready(self, key: MuscleKey) -> Share:
        """Return the chance that a muscle is within one repetition of its usual now. [1]"""
        sessions = [asked.session() for asked in self._asked.get(key, {}).values() if asked.dose > 0.0]
        return p_ready_in(sessions, 0.0, self._soreness.get(key)) if sessions else 1.0


def read_recent_work(situation: Situation, histories: Histories) -> RecentWork:
    """Return this week's dose and the last days' sessions by muscle and side."""
    calendar = calendar_of(situation.athlete)
    today = calendar.day_of(situation.as_of)
    week = calendar.week_of(today)
    by_muscle: dict[MuscleKey, float] = defaultdict(float)
    by_exercise: dict[str, float] = defaultdict(float)
    asked: dict[MuscleKey, dict[str, _Asked]] = defaultdict(dict)
    days: set[date] = set()
    for seen in _all_sets(histories):
        fresh = situation.as_of - seen.record.performed_at <= _RECENT
        day = calendar.day_of_set(seen.record, situation.sessions)
        this_week = week.holds(day)
        if not fresh and not this_week:
            continue
        counted = hard_set_of(seen, situation)
        if this_week:
            days.add(day)
            by_exercise[seen.exercise.exercise_id] += counted.value * SIDE_WEIGHTS["both"][seen.side]
        _count(seen, counted, situation, by_muscle if this_week else None, asked if fresh else None)
    return RecentWork(
        week_sets=by_muscle,
        week_by_exercise=by_exercise,
        sessions_left=_sessions_left(situation, today, week.first_day, len(days - {today})),
        gap_days=_gap(situation),
        _asked=asked,
        _soreness=_soreness(situation),
    )


def _all_sets(histories: Histories) -> Iterable[SeenSet]:
    return (seen for history in histories.by_exercise.values() for seen in history.sets)


def hard_set_of(seen: SeenSet, situation: Situation) -> HardSet:
    """Return how much a logged set counts; a drop counts for what it adds to its first load."""
    record, training = seen.record, situation.training
    if record.stage > 0:
        return HardSet(DROP_CREDIT, 0.0, assumed_effort=False)
    to_failure = bool(record.to_failure)
    if record.reps is None and record.hold_s is not None:
        return hard_hold(record.hold_s, None, to_failure, training=training)
    if record.reps is None and record.distance_m is not None:
        return hard_carry(record.distance_m, record.reps_in_reserve, to_failure, training=training)
    return hard_set(
        record.reps, record.reps_in_reserve, to_failure, training=training, p_warm_up=seen.warm_up
    )


def _count(
    seen: SeenSet,
    counted: HardSet,
    situation: Situation,
    by_muscle: dict[MuscleKey, float] | None,
    asked: dict[MuscleKey, dict[str, _Asked]] | None,
) -> None:
    hours = max((situation.as_of - seen.record.performed_at) / _HOURS, 0.0)
    for side in ("left", "right"):
        weight = SIDE_WEIGHTS[side].get(seen.side, 0.0) * counted.value
        for part in seen.exercise.involvement if weight > 0.0 else ():
            dose = weight * part.share
            if dose <= 0.0:
                continue
            key: MuscleKey = (part.muscle_id, side)
            if by_muscle is not None:
                by_muscle[key] += dose
            if asked is not None:
                _ask(asked[key].setdefault(seen.session_key, _Asked()), seen, dose, hours)


def _ask(asked: _Asked, seen: SeenSet, dose: HardSets, hours: Hours) -> None:
    asked.hours_ago = min(asked.hours_ago, hours)
    asked.dose += dose
    asked.to_failure += dose if seen.record.to_failure else 0.0
    asked.single_joint += 0.0 if seen.exercise.compound else dose
    if seen.record.reps_in_reserve is not None:
        asked.reserve += dose * seen.record.reps_in_reserve
        asked.reserve_known += dose


def _sessions_left(situation: Situation, today: date, first_day: date, done_days: int) -> int:
    """Return the sessions of this week that are still to come, this one among them."""
    if situation.frame is None:
        return max(USUAL_SESSIONS - done_days, 1)
    names = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    later = {first_day + timedelta(days=n) for n in range(7)}
    return 1 + sum(day > today and names[day.weekday()] in situation.frame.days for day in later)


def _gap(situation: Situation) -> Days | None:
    if not situation.sets:
        return None
    newest: datetime = max(stored.record.performed_at for stored in situation.sets)
    return max((situation.as_of - newest) / timedelta(days=1), 0.0)


def _soreness(situation: Situation) -> dict[MuscleKey, float]:
    told: dict[MuscleKey, float] = {}
    for checkin in situation.checkins:
        if situation.as_of - checkin.at > _SORENESS_FRESH:
            continue
        for soreness in checkin.soreness:
            sides: tuple[LimbSide, ...] = ("left", "right")
            for side in sides:
                if soreness.side in (None, "both", side):
                    told[soreness.muscle_id, side] = soreness.score
    return told
