"""One athlete's question to the planner: candidates, wants, restrictions and allowance, from the situation and a site."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from statistics import NormalDist

from service.catalogue.records import Exercise
from service.core.loadable import Option
from service.core.planning import (
    Allowance,
    BodySide,
    Candidate,
    Demand,
    LimbSide,
    PlanRequest,
    Restrictions,
    RuledOut,
)
from service.core.progression import LoadOption
from service.core.progression.breaks import return_band, standing_band
from service.core.symmetry.decisions import AHEAD_PROBABILITY
from service.core.tolerance.cautions import Person
from service.core.tolerance.pain import PainDecision
from service.core.units import Days, Kilograms, Seconds, Share
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.answers.history import ExerciseHistory, Histories, days_since
from service.usecases.answers.plan_first_times import not_begun_here, trains_with_care
from service.usecases.answers.plan_limits import (
    load_cap_of,
    read_restrictions,
    stress_of,
    under_caps,
    unwanted,
)
from service.usecases.answers.plan_wants import Wants, lift_key, pattern_key, read_wants
from service.usecases.answers.progression_case import Wish, context_of, is_after_illness, pains_on, target_of
from service.usecases.answers.progression_easing import held_at, loads_under, sets_instead, strictest
from service.usecases.answers.progression_past import past_of
from service.usecases.answers.recent_work import RecentWork, read_recent_work
from service.usecases.answers.regions import burdened_joints, joints_of_either_side
from service.usecases.answers.site_loads import SiteOptions, SiteStock, missing_for, options_for, with_bar_of
from service.usecases.answers.situation import Situation
from service.usecases.exercises import ExerciseBook
from service.usecases.kinds import EXERCISE
from service.usecases.ports import UnitOfWork
from service.usecases.records.base import Side

#: Pain above which a region or movement rests: from memory of the pain-monitoring model, as in the core's rules.
PAIN_RESTS_ABOVE = 5.0
#: Time under load of a repetition; a hold or carry is timed by what it asks for. (judgement) [s]
SECONDS_A_REPETITION: Seconds = 4.0
#: Rest after a set: compound lifts, single-joint lifts, trunk; longer rests help a little past about a minute
#: [Singer2024]_, the rest is common practice, no source. [s]
REST_COMPOUND: Seconds = 150.0
REST_SINGLE_JOINT: Seconds = 90.0
REST_TRUNK: Seconds = 60.0
#: Sets of a lift in one session: where nothing is logged, of novices, the first time, and at most. (judgement)
USUAL_SETS, NOVICE_SETS, FIRST_SETS, MOST_SETS = 3, 2, 2, 5
#: Lifts new to the log that one session may hold beside familiar ones. (judgement)
NEW_LIFTS = 2
#: Minutes where neither the request nor the frame says. (judgement)
USUAL_MINUTES = 60.0
#: Hard sets of one muscle in one session [Remmert2025]_ (from memory).
MUSCLE_SETS = 11.0
#: Anchors in a row through which a load may be told, as in the histories.
LONGEST_CHAIN = 2
_SIDES: tuple[LimbSide, ...] = ("left", "right")
_BOTH: BodySide = "both"
_BODY = frozenset({"none", "added", "assistance"})
_MASSLESS = frozenset({"level"})


@dataclass(frozen=True)
class SessionCase:
    """Everything that one plan is made from."""

    situation: Situation
    histories: Histories
    stock: SiteStock | None
    book: ExerciseBook
    own: tuple[Exercise, ...]
    _made: dict[str, SiteOptions] = field(default_factory=dict)

    def made(self, exercise: Exercise) -> SiteOptions:
        """Return the loads that the site can make for an exercise."""
        if exercise.exercise_id not in self._made:
            body = self.situation.body_mass.on(self.situation.now_day)
            found = options_for(self.stock, exercise, body) if self.stock is not None else SiteOptions((), ())
            self._made[exercise.exercise_id] = found
        return self._made[exercise.exercise_id]

    def options(self, exercise: Exercise, side: Side = "both") -> SiteOptions:
        """Return those of them within every cap on the loads of a side."""
        made = self.made(exercise)
        return replace(made, effective=under_caps(made.effective, exercise, side, self.situation))

    def ramp_options(self, exercise: Exercise, top: Option) -> SiteOptions:
        """Return the loads on the way to a top load, made with what makes the top load."""
        if self.stock is None:
            return SiteOptions((), ())
        body = self.situation.body_mass.on(self.situation.now_day)
        return options_for(with_bar_of(self.stock, top), exercise, body)

    @cached_property
    def recent(self) -> RecentWork:
        """What the last days asked of the body."""
        return read_recent_work(self.situation, self.histories)

    @property
    def person(self) -> Person:
        """What cautions need to know of the athlete."""
        screening, situation = self.situation.screening, self.situation
        conditions = frozenset(screening.conditions) if screening is not None else frozenset()
        return Person(situation.age_years, conditions, situation.training == "novice")

    @cached_property
    def exercises(self) -> Mapping[str, Exercise]:
        """The reference list and the tenant's own, by id."""
        return {**self.book.catalogue.exercises, **{one.exercise_id: one for one in self.own}}

    @cached_property
    def lagging(self) -> Mapping[str, LimbSide | None]:
        """The side that is behind, by one-sided exercise in the log; None where the evidence does not decide it."""
        return {
            exercise_id: lagging_side(history)
            for exercise_id, history in self.histories.by_exercise.items()
            if history.exercise.laterality == "one_sided"
        }

    @cached_property
    def wants(self) -> Wants:
        """What the athlete wants."""
        return read_wants(self.situation, self.book, self.lagging)

    @cached_property
    def pains(self) -> Mapping[str, Mapping[LimbSide, PainDecision]]:
        """What pain asks of each movement of the log, by side, and of others where check-ins tell any."""
        told = any(checkin.pain for checkin in self.situation.checkins)
        logged = {one: (known.exercise, known.sets) for one, known in self.histories.by_exercise.items()}
        lifts = {**{one: (lift, []) for one, lift in self.exercises.items() if told}, **logged}
        return {one: pains_on(*lift, self.situation) for one, lift in lifts.items()}

    def pains_of(self, exercise_id: str, side: Side) -> list[PainDecision]:
        """Return what pain asks of one movement on a side, or on any of both."""
        by_side = self.pains.get(exercise_id, {})
        return [pain for one, pain in by_side.items() if side in (one, "both")]

    @cached_property
    def unwanted(self) -> Mapping[str, tuple[LimbSide, ...]]:
        """Exercises that the athlete would rather leave out, and on which sides."""
        return unwanted(self.situation)

    @cached_property
    def restrictions(self) -> Restrictions:
        """Everything that rules exercises out."""
        found = read_restrictions(self.situation, self.pains)
        return replace(found, ruled_out=(*found.ruled_out, *self._too_heavy()))

    @property
    def planning_restrictions(self) -> Restrictions:
        """The same, and the lifts that a plan does not bring in by itself; a coach may still issue them."""
        found = self.restrictions
        not_now = (*self._not_begun_here(), *self._too_heavy_now())
        return replace(found, ruled_out=(*found.ruled_out, *not_now))

    def _too_heavy_now(self) -> Iterator[RuledOut]:
        """Yield, by side, the lifts for which the site has no load as light as pain or a warning sign asks."""
        for exercise_id, history in self.histories.by_exercise.items() if self.stock is not None else ():
            exercise = history.exercise
            for side in history.sides() if not self.lacks(exercise) else ():
                loads = self.options(exercise, side).effective
                if loads and not self._loads_now(history, side, loads):
                    yield RuledOut(exercise_id, "planning.veto_pain_load", as_body_side(side))

    def _loads_now(
        self, history: ExerciseHistory, side: Side, loads: Sequence[LoadOption]
    ) -> Sequence[LoadOption]:
        pains = self.pains_of(history.exercise.exercise_id, side)
        if not pains and not self.situation.flags.stops_region:
            return loads
        past = past_of(history, side)
        last_kg = context_of(
            history, past, target_of(history.exercise, past, Wish()), self.situation
        ).last_load_kg
        pain = strictest(pains, last_kg)
        return loads_under(loads, pain, held_at(pain, last_kg, self.situation, past), past)

    def _not_begun_here(self) -> Iterator[RuledOut]:
        at_site = [exercise for exercise in self.exercises.values() if not self.lacks(exercise)]
        with_care = trains_with_care(self.situation.gate, self.person)
        yield from not_begun_here(
            at_site, self.histories, with_care=with_care, wanted=self.wants.lifts, options=self.options
        )

    def _too_heavy(self) -> Iterator[RuledOut]:
        """Yield, by side, the lifts that cannot be loaded lightly enough for a cap, or whose load is not known."""
        for exercise in self.exercises.values() if self.stock is not None else ():
            for side in _SIDES if exercise.laterality == "one_sided" else (_BOTH,):
                capped = load_cap_of(self.situation, exercise, side) is not None
                if capped and not self.lacks(exercise) and not self.options(exercise, side).effective:
                    yield RuledOut(exercise.exercise_id, "planning.veto_load_cap", side)

    def lacks(self, exercise: Exercise) -> bool:
        """Whether the site lacks something for an exercise."""
        return self.stock is not None and missing_for(self.stock, exercise) is not None

    def sets_share(self, days: Days | None) -> Share:
        """Return the share of the usual sets after so many days off. [1]"""
        newest = max((one.record.performed_at for one in self.situation.sets), default=None)
        band = return_band(
            days, is_after_illness(newest.date() if newest is not None else None, self.situation)
        )
        return 1.0 if band is None else band.sets_share


def as_body_side(side: Side) -> BodySide:
    """Return a side of a lift as a side of the body."""
    return side if side in {"left", "right"} else "both"


def lagging_side(history: ExerciseHistory) -> LimbSide | None:
    """Return the side that is behind where both sides' effort is known and the evidence decides it."""
    forecast = history.forecast(history.known_until, "both") if history.tells_both_sides else None
    half, sd = forecast.half_gap if forecast is not None else (0.0, 0.0)
    if sd <= 0.0:
        return None
    p_right_ahead = NormalDist().cdf(half / sd)
    if p_right_ahead >= AHEAD_PROBABILITY:
        return "left"
    return "right" if p_right_ahead <= 1.0 - AHEAD_PROBABILITY else None


def read_case(
    work: UnitOfWork, book: ExerciseBook, situation: Situation, histories: Histories, stock: SiteStock | None
) -> SessionCase:
    """Return the case of a session, with the tenant's own exercises."""
    own = tuple(
        exercise
        for stored in work.resources.all_of(EXERCISE, None)
        if (exercise := book.find(str(stored.id))) is not None
    )
    return SessionCase(situation, histories, stock, book, own)


def plan_request(
    case: SessionCase,
    minutes: float | None,
    *,
    too_heavy: Iterable[RuledOut],
    without_extra: Mapping[str, LimbSide],
) -> PlanRequest:
    """Return the question to the planner.

    ``too_heavy`` are lifts for which nothing is light enough; ``without_extra`` is the lagging side, by lift, that is kept
    down itself.
    """
    restrictions = case.planning_restrictions
    frame = case.situation.frame
    asked = minutes or (float(frame.minutes) if frame is not None else USUAL_MINUTES)
    familiar = bool(case.histories.by_exercise)
    return PlanRequest(
        candidates=tuple(
            replace(_candidate(case, one), without_extra=without_extra.get(one.exercise_id))
            for one in case.exercises.values()
        ),
        muscles=case.wants.muscles(case.recent),
        works=case.wants.wanted_works(case.recent, case.book),
        restrictions=replace(restrictions, ruled_out=(*restrictions.ruled_out, *too_heavy)),
        allowance=Allowance(
            minutes=asked,
            sessions_left=case.recent.sessions_left,
            muscle_sets=MUSCLE_SETS * case.sets_share(case.recent.gap_days),
            first_times=NEW_LIFTS if familiar else 8,
        ),
    )


def candidate_of(case: SessionCase, exercise: Exercise) -> Candidate:
    """Return an exercise as the planner knows it, whatever the site has and the log says."""
    unknown = exercise.exercise_id in case.book.unknown_demands
    demands = tuple(Demand(d.motion, d.from_deg, d.to_deg, d.sd_deg) for d in exercise.joint_demands)
    return Candidate(
        exercise_id=exercise.exercise_id,
        involvement=tuple((row.muscle_id, row.share) for row in exercise.involvement if row.share > 0.0),
        limbs=exercise.laterality,
        compound=exercise.compound,
        trunk=exercise.body_part == "trunk",
        loaded=exercise.load_basis not in _BODY,
        ramped=exercise.load_basis not in _BODY | _MASSLESS and exercise.work == "repetitions",
        skill=exercise.skill,
        axial_load=exercise.axial_load,
        failure_exit=exercise.failure_exit,
        joint_stress=stress_of(exercise),
        demands=None if unknown else demands,
        burdened=burdened_joints(exercise),
        either_side=joints_of_either_side(exercise),
        serves=_serves(exercise),
        aimed=exercise.exercise_id in case.wants.lifts,
        work_s=work_seconds(exercise),
        rest_s=rest_of(exercise),
    )


def _candidate(case: SessionCase, exercise: Exercise) -> Candidate:
    history = case.histories.by_exercise.get(exercise.exercise_id)
    familiar = history is not None and bool(history.work_sets())
    by_side = _most_sets(case, history if familiar else None)
    most = max(by_side.values())
    return replace(
        candidate_of(case, exercise),
        available=not case.lacks(exercise),
        familiar=familiar,
        load_known=familiar or _load_known(case, exercise),
        unwanted=case.unwanted.get(exercise.exercise_id, ()),
        lagging=case.lagging.get(exercise.exercise_id),
        closing=_closes(case.wants, exercise),
        fewest_sets=min(2, most),
        most_sets=most,
        fewer_sets=tuple((side, by_side[side]) for side in _SIDES if by_side.get(side, most) < most),
    )


def _closes(wants: Wants, exercise: Exercise) -> bool:
    direct = {part.muscle_id for part in exercise.involvement if part.share >= DIRECT_SHARE}
    return exercise.exercise_id in wants.closing_lifts or bool(direct & wants.closing)


def _serves(exercise: Exercise) -> tuple[str, ...]:
    lift = (lift_key(exercise.exercise_id),)
    return (*lift, pattern_key(exercise.pattern)) if exercise.compound else lift


def work_seconds(exercise: Exercise) -> Seconds:
    """Return how long a usual set takes. [s]"""
    low, high = exercise.repetition_range
    middle = 0.5 * (low + high)
    return middle if exercise.work != "repetitions" else middle * SECONDS_A_REPETITION


def rest_of(exercise: Exercise) -> Seconds:
    """Return the rest after a set. [s]"""
    if exercise.body_part == "trunk":
        return REST_TRUNK
    return REST_COMPOUND if exercise.compound else REST_SINGLE_JOINT


def _most_sets(case: SessionCase, history: ExerciseHistory | None) -> dict[Side, int]:
    """Return the most sets of a lift by side: what holds one side leaves the other its own."""
    novice = case.situation.training == "novice"
    if history is None:
        return {"both": FIRST_SETS}
    usual = min(max(_usual_sets(history), NOVICE_SETS if novice else USUAL_SETS), MOST_SETS)
    most = min(usual, NOVICE_SETS) if novice else usual
    return {side: max(int(most * _sets_share(case, history, side) + 0.5), 1) for side in history.sides()}


def _sets_share(case: SessionCase, history: ExerciseHistory, side: Side) -> Share:
    """Return what a side's own break, its careful weeks and pain leave of the usual sets, as the next load does. [1]"""
    past = past_of(history, side)
    context = context_of(history, past, target_of(history.exercise, past, Wish()), case.situation)
    days = context.days_since_last
    if days is None:
        days = days_since(history.work_sets(), case.situation)
    bands = (return_band(days, context.after_illness), standing_band(context.ended_break))
    share = min((band.sets_share for band in bands if band is not None), default=1.0)
    for pain in case.pains_of(history.exercise.exercise_id, side):
        if pain.action == "reduce" and _is_too_heavy(case, history.exercise, side, pain.heaviest_kg(None)):
            share = min(share, sets_instead(pain, past))
    return share


def _is_too_heavy(case: SessionCase, exercise: Exercise, side: Side, heaviest: Kilograms | None) -> bool:
    """Whether even the lightest load there is above the heaviest that is allowed. [kg]"""
    loads = case.options(exercise, side).effective
    return heaviest is not None and bool(loads) and loads[0].load_kg > heaviest * (1.0 + 1e-9)


def _usual_sets(history: ExerciseHistory) -> int:
    """Return the working sets a session of the last sessions, a side."""
    counts: dict[tuple[int, str], int] = {}
    for seen in history.work_sets():
        counts[seen.session, seen.side] = counts.get((seen.session, seen.side), 0) + 1
    recent = list(counts.values())[-8:]
    return round(sum(recent) / len(recent)) if recent else 0


def _load_known(case: SessionCase, exercise: Exercise, chain: int = 0) -> bool:
    """Whether a load can be named for a lift that is not in the log: the body is it, or an anchor lift tells one."""
    if exercise.load_basis == "none":
        return True
    anchor = exercise.anchor
    if anchor is None or exercise.load_basis == "level" or chain > LONGEST_CHAIN:
        return False
    other = case.exercises.get(anchor.exercise_id)
    known = case.histories.by_exercise.get(anchor.exercise_id)
    return known is not None or (other is not None and _load_known(case, other, chain + 1))
