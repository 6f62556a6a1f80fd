"""What speaks for a week of fewer sets, read off the log: strength that falls, sets that end short, weeks in a row."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from math import isnan
from typing import Final
from uuid import UUID

from service.core.capability import SetEvidence, begin, fold, foresee_all
from service.core.capability.layout import FORESIGHTS
from service.core.trend import BETWEEN_LIFTS_SD, WORTHWHILE, Strain, common_change
from service.core.trend.stretch import break_limit
from service.core.units import Days, mass_to_kg
from service.core.volume.weekly_dose import SIDE_WEIGHTS
from service.usecases.answers.history import SeenSet
from service.usecases.answers.trend_lines import TrendLog
from service.usecases.answers.weeks import calendar_of
from service.usecases.kinds import PLAN
from service.usecases.ports import UnitOfWork
from service.usecases.records.plans import Plan, PlannedSet

#: Falling strength is looked for over so many days, missed repetitions over fewer (judgement).
FALLING_DAYS: Final[Days] = 28.0
SHORT_DAYS: Final[Days] = 21.0
#: After a break sets say nothing of being tired for so long (judgement).
RETURN_DAYS: Final[Days] = 14.0
#: Whole weeks whose sets are counted (judgement: three times the usual distance of easier weeks).
COUNTED_WEEKS: Final = 16
#: What people say they have left falls short of what they have by about one repetition ([Halperin2022]_, abstract), and
#: a whole number hides the rest of one. [repetitions]
_TOLD_TOO_LOW, _PART_OF_ONE = 1.0, 1.0
#: A reserve that is told says how many were possible only near failure: further off people miss it by several, however
#: sure they sound, and an easy set told as "four or five left" is no set that ended short (judgement). [repetitions]
_MOST_TOLD, _NEAR_FAILURE = 3.0, 5.0
_Q10, _Q50 = FORESIGHTS.index("q10"), FORESIGHTS.index("q50")


def strain_of(work: UnitOfWork, log: TrendLog) -> Strain:
    """Return what speaks for a week of fewer sets."""
    told, short = _short_of_expected(log)
    planned, missed = _short_of_planned(work, log)
    weekly = _weekly_sets(log)
    return Strain(
        _p_regression(log),
        told + planned,
        short + missed,
        weekly[-COUNTED_WEEKS:],
        weeks_before=len(weekly) > COUNTED_WEEKS,
    )


def _p_regression(log: TrendLog) -> float | None:
    """Return the chance that strength fell on the whole, over all lifts and the last four weeks."""
    changes = log.changes_since(log.situation.now_day - FALLING_DAYS)
    if not changes:
        return None
    return 1.0 - common_change(changes, BETWEEN_LIFTS_SD).probability_above(-WORTHWHILE)


def _short_of_expected(log: TrendLog) -> tuple[int, int]:
    """Return of how many recent sets the effort was told, and how many ended below the lower end of what was expected."""
    model = log.histories.strength.model
    since = log.situation.now_day - SHORT_DAYS
    earlier = [session for session in log.sessions if session.day < since]
    recent = log.sessions[len(earlier) :]
    if not recent:
        return 0, 0
    _, foretold = foresee_all(fold(begin(model.training), earlier, model), recent, model)
    told = short = 0
    done = ((session.day, one) for session in recent for one in session.sets)
    for (day, evidence), expected in zip(done, foretold, strict=True):
        most = None if _comes_back(day, log.athlete_days) else _most_possible(evidence, float(expected[_Q50]))
        if most is not None and not isnan(expected[_Q10]):
            told += 1
            short += bool(most < expected[_Q10])
    return told, short


def _comes_back(day: Days, athlete_days: Sequence[Days]) -> bool:
    """Whether a day lies within the careful weeks after a break, when sets are easier on purpose or harder than usual."""
    limit = break_limit(athlete_days)
    return any(
        after - before > limit and 0.0 <= day - after <= RETURN_DAYS
        for before, after in pairwise(athlete_days)
    )


def _most_possible(evidence: SetEvidence, expected: float) -> float | None:
    """Return the most repetitions to failure that what was told of a set allows, None where that is open.

    A reserve tells it where it is small, and was to be by what was ``expected`` of the set. [repetitions]
    """
    if evidence.purpose in {"warm_up", "bound"} or evidence.stage > 0:
        return None
    if evidence.to_failure:
        return evidence.reps + _PART_OF_ONE
    reserve = evidence.reps_in_reserve
    if reserve is None or reserve > _MOST_TOLD or not expected - evidence.reps <= _NEAR_FAILURE:
        return None
    return evidence.reps + reserve + _TOLD_TOO_LOW + _PART_OF_ONE


@dataclass(frozen=True, slots=True)
class _Wanted:
    reps_low: int
    load_kg: float


def _short_of_planned(work: UnitOfWork, log: TrendLog) -> tuple[int, int]:
    """Return how many recent sets were planned with a load, and how many ended under its least repetitions."""
    recent = [
        seen
        for history in log.histories.by_exercise.values()
        for seen in history.sets
        if seen.record.plan_item_id is not None and seen.day >= log.situation.now_day - SHORT_DAYS
    ]
    if not recent:
        return 0, 0
    named = sorted({seen.record.plan_id for seen in recent if seen.record.plan_id is not None})
    plans = work.resources.get_many(PLAN, named, log.situation.athlete_id)
    wanted = {
        key: one
        for stored in plans.values()
        if stored.record is not None
        for key, one in _wanted(stored.record)
    }
    judged = [verdict for seen in recent if (verdict := _missed(seen, wanted)) is not None]
    return len(judged), sum(judged)


def _wanted(plan: Plan) -> Iterator[tuple[tuple[UUID, str], _Wanted]]:
    for item in plan.items:
        for planned in item.sets:
            if not planned.ramp and planned.reps_low is not None and planned.load is not None:
                yield (item.item_id, planned.side), _of_planned(planned)


def _of_planned(planned: PlannedSet) -> _Wanted:
    load = planned.load
    kilograms = mass_to_kg(load.value, load.unit) if load is not None else 0.0
    return _Wanted(planned.reps_low or 0, kilograms)


def _missed(seen: SeenSet, wanted: Mapping[tuple[UUID, str], _Wanted]) -> bool | None:
    record = seen.record
    if record.plan_item_id is None or record.load is None or record.reps is None or not seen.is_work:
        return None
    asked = wanted.get((record.plan_item_id, seen.side))
    if asked is None or mass_to_kg(record.load.value, record.load.unit) < asked.load_kg - 1e-6:
        return None
    return record.reps < asked.reps_low


def _weekly_sets(log: TrendLog) -> tuple[float, ...]:
    """Return the working sets of whole weeks before this one, oldest first, from the first that has any.

    A set of one limb is half of one, as in the weekly volume: the same work by limbs and by both is no easier week. One week
    more than are counted tells whether work went on before them.
    """
    situation = log.situation
    calendar = calendar_of(situation.athlete)
    this_week = calendar.week_of(calendar.day_of(situation.as_of))
    known = COUNTED_WEEKS + 1
    counts = [0.0] * known
    for history in log.histories.by_exercise.values():
        for seen in history.work_sets():
            day = calendar.day_of_set(seen.record, situation.sessions)
            back = (this_week.first_day - calendar.week_of(day).first_day) // timedelta(weeks=1)
            if 1 <= back <= known:
                counts[known - back] += SIDE_WEIGHTS["both"][seen.side]
    first = next((place for place, count in enumerate(counts) if count), known)
    return tuple(counts[first:])
