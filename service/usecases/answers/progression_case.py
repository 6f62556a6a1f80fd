"""What the choice of the next load is told: the target, the caps, what happened before, and what pain and limits say."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TypeVar

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.estimates import Caution, Param, Reason
from service.core.progression import Caps, ProgressionContext, RepetitionTarget
from service.core.progression.breaks import EndedBreak, return_band, standing_band
from service.core.progression.careful import FIRST_RESERVE
from service.core.tolerance.cautions import (
    LiftSituation,
    Limits,
    Person,
    limits_of_lift,
    limits_of_person,
    narrowest,
)
from service.core.tolerance.pain import PainDecision, decide_pain
from service.core.units import Days, Kilograms, Share, mass_to_kg
from service.usecases.answers.history import ExerciseHistory, SeenSet, days_since
from service.usecases.answers.loads import BodyMass, effective_of_external
from service.usecases.answers.pain_reports import PAIN_WINDOW, report_of
from service.usecases.answers.plan_limits import resting_regions, rules_out
from service.usecases.answers.situation import Situation
from service.usecases.records.people import JointLimit
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
#: Sets where none were done yet, and the sessions whose median is the usual number (judgement).
USUAL_SETS, _SESSIONS_LOOKED_AT = 3, 3
#: Days without the lift that count as a break, and the sessions that tell the load before it (judgement).
_BREAK_DAYS, _SESSIONS_BEFORE = 10.0, 3
#: Sets of one load within this share are at the same load. [1] (judgement)
_SAME_LOAD: Share = 0.001


@dataclass(frozen=True, slots=True)
class Wish:
    """The asked repetitions and reserve, None where the athlete's own are meant."""

    reps_low: int | None = None
    reps_high: int | None = None
    reserve_low: float | None = None
    reserve_high: float | None = None


@dataclass(frozen=True, slots=True)
class Past:
    """The working sets of one exercise and side by session, oldest first; ``today`` those of the session that is on."""

    sessions: Sequence[Sequence[SeenSet]]
    today: Sequence[SeenSet] = ()

    @property
    def last(self) -> Sequence[SeenSet]:
        """The working sets of the newest session, none where there is none."""
        return self.sessions[-1] if self.sessions else ()

    @property
    def usual_sets(self) -> int:
        """The usual number of working sets a session."""
        counts = [len(sets) for sets in self.sessions[-_SESSIONS_LOOKED_AT:]]
        return round(median(counts)) if counts else USUAL_SETS

    def effort_missing(self) -> int:
        """Return how many of the newest sessions in a row told no reserve at all."""
        count = 0
        for sets in reversed(self.sessions):
            if any(seen.record.reps_in_reserve is not None or seen.record.to_failure for seen in sets):
                break
            count += 1
        return count

    def above_range(self, high: int) -> int:
        """Return how many of the newest sessions in a row ended two or more repetitions above the range."""
        count = 0
        for sets in reversed(self.sessions):
            if (sets[-1].record.reps or 0) < high + 2:
                break
            count += 1
        return count

    def ended_break(self, now: Days) -> EndedBreak | None:
        """Return the last break between two sessions, None where there was none."""
        days = [sets[0].day for sets in self.sessions]
        gaps = [(place, later - earlier) for place, (earlier, later) in enumerate(pairwise(days), start=1)]
        broken = [(place, gap) for place, gap in gaps if gap > _BREAK_DAYS]
        if not broken:
            return None
        place, gap = broken[-1]
        before = [
            seen.load.kilograms
            for sets in self.sessions[max(place - _SESSIONS_BEFORE, 0) : place]
            for seen in top_sets(sets)
            if seen.load is not None
        ]
        return EndedBreak(gap, now - days[place], max(before, default=0.0))


def past_of(history: ExerciseHistory, side: Side) -> Past:
    """Return the working sets that were counted in repetitions, by session."""
    by_session: dict[int, list[SeenSet]] = defaultdict(list)
    for seen in history.work_sets(side):
        if seen.load is not None and seen.record.reps:
            by_session[seen.session].append(seen)
    return Past(list(by_session.values()))


def top_sets(sets: Sequence[SeenSet]) -> list[SeenSet]:
    """Return the sets at the heaviest load of a session."""
    loads = [seen.load.kilograms for seen in sets if seen.load is not None]
    heaviest = max(loads, default=0.0)
    return [
        seen
        for seen in sets
        if seen.load is not None and seen.load.kilograms >= heaviest * (1.0 - _SAME_LOAD)
    ]


def target_of(exercise: Exercise, past: Past, wish: Wish) -> RepetitionTarget:
    """Return the wanted repetitions and reserve: the asked ones, else around what is trained, else the exercise's."""
    lowest, highest = exercise.repetition_range
    trained = [
        seen.record.reps or 1 for sets in past.sessions[-_SESSIONS_LOOKED_AT:] for seen in top_sets(sets)
    ]
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
    exercise, top = history.exercise, top_sets(past.last)
    first = top[0].load if top else None
    conditions = situation.screening.conditions if situation.screening is not None else []
    return ProgressionContext(
        last_load_kg=first.kilograms if first is not None else None,
        last_reps=max((seen.record.reps or 0 for seen in top), default=None),
        first_time=not past.sessions,
        days_since_last=days_since(past.last, situation),
        effort_missing_count=past.effort_missing(),
        novice=situation.training == "novice",
        single_joint=not exercise.compound,
        upper_body=exercise.body_part != "lower",
        sessions_above_range=past.above_range(target.high),
        after_illness="illness" in conditions,
        ended_break=past.ended_break(situation.now_day),
        new_station=new_station,
    )


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
    reserve, caps, closed = 0.0, list[Kilograms](), _resting(exercise, side, situation)
    clearance = situation.screening.clearance if situation.screening is not None else None
    if clearance is not None:
        reserve = clearance.min_reps_in_reserve or 0.0
        caps += [mass_to_kg(clearance.load_cap.value, clearance.load_cap.unit)] if clearance.load_cap else []
        closed = closed or _outside(exercise, side, clearance.joint_limits)
    for limit in situation.limits:
        named = exercise.exercise_id in limit.exercise_ids
        if limit.side not in {None, "both", side} and side != "both":
            continue
        if named and (limit.mode == "replace" or rules_out(limit)):
            closed = closed or Reason("load_progression.limit_replaces")
        if limit.joint_limit is not None:
            closed = closed or _outside(exercise, side, [limit.joint_limit])
        if named or not limit.exercise_ids:
            reserve = max(reserve, limit.min_reps_in_reserve or 0.0)
            caps += [mass_to_kg(limit.load_cap.value, limit.load_cap.unit)] if limit.load_cap else []
    heaviest = min(caps, default=None)
    if heaviest is not None:
        heaviest = effective_of_external(heaviest, exercise.load_basis, exercise, body)
    return Bounds(reserve, heaviest, closed)


def _resting(exercise: Exercise, side: Side, situation: Situation) -> Reason | None:
    """Return why a lift stresses a region that rests, None where it does not; what is not known fails."""
    stress = dict(exercise.joint_stress)
    for resting in resting_regions(situation):
        concerned = side == "both" or resting.side in {"both", side}
        if concerned and (not stress or stress.get(resting.region, 0) > 0):
            return Reason(resting.code, {"region": resting.region})
    return None


def _outside(exercise: Exercise, side: Side, limits: Iterable[JointLimit]) -> Reason | None:
    """Return why a lift leaves an allowed joint range, None where it stays inside; what is not known fails."""
    for limit in limits:
        if limit.side not in {"both", side} and side != "both":
            continue
        params: dict[str, Param] = {
            "motion": limit.motion.replace("_", " "),
            "from_deg": limit.from_deg,
            "to_deg": limit.to_deg,
        }
        if not exercise.joint_demands:
            return Reason("load_progression.joint_range_unknown", params)
        for demand in exercise.joint_demands:
            ends = sorted((demand.from_deg, demand.to_deg))
            if demand.motion == limit.motion and (ends[0] < limit.from_deg or ends[1] > limit.to_deg):
                return Reason("load_progression.outside_joint_range", params)
    return None


def pain_of(history: ExerciseHistory, side: Side, situation: Situation) -> PainDecision | None:
    """Return what pain in the newest session of this lift, or told of it since, asks for; None without pain told."""
    sessions: dict[int, list[SeenSet]] = defaultdict(list)
    for seen in history.sets:
        if side == "both" or seen.side in {side, "both", "unspecified"}:
            sessions[seen.session].append(seen)
    recent = [
        sets for sets in sessions.values() if situation.as_of - sets[-1].record.performed_at <= PAIN_WINDOW
    ]
    reports = [report_of(sets, history.exercise.exercise_id, side, situation) for sets in recent]
    if not reports or reports[-1] is None:
        return None
    return decide_pain([report for report in reports if report is not None])


def cautions_of(limits: Limits, decision: PainDecision | None, situation: Situation) -> list[Caution]:
    """Return the cautions of a lift: warning signs, pain, screening, person and lift."""
    from_pain = decision.cautions if decision is not None else ()
    return [*situation.flags.cautions, *from_pain, *limits.cautions]
