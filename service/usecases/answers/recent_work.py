"""What the last days asked of each muscle and side: this week's dose, readiness, and the sessions still to come."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.core.planning import LimbSide
from service.core.recovery import alike, p_ready_in
from service.core.units import Days, HardSets, Share
from service.core.volume.hard_sets import HardSet
from service.core.volume.weekly_dose import SIDE_WEIGHTS
from service.usecases.answers.counting import Counting
from service.usecases.answers.history import Histories, SeenSet
from service.usecases.answers.muscle_sessions import (
    SIDES,
    TRUNK_KEY,
    ChannelKey,
    RecoveryEvidence,
    all_sets,
    hard_sets_of,
    read_recovery,
)
from service.usecases.answers.situation import Situation
from service.usecases.answers.weeks import calendar_of

#: Sessions older than this no longer keep a muscle from being ready (judgement; residual fatigue halves in a day).
_RECENT: Days = 7.0
#: The muscles that axial load and trunk moment fall on.
_TRUNK_GROUP = "spinal extensors"
#: Sessions a week where no frame says how many (judgement).
USUAL_SESSIONS = 3
MuscleKey = tuple[str, LimbSide]


@dataclass
class RecentWork:
    """Everything recent about muscles and movements, read once from the log."""

    week_sets: Mapping[MuscleKey, HardSets]
    week_by_exercise: Mapping[str, HardSets]
    sessions_left: int
    gap_days: Days | None
    recovery: RecoveryEvidence
    now_day: Days
    trunk_muscles: frozenset[str] = frozenset()

    def p_ready(self, key: MuscleKey) -> Share:
        """Return the chance that a muscle is within one repetition of its usual now; the trunk's, with its load. [1]"""
        found = self._p_ready(key)
        return min(found, self._p_ready(TRUNK_KEY)) if key[0] in self.trunk_muscles else found

    def _p_ready(self, key: ChannelKey) -> Share:
        sessions = self.recovery.sessions(key, self.now_day, _RECENT)
        belief = alike(self.recovery.beliefs, key[0])
        return p_ready_in(sessions, 0.0, self.recovery.soreness.get(key), belief)


def read_recent_work(situation: Situation, histories: Histories) -> RecentWork:
    """Return this week's dose and the last days' sessions by muscle and side."""
    calendar = calendar_of(situation.athlete)
    today = calendar.day_of(situation.as_of)
    week = calendar.week_of(today)
    by_muscle: dict[MuscleKey, float] = defaultdict(float)
    by_exercise: dict[str, float] = defaultdict(float)
    days: set[date] = set()
    every = list(all_sets(histories))
    counts = hard_sets_of(every, Counting(situation, histories))
    for seen in every:
        day = calendar.day_of_set(seen.record, situation.sessions)
        if not week.holds(day):
            continue
        counted = counts[seen.id]
        days.add(day)
        by_exercise[seen.exercise.exercise_id] += counted.value * SIDE_WEIGHTS["both"][seen.side]
        _count(seen, counted, by_muscle)
    muscles = histories.book.catalogue.muscles.values()
    return RecentWork(
        week_sets=by_muscle,
        week_by_exercise=by_exercise,
        sessions_left=_sessions_left(situation, today, week.first_day, len(days - {today})),
        gap_days=_gap(situation),
        recovery=read_recovery(situation, histories),
        now_day=situation.now_day,
        trunk_muscles=frozenset(one.muscle_id for one in muscles if one.group == _TRUNK_GROUP),
    )


def _count(seen: SeenSet, counted: HardSet, by_muscle: dict[MuscleKey, float]) -> None:
    for side in SIDES:
        weight = SIDE_WEIGHTS[side].get(seen.side, 0.0) * counted.value
        for part in seen.exercise.involvement if weight > 0.0 else ():
            if part.share > 0.0:
                by_muscle[part.muscle_id, side] += weight * part.share


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
