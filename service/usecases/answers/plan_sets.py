"""The sets of a planned exercise: load, repetitions and reserve by side, the ramp before them, and what to heed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor

import msgspec

from service.catalogue.records import Exercise
from service.core.estimates import Caution, Reason
from service.core.loadable import Option
from service.core.planning import LimbSide, PlannedExercise
from service.core.progression import Choice, ramp
from service.core.tolerance.cautions import Limits
from service.core.units import Seconds, Share
from service.usecases.answers.capability import measure_of
from service.usecases.answers.history import ExerciseHistory
from service.usecases.answers.missed_lifts import history_of
from service.usecases.answers.plan_choices import SideChooser, SidePlan, limits_on
from service.usecases.answers.plan_limits import min_reserve_of
from service.usecases.answers.plan_reasons import SideReason
from service.usecases.answers.plan_request import SessionCase, rest_of
from service.usecases.answers.progression_adviser import adviser
from service.usecases.answers.progression_case import Wish, caps_of
from service.usecases.answers.progression_easing import (
    is_apart,
    matched,
)
from service.usecases.answers.progression_past import Past
from service.usecases.answers.site_loads import SiteOptions, shown_load
from service.usecases.answers.timed_progression import TimedAdvice, TimedAdviser, length_field
from service.usecases.records.base import Mass, Side
from service.usecases.records.plans import PlannedSet

#: Repetitions of a first time without a load, at least, and the width of their range. (judgement)
FIRST_REPETITIONS, FIRST_WIDTH = 8, 4
#: Rest between warm-up sets, and between the sides of one set. (judgement) [s]
REST_RAMP: Seconds = 30.0
REST_SIDES: Seconds = 20.0
#: A level at a new station starts at this share of the old one: stations differ widely. (judgement)
NEW_STATION_SHARE: Share = 0.6


@dataclass(frozen=True, slots=True)
class MadeSets:
    """The sets of one exercise in order, and why they are as they are, side by side; whether both sides do the same."""

    sets: list[PlannedSet]
    policy: str | None
    reasons: tuple[SideReason, ...]
    cautions: tuple[Caution, ...]
    source_keys: tuple[str, ...] = ()
    sides_match: bool = True


class SetMaker:
    """Makes the sets of every planned exercise of one session."""

    def __init__(self, case: SessionCase, chooser: SideChooser) -> None:
        self.case = case
        self.chooser = chooser

    def sets_of(self, planned: PlannedExercise) -> MadeSets:
        """Return the sets of one planned exercise."""
        exercise = self.case.exercises[planned.exercise_id]
        history = history_of(self.case.histories, planned.exercise_id)
        if history is None:
            raise LookupError(planned.exercise_id)
        if exercise.work != "repetitions":
            return self._timed(planned, history)
        options = self.case.made(exercise)
        plans = [self.chooser.of(history, side) for side in _sides(planned, exercise)]
        plans = self._matched(plans, planned)
        # What pain takes off is told before what a break or a miss does, and that before what else is done.
        by_care = sorted(plans, key=lambda plan: (not plan.is_forced, not plan.stands_apart))
        choices = [plan.choice for plan in by_care if plan.choice is not None]
        pains = [
            (plan.side, pain)
            for plan in plans
            for pain in self.case.pains_of(exercise.exercise_id, plan.side)
        ]
        return MadeSets(
            sets=list(self._rounds(planned, exercise, options, plans)),
            policy=choices[0].policy if choices else None,
            reasons=(
                *((side, r) for side, pain in pains for r in pain.reasons),
                *((plan.side, r) for plan in by_care for r in plan.reasons),
            ),
            cautions=(
                *(c for _, pain in pains for c in pain.cautions),
                *(c for plan in plans for c in plan.cautions),
            ),
            source_keys=(
                *(key for plan in plans if plan.forecast for key in plan.forecast.source_keys),
                *(key for choice in choices for key in choice.source_keys),
            ),
            sides_match=len({choice.load_index for choice in choices}) < 2,
        )

    def _matched(self, plans: list[SidePlan], planned: PlannedExercise) -> list[SidePlan]:
        """Where one side is behind it sets load and repetitions, and the other matches them (common practice).

        Each side keeps its own chances, and none copies where pain or a warning sign holds it, as in the next load.
        """
        behind = any(reason.code == "planning.lagging_side_first" for reason in planned.reasons)
        if (
            not behind
            or len(plans) < 2
            or is_apart(self.case.exercises[planned.exercise_id], self.case.situation)
        ):
            return plans
        first, own = plans
        if (
            first.choice is None
            or first.is_forced
            or own.choice is None
            or own.is_held
            or own.forecast is None
        ):
            return plans
        too_hard = caps_of(self.case.exercises[planned.exercise_id]).too_hard
        found = matched(own.choice, first.choice, first.side, own.forecast, too_hard)
        return plans if found is None else [first, replace(own, choice=found[0], reasons=found[1])]

    def _rounds(
        self, planned: PlannedExercise, exercise: Exercise, options: SiteOptions, plans: Sequence[SidePlan]
    ) -> Iterator[PlannedSet]:
        if planned.ramped:
            for plan in plans:
                yield from self._ramp(plan, exercise, options)
        for place in range(planned.rounds):
            working = [plan for plan in plans if place < _count(planned, plan.side)]
            for plan in working:
                rest = rest_of(exercise) if plan is working[-1] else REST_SIDES
                yield self._work(plan, exercise, options, place, rest)

    def _ramp(self, plan: SidePlan, exercise: Exercise, options: SiteOptions) -> Iterator[PlannedSet]:
        if plan.choice is None:
            return
        on_the_way = self.case.ramp_options(exercise, options.options[plan.choice.load_index])
        for warm_up in ramp(plan.choice.load_kg, on_the_way.effective):
            option = on_the_way.options[warm_up.option.index]
            yield PlannedSet(
                side=plan.side, ramp=True, load=self._load(option), made_of=list(option.made_of),
                reps_low=warm_up.reps, reps_high=warm_up.reps, rest_after_s=REST_RAMP,
            )  # fmt: skip

    def _load(self, option: Option) -> Mass | None:
        return None if option.unit == "{level}" else shown_load(option, self.case.situation.unit)

    def _work(
        self, plan: SidePlan, exercise: Exercise, options: SiteOptions, place: int, rest: Seconds
    ) -> PlannedSet:
        choice = plan.choice
        if choice is None:
            level = self._first_level(exercise, options)
            low, high = _first_range(exercise)
            return PlannedSet(
                side=plan.side, level=level, reps_low=low, reps_high=high, reps_in_reserve=plan.reserve,
                rest_after_s=rest,
            )  # fmt: skip
        option = options.options[choice.load_index]
        fewest, most = _repetitions(choice, plan.reserve)
        planned = PlannedSet(
            side=plan.side,
            reps_low=fewest,
            reps_high=most,
            load=None if options.needs_no_load else self._load(option),
            level=option.label if exercise.load_basis == "level" else None,
            made_of=list(option.made_of),
            reps_in_reserve=plan.reserve,
            rest_after_s=rest,
        )
        return _with_forecast(planned, choice) if place == 0 else planned

    def _first_level(self, exercise: Exercise, options: SiteOptions) -> str | None:
        """Return the level to start a new station at, None where no level was ever logged or none is there."""
        history = self.case.histories.by_exercise.get(exercise.exercise_id)
        last = history.work_sets()[-1:] if history is not None else []
        if exercise.load_basis != "level" or not last or last[0].load is None or not options.options:
            return None
        rank = max(int(NEW_STATION_SHARE * last[0].load.kilograms), 1)
        return options.options[min(rank, len(options.options)) - 1].label

    def _timed(self, planned: PlannedExercise, history: ExerciseHistory) -> MadeSets:
        """Holds and carries: what is likely to be reached, or a first length where nothing is known."""
        exercise = history.exercise
        advised = self._advised(history)
        done = history.work_sets()
        limits = limits_on(self.case, exercise, Past([done] if done else []))
        sets = [
            self._timed_set(self._usual(exercise, side, limits), exercise, advised.get(side), place)
            for place in range(planned.rounds)
            for side in _sides(planned, exercise)
            if place < _count(planned, side)
        ]
        # What pain takes off is told before what else is done.
        working = [advised[side] for side in _sides(planned, exercise) if side in advised]
        by_care = sorted(working, key=lambda one: not one.is_reduced)
        cautions = (*limits.cautions, *(c for one in advised.values() if one.pain for c in one.pain.cautions))
        if not by_care:
            reason = Reason("planning.first_length", {"longest": measure_of(exercise).longest})
            return MadeSets(sets, None, (("both", reason),), cautions)
        policies = [one.choice.policy for one in by_care if one.choice is not None]
        return MadeSets(
            sets, policies[0], tuple((one.side, r) for one in by_care for r in one.reasons), cautions
        )

    def _usual(self, exercise: Exercise, side: Side, limits: Limits) -> PlannedSet:
        least = max(limits.min_reserve, min_reserve_of(self.case.situation, exercise, side))
        return PlannedSet(side=side, reps_in_reserve=least or None, rest_after_s=rest_of(exercise))

    def _advised(self, history: ExerciseHistory) -> dict[Side, TimedAdvice]:
        if self.case.stock is None:
            return {}
        lift = adviser(history, self.case.situation, self.case.stock, Wish())
        return {one.side: one for one in TimedAdviser(lift).advices() if one.choice is not None}

    def _timed_set(
        self, usual: PlannedSet, exercise: Exercise, advice: TimedAdvice | None, place: int
    ) -> PlannedSet:
        """Return one hold or carry; the chance of it is told of the first, later ones follow from how it went."""
        choice = advice.choice if advice is not None else None
        length = float(exercise.repetition_range[0]) if choice is None else choice.length
        named = {length_field(exercise): length}
        if advice is None or choice is None:
            return msgspec.structs.replace(usual, **named)
        option = advice.site.options[choice.option.index]
        chances = {"p_wanted": round(choice.p_reached, 3)} if place == 0 else {}
        return msgspec.structs.replace(
            usual,
            load=None if advice.site.needs_no_load else self._load(option),
            level=option.label if exercise.load_basis == "level" else None,
            made_of=list(option.made_of),
            **named,
            **chances,
        )


def _first_range(exercise: Exercise) -> tuple[int, int]:
    """Return the repetitions of a lift whose load cannot be named: enough of them to learn it."""
    lowest, highest = exercise.repetition_range
    low = min(max(lowest, FIRST_REPETITIONS), highest)
    return low, min(low + FIRST_WIDTH, highest)


def _repetitions(choice: Choice, reserve: float) -> tuple[int, int]:
    """Return the repetitions to aim at: the target's range, cut where more would leave too little in reserve."""
    likely = choice.reps + choice.reserve
    fewest = min(choice.reps, choice.reps_low)
    most = max(min(choice.reps_high, floor(likely - reserve)), 1)
    return max(min(fewest, most), 1), most


def _with_forecast(planned: PlannedSet, choice: Choice) -> PlannedSet:
    """Return the first set of a side with what is expected of it; later ones follow from how it went."""
    expected = choice.expected_reps
    return msgspec.structs.replace(
        planned,
        expected_reps=round(choice.reps + choice.reserve, 2),
        expected_reps_lower=round(max(expected.lower, 0.0), 2),
        expected_reps_upper=round(max(expected.upper, 0.0), 2),
        interval_mass=expected.mass,
        p_wanted=round(choice.p_wanted, 3),
        p_too_hard=round(choice.p_too_hard, 3),
    )


def _sides(planned: PlannedExercise, exercise: Exercise) -> tuple[Side, ...]:
    """Return the sides in the order in which they work."""
    if exercise.laterality != "one_sided":
        return ("both",)
    first: LimbSide = planned.first_side or "left"
    other: LimbSide = "right" if first == "left" else "left"
    return tuple(side for side in (first, other) if _count(planned, side))


def _count(planned: PlannedExercise, side: Side) -> int:
    if side == "both":
        return planned.rounds
    return planned.sets_left if side == "left" else planned.sets_right
