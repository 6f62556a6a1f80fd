"""What is due between sessions: a question for the morning, a test again, a tape measure, a set taken to the same effort."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final, Literal, get_args

from service.catalogue.records import Exercise
from service.core.estimates import Param, Reason
from service.core.progression.timed import CARRY, HOLD
from service.usecases.answers.asking_effort import least_left
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet
from service.usecases.answers.joint_retests import open_retests
from service.usecases.answers.pain_asking import missing_numbers, open_mornings, spoken_region
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller, documents
from service.usecases.answers.weeks import calendar_of
from service.usecases.documents import Document, without_nulls
from service.usecases.records.base import BodySide
from service.usecases.records.log import Girth

CheckKind = Literal["pain_number", "next_morning_pain", "retest", "girth", "effort_of_sides", "test_set"]
ALL_KINDS: Final[tuple[CheckKind, ...]] = get_args(CheckKind)
#: What tells more of the sides.
OF_SIDES: Final[tuple[CheckKind, ...]] = ("girth", "effort_of_sides", "retest")

#: A girth that serves an aim is read again after six weeks (judgement: a month's growth lies within the tape's error).
GIRTH_AFTER: Final = timedelta(weeks=6)
#: Sides that copy each other's repetitions tell their effort every third week (judgement).
EFFORT_AFTER: Final = timedelta(weeks=3)
#: After so many sessions of a lift without a word on effort one test set is asked for (judgement), and again so often.
SILENT_SESSIONS: Final = 8
#: What a test set leaves at the least; more where a limit asks for more (judgement). [repetitions]
TEST_RESERVE: Final = 2.0
#: How far ahead a check is told of (judgement).
AHEAD: Final = timedelta(weeks=1)
#: Failing here leaves nobody under a load: where a test set may be done.
_SAFEST_EXIT = 1


@dataclass(frozen=True, slots=True)
class _Check:
    kind: CheckKind
    due_on: date
    reason: Reason
    place: dict[str, Any] = field(default_factory=dict)


def due_checks(
    situation: Situation,
    histories: Histories,
    teller: Teller,
    kinds: Collection[CheckKind] = ALL_KINDS,
    lacks: Callable[[Exercise], bool] | None = None,
) -> list[Document]:
    """Return what is due by a week from now, the earliest first, each with the reason that tells it.

    ``lacks`` says what cannot be done where the athlete is, where that is known: no set of it is asked for.
    """
    until = situation.local_date + AHEAD
    due = [one for one in _all(situation, histories, lacks) if one.kind in kinds and one.due_on <= until]
    due.sort(key=lambda one: (one.due_on, one.kind, sorted(map(str, one.place.values()))))
    told = []
    for one in due:
        document: Document = {
            "kind": one.kind,
            "due_on": one.due_on,
            **one.place,
            "reason": documents([teller.reason(one.reason)])[0],
        }
        told.append(without_nulls(document))
    return told


def _all(
    situation: Situation, histories: Histories, lacks: Callable[[Exercise], bool] | None
) -> Iterator[_Check]:
    lifts = [
        history for history in histories.by_exercise.values() if lacks is None or not lacks(history.exercise)
    ]
    yield from _numbers(situation, histories)
    yield from _mornings(situation, histories)
    yield from _retests(situation)
    yield from _girths(situation)
    for history in lifts:
        yield from _effort_of_sides(history, situation)
    yield from _test_set(situation, histories, lifts)


def _numbers(situation: Situation, histories: Histories) -> Iterator[_Check]:
    """Pain that was named without a number asks for it, until one is told."""
    sets = [seen for history in histories.by_exercise.values() for seen in history.sets]
    for one in missing_numbers(sets, situation):
        region = one.place.region
        place = {"region": region, "side": one.place.side, "exercise_id": one.place.exercise_id}
        yield _Check(
            "pain_number", one.on, Reason("due.pain_number", {"region": spoken_region(region)}), place
        )


def _mornings(situation: Situation, histories: Histories) -> Iterator[_Check]:
    """Pain that was told asks how the next morning was, until that is told."""
    sets = [seen for history in histories.by_exercise.values() for seen in history.sets]
    for one in open_mornings(sets, situation):
        region = one.place.region
        params: dict[str, Param] = {"region": spoken_region(region)}
        reason = Reason("due.next_morning_of_pain", params)
        if one.pain is not None:
            reason = Reason("due.next_morning_pain", {**params, "pain": one.pain})
        place = {"region": region, "side": one.place.side, "exercise_id": one.place.exercise_id}
        yield _Check("next_morning_pain", one.on, reason, place)


def _retests(situation: Situation) -> Iterator[_Check]:
    """A limit under `improve`, or a joint test while there is one, is tested again."""
    for one in open_retests(situation):
        place = {"region": one.region, "motion": one.motion, "test": one.test, "side": one.side}
        yield _Check("retest", one.on, one.reason, place)


def _girths(situation: Situation) -> Iterator[_Check]:
    """A girth is read again where an aim wants size, or a gap closed: both sides on one day, by the one read longer ago."""
    if not any(aim.kind in {"grow_muscle", "close_gap"} for aim in situation.aims):
        return
    calendar = calendar_of(situation.athlete)
    newest: dict[str, dict[BodySide, date]] = {}
    for stored in situation.measurements:
        if isinstance(stored.record, Girth):
            day, sides = calendar.day_of(stored.record.at), newest.setdefault(stored.record.site, {})
            for side in _sides_read(stored.record.side):
                sides[side] = max(day, sides.get(side, day))
    for site, read in newest.items():
        params: dict[str, Param] = {"site": site.replace("-", " "), "weeks": GIRTH_AFTER.days // 7}
        yield _Check("girth", min(read.values()) + GIRTH_AFTER, Reason("due.girth", params), {"site": site})


def _sides_read(side: BodySide) -> tuple[BodySide, ...]:
    return ("left", "right") if side == "both" else (side,)


def _effort_of_sides(history: ExerciseHistory, situation: Situation) -> Iterator[_Check]:
    """Where one side copies the other's repetitions, its last set goes to the same reserve every third week, unless something
    stops or holds either side."""
    sets = history.work_sets()
    if history.exercise.laterality != "one_sided" or not any(seen.matched for seen in sets):
        return
    least = least_left(history, situation)
    if least is None:
        return
    compared = [day for day, both in _told_by_day(sets).items() if both]
    due = max(compared, default=min(seen.date for seen in sets)) + EFFORT_AFTER
    params: dict[str, Param] = {"exercise": history.exercise.name}
    reason = Reason("due.effort_of_sides", params)
    if least > 0.0:
        reason = Reason("due.effort_of_sides_leaving", {**params, "left": least})
    yield _Check("effort_of_sides", due, reason, {"exercise_id": history.exercise.exercise_id})


def _told_by_day(sets: Sequence[SeenSet]) -> dict[date, bool]:
    """Return, for each day, whether either side told effort of its own."""
    sides: dict[date, set[str]] = {}
    for seen in sets:
        if not seen.matched and (seen.record.to_failure or seen.record.reps_in_reserve is not None):
            sides.setdefault(seen.date, set()).add(seen.side)
    return {day: {"left", "right"} <= told for day, told in sides.items()}


def _test_set(
    situation: Situation, histories: Histories, lifts: Sequence[ExerciseHistory]
) -> Iterator[_Check]:
    """Where effort was never told in many sessions, one set with a capped reserve tells what all others could not."""
    work = [seen for history in histories.by_exercise.values() for seen in history.work_sets()]
    if any(seen.record.reps_in_reserve is not None or seen.record.to_failure for seen in work):
        return
    sessions = {seen.session for seen in work}
    if len(sessions) < SILENT_SESSIONS:
        return
    for history in sorted(lifts, key=_worth_testing, reverse=True):
        least = least_left(history, situation) if _ends_safely(history) else None
        if least is not None:
            reason = _one_test(history, len(sessions), max(TEST_RESERVE, least))
            yield _Check(
                "test_set", situation.local_date, reason, {"exercise_id": history.exercise.exercise_id}
            )
            return


def _worth_testing(history: ExerciseHistory) -> tuple[bool, int, str]:
    exercise = history.exercise
    return exercise.work == "repetitions", len(history.work_sets()), exercise.exercise_id


def _one_test(history: ExerciseHistory, sessions: int, left: float) -> Reason:
    """Say how far the test set goes: repetitions are left of a lift that is counted, seconds or metres of another."""
    params: dict[str, Param] = {"exercise": history.exercise.name, "sessions": sessions, "left": left}
    if history.exercise.work == "repetitions":
        return Reason("due.test_set", params)
    measure = HOLD if history.exercise.work == "hold" else CARRY
    return Reason("due.test_set_timed", {**params, "more": left * measure.piece, "unit": measure.unit})


def _ends_safely(history: ExerciseHistory) -> bool:
    exercise = history.exercise
    return exercise.failure_exit <= _SAFEST_EXIT and not exercise.free_weight and bool(history.work_sets())
