"""What the choice of the next load is told: the target, the caps, what happened before, and what pain and limits say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import TypeVar

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.estimates import Caution, Param, Reason
from service.core.planning import Candidate, Demand, LimbSide, against_range, joint_of
from service.core.progression import Caps, ProgressionContext, RepetitionTarget
from service.core.progression.breaks import return_band, standing_band
from service.core.progression.careful import FIRST_RESERVE
from service.core.tolerance.cautions import (
    LiftSituation,
    Limits,
    Person,
    limits_of_lift,
    limits_of_person,
    narrowest,
)
from service.core.tolerance.pain import PainDecision
from service.core.units import Days, Kilograms, Share
from service.usecases.answers.history import ExerciseHistory, SeenSet, days_since
from service.usecases.answers.loads import BodyMass
from service.usecases.answers.pain_places import pains_of_side
from service.usecases.answers.plan_limits import (
    closes_lifts,
    concerns,
    heaviest_under,
    joint_ranges_of,
    load_cap_of,
    min_reserve_of,
    resting_regions,
    stress_of,
)
from service.usecases.answers.progression_past import (
    SESSIONS_LOOKED_AT,
    Past,
    done_sets,
    missed_in,
    past_of,
    top_sets,
    without_slips,
)
from service.usecases.answers.regions import burdened_joints, joints_of_either_side
from service.usecases.answers.situation import WINDOW, Situation
from service.usecases.records.places import Site

#: Accepted chance of leaving no repetition: where a failed one can trap or comes down from overhead, on machines, and on
#: other free weights, which fail as harmlessly as a machine but less steadily (judgement).
TOO_HARD_TRAPPING, TOO_HARD_OTHER, TOO_HARD_MACHINE = 0.10, 0.15, 0.20
N = TypeVar("N", int, float)
_MACHINES = frozenset({"stack", "plate_loaded", "levels"})
#: A range around what is trained: so many repetitions below and above (judgement).
_RANGE_BELOW, _RANGE_ABOVE = 2, 2
#: Reserve wanted where nothing is asked (judgement). [repetitions]
USUAL_RESERVE = (1.0, 3.0)
#: Width of the range for a lift that was never done (judgement). [repetitions]
_FIRST_WIDTH = 4


@dataclass(frozen=True, slots=True)
class Wish:
    """The asked repetitions and reserve, None where the athlete's own are meant."""

    reps_low: int | None = None
    reps_high: int | None = None
    reserve_low: float | None = None
    reserve_high: float | None = None


def target_of(exercise: Exercise, past: Past, wish: Wish) -> RepetitionTarget:
    """Return the wanted repetitions and reserve: the asked ones, else around what is trained, else the exercise's."""
    lowest, highest = exercise.repetition_range
    recent = [top_sets(done_sets(sets)) for sets in past.sessions[-SESSIONS_LOOKED_AT:]]
    trained = [seen.record.reps or 1 for sets in recent for seen in sets]
    if trained:
        middle = round(median(trained))
        low, high = max(middle - _RANGE_BELOW, 1), middle + _RANGE_ABOVE
    else:
        low, high = lowest, min(highest, lowest + _FIRST_WIDTH)
    low, high = _span(wish.reps_low, wish.reps_high, low, high)
    reserve_low, reserve_high = _span(wish.reserve_low, wish.reserve_high, *USUAL_RESERVE)
    return RepetitionTarget(low, high, reserve_low, reserve_high)


def _span(asked_low: N | None, asked_high: N | None, low: N, high: N) -> tuple[N, N]:
    """Return the asked span; an end that was not asked for gives way to the other one."""
    if asked_low is None:
        low = low if asked_high is None else min(low, asked_high)
    if asked_high is None:
        high = high if asked_low is None else max(high, asked_low)
    return (low if asked_low is None else asked_low), (high if asked_high is None else asked_high)


def least_reserve(context: ProgressionContext, limits: Limits, bounds: "Bounds") -> float:
    """Return the reserve that must be left: what limits ask, and more the first time and after a break."""
    band = return_band(context.days_since_last, context.after_illness) or standing_band(context.ended_break)
    first = FIRST_RESERVE if context.first_time else 0.0
    return max(limits.min_reserve, bounds.min_reserve, first, band.reserve if band is not None else 0.0)


def with_reserve(target: RepetitionTarget, least: float) -> RepetitionTarget:
    """Return a target that leaves at least so much in reserve."""
    if least <= target.reserve_low:
        return target
    return RepetitionTarget(target.low, target.high, least, max(target.reserve_high, least + 1.0))


def caps_of(exercise: Exercise, *, alone: bool = False) -> Caps:
    """Return the accepted chance of leaving no repetition, by how a failed one ends.

    References
    ----------
    Judgement: 0.10 for free weights overhead, on the back or in a squat, and alone; 0.20 on machines.
    """
    if alone:
        return Caps(TOO_HARD_TRAPPING)
    if exercise.implement in _MACHINES:
        return Caps(TOO_HARD_MACHINE)
    squat = exercise.pattern == "knee" and exercise.free_weight
    on_the_back = exercise.position == "supine" and exercise.free_weight
    traps = exercise.failure_exit >= 2 or exercise.overhead or squat or on_the_back
    return Caps(TOO_HARD_TRAPPING if traps else TOO_HARD_OTHER)


def context_of(
    history: ExerciseHistory,
    past: Past,
    target: RepetitionTarget,
    situation: Situation,
    *,
    new_station: bool = False,
) -> ProgressionContext:
    """Return what happened before on this exercise and side."""
    exercise = history.exercise
    believed = without_slips(past, history, situation.now_day)
    last = believed.last
    done = done_sets(last)
    top = top_sets(done or last)
    first = top[0].load if top else None
    days = days_since(past.last, situation)
    if not past.sessions:
        days = _days_since_the_window(history, past, situation)
    return ProgressionContext(
        last_load_kg=first.kilograms if first is not None else None,
        last_reps=max((seen.record.reps or 0 for seen in top), default=0) or None,
        first_time=days is None or history.only_missed,
        days_since_last=days,
        effort_missing_count=past.effort_missing(),
        novice=situation.training == "novice",
        single_joint=not exercise.compound,
        upper_body=exercise.body_part != "lower",
        sessions_above_range=past.above_range(target.high),
        after_illness=is_after_illness(past.last[-1].date if past.sessions else None, situation),
        ended_break=past.ended_break(situation.now_day),
        new_station=new_station,
        missed_kg=None if done else missed_in(believed.tried if history.only_missed else last),
        most_kg=believed.heaviest_kg,
        shown=(believed if past.tried else past_of(history, None)).shown(),
    )


def _days_since_the_window(history: ExerciseHistory, past: Past, situation: Situation) -> Days | None:
    """Return the days since sets older than the window that strength is still known from, None where there are none.

    Sets of the window but today's, of the other side or such as tell no load, are no return of this one. [d]
    """
    today = {seen.session for seen in past.today}
    if any(seen.session not in today for seen in history.sets):
        return None
    newest = history.last_told(before_newest_session=bool(today))
    days = situation.now_day - newest if newest is not None else 0.0
    return days if days > WINDOW / timedelta(days=1) else None


def is_after_illness(newest: date | None, situation: Situation) -> bool:
    """Whether an illness was told and nothing done since the day of the newest set: one return is careful, not every
    session after it."""
    screening = situation.screening
    if screening is None or "illness" not in screening.conditions:
        return False
    return newest is None or newest <= screening.performed_on


def is_alone(site: Site) -> bool:
    """Whether the athlete is alone: only a site that says that nobody supervises it is such a one."""
    return site.supervised is False


def limits_of(
    exercise: Exercise,
    days: Days | None,
    situation: Situation,
    bars: bool | None,
    p_fail: Share = 0.0,
    *,
    alone: bool = False,
) -> Limits:
    """Return what screening, person and lift leave, with their cautions."""
    conditions = frozenset(situation.screening.conditions if situation.screening is not None else ())
    person = Person(situation.age_years, conditions, situation.training == "novice")
    lift = LiftSituation(
        gap_days=days,
        failure_exit=exercise.failure_exit,
        p_fail=p_fail,
        alone=alone,
        catchers=bool(bars),
        anchored=exercise.implement == "band" or exercise.load_basis == "assistance",
    )
    return narrowest(situation.gate, limits_of_person(person), limits_of_lift(lift))


@dataclass(frozen=True, slots=True)
class Bounds:
    """What limits say of one exercise and side: reserve to keep, heaviest effective load [kg], why it is closed."""

    min_reserve: float = 0.0
    load_cap_kg: Kilograms | None = None
    closed: Reason | None = None


def bounds_of(exercise: Exercise, side: Side, situation: Situation, body: BodyMass) -> Bounds:
    """Return what the athlete's limits and the clearance say of one exercise and side."""
    lift = exercise.exercise_id
    cap = load_cap_of(situation, exercise, side)
    closed = (
        _resting(exercise, side, situation)
        or _set_aside(lift, side, situation)
        or _outside(exercise, side, situation)
    )
    heaviest = None if cap is None else heaviest_under(cap, exercise, body)
    return Bounds(min_reserve_of(situation, exercise, side), heaviest, closed)


def _set_aside(exercise_id: str, side: Side, situation: Situation) -> Reason | None:
    """Return that a limit closes an exercise that it names, None where none does."""
    closing = (limit for limit in situation.limits if closes_lifts(limit) and concerns(limit.side, side))
    named = any(exercise_id in limit.exercise_ids for limit in closing)
    return Reason("load_progression.limit_replaces") if named else None


def _resting(exercise: Exercise, side: Side, situation: Situation) -> Reason | None:
    """Return why a region that rests cannot under a lift, None where it can; what is not known fails."""
    burdened, either = burdened_joints(exercise), joints_of_either_side(exercise)
    for resting in resting_regions(situation):
        bound = concerns(resting.side, side) or resting.region in either
        if bound and resting.region in burdened:
            return Reason(resting.code, {"region": resting.region})
    return None


def _outside(exercise: Exercise, side: Side, situation: Situation) -> Reason | None:
    """Return why a lift may leave an allowed joint range, None where it stays inside; what is not known fails.

    The rule is the plan's: a range is kept with the spread over people and set-ups to spare.
    """
    demands = tuple(Demand(d.motion, d.from_deg, d.to_deg, d.sd_deg) for d in exercise.joint_demands)
    lift = Candidate(
        exercise_id=exercise.exercise_id,
        involvement=(),
        joint_stress=stress_of(exercise),
        demands=demands or None,
    )
    either = joints_of_either_side(exercise)
    for allowed in joint_ranges_of(situation):
        bound = concerns(allowed.side, side) or joint_of(allowed.motion) in either
        why = against_range(lift, allowed) if bound else None
        if why is None:
            continue
        params: dict[str, Param] = {
            "motion": allowed.motion.replace("_", " "),
            "from_deg": allowed.from_deg,
            "to_deg": allowed.to_deg,
        }
        known = why.code == "planning.veto_joint_range"
        code = "load_progression.outside_joint_range" if known else "load_progression.joint_range_unknown"
        return Reason(code, params)
    return None


def pain_of(history: ExerciseHistory, side: Side, situation: Situation) -> PainDecision | None:
    """Return what pain lately told of this lift, or of a region that it loads, asks for; None without pain told.

    A session that tells nothing takes nothing back. Of several places that hurt the one that asks for most care decides.
    """
    return pain_of_lift(history.exercise, history.sets, side, situation)


def pain_of_lift(
    exercise: Exercise, sets: Sequence[SeenSet], side: Side, situation: Situation
) -> PainDecision | None:
    """Return what pain asks for of a lift with these sets; of one that was never done what is told of its regions."""
    told = pains_of_side(exercise, sets, side, situation)
    return next((one.decision for one in told), None)


def pains_on(
    exercise: Exercise, sets: Sequence[SeenSet], situation: Situation
) -> Mapping[LimbSide, PainDecision]:
    """Return what pain asks for of a lift with these sets, by side, where any was told."""
    sides: tuple[LimbSide, ...] = ("left", "right")
    told = {side: pain_of_lift(exercise, sets, side, situation) for side in sides}
    return {side: decision for side, decision in told.items() if decision is not None}


def cautions_of(limits: Limits, decision: PainDecision | None, situation: Situation) -> list[Caution]:
    """Return the cautions of a lift: warning signs, pain, screening, person and lift."""
    from_pain = decision.cautions if decision is not None else ()
    return [*situation.flags.cautions, *from_pain, *limits.cautions]
