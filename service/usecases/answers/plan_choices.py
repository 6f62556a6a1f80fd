"""What each side of a lift would do in the next session: the choice of its load, and what keeps that down."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, floor

from service.catalogue.records import Exercise
from service.core.capability import CapabilityForecast
from service.core.estimates import Caution, Reason
from service.core.planning import LimbSide, RuledOut
from service.core.progression import Choice, NoForecast, choose
from service.core.progression.breaks import return_band, standing_band
from service.core.tolerance.cautions import (
    LiftSituation,
    Limits,
    limits_of_lift,
    limits_of_person,
    narrowest,
)
from service.usecases.answers.history import ExerciseHistory, SeenSet, days_since
from service.usecases.answers.missed_lifts import history_of
from service.usecases.answers.plan_limits import min_reserve_of
from service.usecases.answers.plan_request import SessionCase, as_body_side
from service.usecases.answers.progression_case import Wish, caps_of, context_of, target_of, with_reserve
from service.usecases.answers.progression_easing import (
    eased,
    held_at,
    is_lowered,
    loads_under,
    no_more_repetitions,
    stands_apart,
    strictest,
)
from service.usecases.answers.progression_past import Past, past_of
from service.usecases.records.base import Side

#: Reserve wanted of novices, low and high. (judgement)
NOVICE_RESERVE = (2.0, 4.0)
#: Reserve of a lift that was never done, or whose load cannot be named. (judgement)
RESERVE_FIRST = 4.0


@dataclass(frozen=True, slots=True)
class SidePlan:
    """What one side does: a choice of load where one could be made, what it was made from, and its reserve.

    ``is_held`` says that pain or a warning sign holds it, ``is_forced`` that pain takes something off, ``nothing_here``
    that not even the lightest load of the site is light enough.
    """

    side: Side
    least: float
    choice: Choice | None = None
    forecast: CapabilityForecast | None = None
    reasons: tuple[Reason, ...] = ()
    cautions: tuple[Caution, ...] = ()
    is_held: bool = False
    is_forced: bool = False
    nothing_here: bool = False

    @property
    def stands_apart(self) -> bool:
        """Whether a break or a miss of this side alone keeps its load down."""
        return self.choice is not None and stands_apart(self.choice)

    @property
    def reserve(self) -> float:
        """Whole repetitions to leave undone. [repetitions]"""
        return float(ceil(self.least))


def limits_on(case: SessionCase, exercise: Exercise, past: Past) -> Limits:
    """Return what the gate, the person and the lift allow together, with every caution."""
    site = case.stock.site if case.stock is not None else None
    lift = LiftSituation(
        gap_days=days_since(past.last, case.situation),
        failure_exit=exercise.failure_exit,
        alone=site is not None and site.supervised is False,
        catchers=site is not None and bool(site.safety_bars),
        anchored=exercise.implement == "band" or exercise.load_basis == "assistance",
    )
    return narrowest(case.situation.gate, limits_of_person(case.person), limits_of_lift(lift))


class SideChooser:
    """Chooses the load of every side of a lift in one session, each once."""

    def __init__(self, case: SessionCase) -> None:
        self.case = case
        self._chosen: dict[tuple[str, Side], SidePlan] = {}

    def of(self, history: ExerciseHistory, side: Side) -> SidePlan:
        """Return what one side of a lift of repetitions would do."""
        key = (history.exercise.exercise_id, side)
        if key not in self._chosen:
            self._chosen[key] = self._choose(history, side)
        return self._chosen[key]

    def too_heavy(self) -> Iterator[RuledOut]:
        """Yield, by side, the lifts of the log of which even the lightest load here is too likely to be too hard."""
        for exercise_id in self.case.histories.by_exercise:
            history = history_of(self.case.histories, exercise_id)
            if history is None:
                continue
            exercise = history.exercise
            if exercise.work != "repetitions" or not history.work_sets() or self.case.lacks(exercise):
                continue
            for side in history.sides():
                if self.of(history, side).nothing_here:
                    yield RuledOut(exercise_id, "planning.veto_nothing_light", as_body_side(side))

    def without_extra(self) -> dict[str, LimbSide]:
        """Return the lagging side by lift that gets no set beyond the other: it hurts, comes back, or its load is down."""
        lagging = {one: side for one, side in self.case.lagging.items() if side is not None}
        return {one: side for one, side in lagging.items() if self._is_kept_down(one, side)}

    def _is_kept_down(self, exercise_id: str, side: LimbSide) -> bool:
        situation, history = self.case.situation, self.case.histories.by_exercise[exercise_id]
        pains = self.case.pains_of(exercise_id, side)
        if situation.flags.stops_region or any(not pain.increase_allowed for pain in pains):
            return True
        past = past_of(history, side)
        context = context_of(history, past, target_of(history.exercise, past, Wish()), situation)
        if return_band(context.days_since_last, context.after_illness) or standing_band(context.ended_break):
            return True
        if history.exercise.work != "repetitions":
            return False
        plan = self.of(history, side)
        return plan.nothing_here or (plan.choice is not None and is_lowered(plan.choice))

    def _choose(self, history: ExerciseHistory, side: Side) -> SidePlan:
        case, exercise = self.case, history.exercise
        options = case.options(exercise, side)
        past = past_of(history, side)
        limits = limits_on(case, exercise, past)
        least = max(limits.min_reserve, min_reserve_of(case.situation, exercise, side))
        target = target_of(exercise, past, Wish())
        if self.case.situation.training == "novice":
            target = replace(target, reserve_low=NOVICE_RESERVE[0], reserve_high=NOVICE_RESERVE[1])
        target = with_reserve(target, least)
        context = context_of(history, past, target, case.situation)
        last_kg = context.last_load_kg
        pain = strictest(self.case.pains_of(exercise.exercise_id, side), last_kg)
        held = held_at(pain, last_kg, case.situation, past)
        effective = loads_under(options.effective, pain, held, past)
        known = effective and self._same_station(history)
        forecast = history.forecast(case.situation.now_day, side) if known else None
        if forecast is None:
            told = max(RESERVE_FIRST, least)
            why = (Reason("planning.find_load", {"reserve": told}),) if not options.needs_no_load else ()
            return SidePlan(side, told, None, None, why, limits.cautions)
        context = replace(context, held=len(effective) < len(options.effective))
        chosen = choose(forecast, effective, target, caps_of(exercise), context)
        if isinstance(chosen, NoForecast):
            cautions = (*limits.cautions, *chosen.cautions)
            return SidePlan(
                side, max(RESERVE_FIRST, least), None, forecast, (chosen.reason,), cautions,
                nothing_here=chosen.nothing_here,
            )  # fmt: skip
        is_forced = pain is not None and pain.action == "reduce"
        told_reasons = chosen.reasons
        if held is not None:
            chosen = no_more_repetitions(chosen, forecast, last_kg, context.last_reps)
            chosen, told_reasons = eased(chosen, pain, held, past, last_kg)
            if pain is None:
                told_reasons = (Reason("load_progression.hold_for_warning_sign"), *told_reasons)
        middle = RESERVE_FIRST if context.first_time else 0.5 * (target.reserve_low + target.reserve_high)
        return SidePlan(
            side,
            max(float(floor(middle)), chosen.reserve_low, least),
            chosen,
            forecast,
            told_reasons,
            (*limits.cautions, *chosen.cautions),
            is_held=held is not None,
            is_forced=is_forced,
        )

    def _same_station(self, history: ExerciseHistory) -> bool:
        """A level belongs to its station: at another site it says nothing of load."""
        return history.exercise.load_basis != "level" or any(self._here(seen) for seen in history.sets)

    def _here(self, seen: SeenSet) -> bool:
        session = self.case.situation.sessions.get(seen.record.session_id) if seen.record.session_id else None
        site = session.site_id if session is not None else None
        return self.case.stock is not None and site in (None, self.case.stock.site_id)
