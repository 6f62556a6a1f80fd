"""Issued plans against what happened: did their intervals hold, and was as much too hard as they said?"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import sqrt
from statistics import NormalDist, mean
from typing import Final
from uuid import UUID

from service.core.estimates import Interval, Param, Reason
from service.core.units import Repetitions, Share, mass_to_kg
from service.usecases.answers.telling import Teller, documents, interval_document
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.evidence import side_of
from service.usecases.kinds import PLAN
from service.usecases.ports import UnitOfWork
from service.usecases.records.log import LoggedSet
from service.usecases.records.plans import Plan, PlannedSet

#: Fewer sets than this decide nothing (judgement).
FEWEST_PLANNED: Final = 10
#: A load within this share of the planned one is the planned one: rounding, and another unit. (judgement)
SAME_LOAD: Share = 0.01
#: Reported reserves above this say too little of what was possible (judgement). [repetitions]
MOST_RESERVE: Repetitions = 4.0
_WORK = frozenset({"work", "test", "unknown"})


@dataclass(frozen=True, slots=True)
class Outcome:
    """The first working set of a planned exercise on one side, as it was planned and as it was done.

    ``low`` and ``high`` bound the repetitions to failure that it told, None where no effort was; ``too_hard`` is None where
    that cannot be said.
    """

    planned: PlannedSet
    changed: bool
    low: Repetitions | None
    high: Repetitions | None
    too_hard: bool | None

    @property
    def held(self) -> Share | None:
        """The share of what was told that lies in the plan's interval, None where nothing was. [1]"""
        lower, upper = self.planned.expected_reps_lower, self.planned.expected_reps_upper
        if self.low is None or self.high is None or lower is None or upper is None:
            return None
        return min(max((min(self.high, upper) - max(self.low, lower)) / (self.high - self.low), 0.0), 1.0)


def plans_document(
    work: UnitOfWork,
    book: ExerciseBook,
    teller: Teller,
    athlete_id: UUID,
    since: datetime,
    as_of: datetime,
    exercise_id: str | None,
    mass: Share,
) -> Document:
    """Return how plans stood against the sets that name them, in (since, as_of]; of one exercise if named."""
    found = [
        outcome
        for outcome, record in _outcomes(work, book, athlete_id, since, as_of)
        if exercise_id in {None, record.exercise_id}
    ]
    done = [one for one in found if not one.changed]
    held = [share for one in done if (share := one.held) is not None]
    hard = [
        (one.planned.p_too_hard, one.too_hard)
        for one in done
        if one.too_hard is not None and one.planned.p_too_hard is not None
    ]
    told: Document = {
        "planned": len(found),
        "changed": len(found) - len(done),
        "effort_untold": len(done) - len(held),
    }
    if held:
        stated = mean(one.planned.interval_mass or 0.0 for one in done if one.held is not None)
        told["intervals"] = _shares(stated, mean(held), len(held), mass)
    if hard:
        seen = mean(float(was) for _, was in hard)
        told["too_hard"] = _shares(mean(chance for chance, _ in hard), seen, len(hard), mass)
    return {**told, "reasons": documents(teller.reasons([_verdict(hard)]))}


def _shares(stated: Share, seen: Share, count: int, mass: Share) -> Document:
    interval = share_interval(seen, count, mass)
    return {
        "stated": round(stated, 4),
        "seen": {"value": round(seen, 4), "interval": interval_document(interval)},
        "count": count,
    }


def _verdict(hard: Sequence[tuple[Share, bool]]) -> Reason:
    """Return whether what was said of too hard lies within a 95 % interval of what was seen."""
    params: dict[str, Param] = {"sets": len(hard), "fewest": FEWEST_PLANNED}
    if len(hard) < FEWEST_PLANNED:
        return Reason("calibration.plans_too_few", params)
    stated, seen = mean(chance for chance, _ in hard), mean(float(was) for _, was in hard)
    params |= {"stated_percent": 100.0 * stated, "seen_percent": 100.0 * seen}
    interval = share_interval(seen, len(hard), 0.95)
    if interval.lower > stated:
        return Reason("calibration.plans_harder", params)
    return Reason("calibration.plans_easier" if interval.upper < stated else "calibration.plans_hold", params)


def share_interval(share: Share, count: int, mass: Share) -> Interval:
    """Return the score interval of a share after [Wilson1927]_ [1]: it stays within 0 and 1 for few sets too."""
    z = NormalDist().inv_cdf(0.5 + 0.5 * mass)
    middle = (share + z * z / (2.0 * count)) / (1.0 + z * z / count)
    reach = z * sqrt(share * (1.0 - share) / count + z * z / (4.0 * count * count)) / (1.0 + z * z / count)
    return Interval(max(middle - reach, 0.0), min(middle + reach, 1.0), mass)


def _outcomes(
    work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, since: datetime, as_of: datetime
) -> Iterator[tuple[Outcome, LoggedSet]]:
    records: list[LoggedSet] = [stored.record for stored in work.log.sets_between(athlete_id, since, as_of)]
    of_plans = [one for one in records if one.plan_id is not None and one.plan_item_id is not None]
    if not of_plans:
        return
    plans = work.resources.get_many(
        PLAN, sorted({one.plan_id for one in of_plans if one.plan_id}), athlete_id
    )
    planned = {
        key: one
        for stored in plans.values()
        if stored.record is not None
        for key, one in _planned(stored.record)
    }
    seen: set[tuple[UUID, str]] = set()
    for record in of_plans:
        exercise = book.find(record.exercise_id)
        if exercise is None or record.purpose not in _WORK or record.stage or record.plan_item_id is None:
            continue
        key = (record.plan_item_id, side_of(record, exercise))
        asked = planned.get(key)
        if asked is not None and key not in seen and record.reps is not None:
            seen.add(key)
            yield _outcome(asked, record), record


def _planned(plan: Plan) -> Iterator[tuple[tuple[UUID, str], PlannedSet]]:
    first: dict[tuple[UUID, str], PlannedSet] = {}
    for item in plan.items:
        for one in item.sets:
            if not one.ramp and one.expected_reps is not None:
                first.setdefault((item.item_id, one.side), one)
    yield from first.items()


def _outcome(planned: PlannedSet, record: LoggedSet) -> Outcome:
    reps = record.reps or 0
    low, high = _told(record, reps)
    short = planned.reps_low is not None and reps < planned.reps_low
    told = bool(record.to_failure) or record.reps_in_reserve is not None
    spent = bool(record.to_failure) or (record.reps_in_reserve is not None and record.reps_in_reserve < 0.5)
    # Who tells effort only where it went wrong must not make plans look worse: what was not told is not judged.
    too_hard = (short or spent) if told else None
    return Outcome(planned, _is_changed(planned, record), low, high, too_hard)


def _told(record: LoggedSet, reps: int) -> tuple[Repetitions, Repetitions] | tuple[None, None]:
    if record.to_failure:
        return reps, reps + 1.0
    if record.reps_in_reserve is None or record.reps_in_reserve > MOST_RESERVE:
        return None, None
    told = reps + record.reps_in_reserve
    return max(told - 0.5, float(reps)), told + 0.5


def _is_changed(planned: PlannedSet, record: LoggedSet) -> bool:
    """Whether another load was lifted than was planned: then the plan is not judged by it."""
    if planned.level is not None:
        return record.level != planned.level
    if planned.load is None:
        return record.load is not None and record.load.value > 0.0
    if record.load is None:
        return True
    wanted = mass_to_kg(planned.load.value, planned.load.unit)
    return abs(mass_to_kg(record.load.value, record.load.unit) - wanted) > SAME_LOAD * max(wanted, 1.0)
