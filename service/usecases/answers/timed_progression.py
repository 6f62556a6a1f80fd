"""The next hold or carry of a lift that is timed or measured, by side, with a load that the site can make."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability import CapabilityForecast, Side
from service.core.curve import length_held
from service.core.estimates import Caution, Param, Reason
from service.core.progression import SOURCE_KEYS
from service.core.progression.breaks import EndedBreak, return_band
from service.core.progression.timed import (
    TimedChoice,
    TimedPast,
    choose_timed,
    expected_length,
)
from service.core.tolerance.cautions import BREATH_CONDITIONS, Limits, cautions_of_plan
from service.core.tolerance.pain import PainDecision
from service.core.units import Share
from service.usecases.answers.capability import measure_of, told_basis
from service.usecases.answers.history import SeenSet, days_since
from service.usecases.answers.plan_limits import sides_differ, unknown_regions, up_to
from service.usecases.answers.progression_adviser import Adviser
from service.usecases.answers.progression_case import (
    Bounds,
    bounds_of,
    cautions_of,
    is_after_illness,
    is_alone,
    limits_of,
    pain_of,
)
from service.usecases.answers.progression_easing import eased_hold, held_at, loads_under, nothing_light
from service.usecases.answers.progression_past import USUAL_SETS, Past, rounds, top_sets, was_tried
from service.usecases.answers.progression_telling import MOST_REASONS, made_load, text_of, way_of
from service.usecases.answers.session_time import rested, seconds_of_sets, sets_that_fit
from service.usecases.answers.site_loads import SiteOptions, options_for
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller, documents, estimate_document
from service.usecases.documents import Document

_DECIMALS = 4
#: No long holds where holding the breath is left to a clinician's advice (common practice); how long is judgement. [s]
MOST_WITH_CARE = 20.0
#: What says that a side comes back from a break of its own.
_RETURNING = frozenset({"timed.length_after_break", "timed.still_returning"})


def length_of(seen: SeenSet) -> float:
    """Return how long a hold or how far a carry was, 0 where it was not told. [s] or [m]"""
    return length_held(seen.exercise.work, seen.record.hold_s, seen.record.distance_m)


def length_field(exercise: Exercise) -> str:
    """Return the name under which a length is told."""
    return "hold_s" if exercise.work == "hold" else "distance_m"


@dataclass(frozen=True, slots=True)
class TimedAdvice:
    """What to do next in one hold or carry on one side; without a choice, ``action`` says why there is none."""

    side: Side
    forecast: CapabilityForecast
    site: SiteOptions
    past: Past
    limits: Limits
    pain: PainDecision | None
    action: str = "do"
    choice: TimedChoice | None = None
    reasons: tuple[Reason, ...] = ()
    most_sets: int | None = None

    @property
    def is_reduced(self) -> bool:
        """Whether pain takes something off."""
        return self.pain is not None and self.pain.action == "reduce"

    @property
    def sets(self) -> int:
        """How many working sets are left of the usual number, or of the share of it that is allowed."""
        left = max(self.planned_sets - rounds(self.past.today), 1)
        return left if self.most_sets is None else min(left, self.most_sets)

    @property
    def planned_sets(self) -> int:
        """How many working sets the session has."""
        usual = self.past.usual_sets if self.past.sessions else USUAL_SETS
        share = self.choice.sets_share if self.choice is not None else 0.0
        return max(round(usual * share), 1)


@dataclass(frozen=True, slots=True)
class TimedAdviser:
    """One hold or carry of one athlete at one site; ``session_id`` names the session that is on, None where none is."""

    lift: Adviser
    session_id: UUID | None = None

    @property
    def exercise(self) -> Exercise:
        """The lift."""
        return self.lift.history.exercise

    @property
    def situation(self) -> Situation:
        """The athlete's."""
        return self.lift.situation

    def advices(self) -> list[TimedAdvice]:
        """Return the advice for each side, the lagging one first; none where nothing is known of the lift."""
        history = self.lift.history
        if not history.is_known:
            return []
        sides = self.lift.sides()
        site = options_for(self.lift.stock, self.exercise, self.lift.body, self.lift.search_up_to(sides))
        advices = [advice for side in sides if (advice := self._advise(side, site)) is not None]
        return [*advices[:1], *(self._no_longer(own, advices[0]) for own in advices[1:])]

    def _no_longer(self, own: TimedAdvice, first: TimedAdvice) -> TimedAdvice:
        """Let the leading side do no more than the lagging one, so that the gap does not grow (common practice)."""
        if own.choice is None or first.choice is None or first.choice.policy == "reduce_load":
            return own
        lead, mine = first.choice, own.choice
        if (mine.option.load_kg, mine.length) <= (lead.option.load_kg, lead.length):
            return own
        if _returns(lead) != _returns(mine) or sides_differ(self.situation, self.exercise):
            # A break or a limit of one side neither lowers the other one, nor is it said away by what the other one does.
            return own
        at_load = own.forecast.repetitions_at(lead.option.load_kg)
        reached = at_load.probability_at_least(lead.length / measure_of(self.exercise).piece)
        reason = Reason("load_progression.length_of_other_side", {"side": first.side})
        # What takes sets off this side takes no sets off the other, and the other way round.
        choice = replace(lead, p_reached=max(reached, mine.p_reached), sets_share=mine.sets_share)
        hurts = own.reasons[:1] if own.pain is not None and not own.pain.increase_allowed else ()
        returns = tuple(one for one in mine.reasons if one.code in _RETURNING)
        return replace(own, choice=choice, reasons=(*hurts, *returns, reason, *lead.reasons[-1:]))

    def past(self, side: Side) -> Past:
        """Return the working holds by session, and those of the session that is on."""
        by_session: dict[int, list[SeenSet]] = {}
        today: list[SeenSet] = []
        for seen in self.lift.history.work_sets(side):
            if not was_tried(seen):
                continue
            if self.session_id is not None and seen.record.session_id == self.session_id:
                today.append(seen)
            else:
                by_session.setdefault(seen.session, []).append(seen)
        return Past(list(by_session.values()), today)

    def _advise(self, side: Side, site: SiteOptions) -> TimedAdvice | None:
        lift, past = self.lift, self.past(side)
        forecast = lift.history.forecast(self.situation.now_day, side, running=bool(past.today))
        if forecast is None:
            return None
        bounds = bounds_of(self.exercise, side, self.situation, lift.body)
        site_record = lift.stock.site
        days = days_since(past.last, self.situation)
        limits = limits_of(
            self.exercise, days, self.situation, site_record.safety_bars, alone=is_alone(site_record)
        )
        pain = pain_of(lift.history, side, self.situation)
        advice = TimedAdvice(side, forecast, site, past, limits, pain)
        closed = lift.closed_by(bounds, pain, site)
        if closed is not None:
            return replace(advice, action=closed[0], reasons=closed[1])
        before = self._timed_past(advice, bounds, days)
        held = held_at(pain, before.load_kg, self.situation, past)
        loads = loads_under(up_to(site.effective, bounds.load_cap_kg), pain, held, past)
        if not loads:
            return replace(advice, action="not_here", reasons=nothing_light(pain))
        first = float(self.exercise.repetition_range[0])
        choice = choose_timed(forecast, loads, measure_of(self.exercise), first, before)
        choice, why = eased_hold(choice, pain, held, past)
        told = choice.reasons
        if pain is not None and pain.reasons:
            told = (*pain.reasons[:1], *why, *pain.reasons[1:], *choice.reasons[-1:])
        return replace(advice, choice=choice, reasons=told)

    def _timed_past(self, advice: TimedAdvice, bounds: Bounds, days: float | None) -> TimedPast:
        past, pain = advice.past, advice.pain
        last = past.today[-1:] or top_sets(past.last)
        longest = max(last, key=length_of, default=None)
        load_kg = longest.load.kilograms if longest is not None and longest.load is not None else None
        left_kg = pain.heaviest_kg(load_kg) if pain is not None and load_kg is not None else None
        held = self.situation.flags.stops_region or (pain is not None and not pain.increase_allowed)
        conditions = self.situation.screening.conditions if self.situation.screening is not None else []
        newest = past.last[-1].date if past.sessions else None
        ill = is_after_illness(newest, self.situation)
        ended = past.ended_break(self.situation.now_day)
        if past.today and return_band(days, ill) is not None:
            # The session that ends a break stays one through all of its sets.
            ended = EndedBreak(days or 0.0, 0.0, load_kg or 0.0, ill)
        return TimedPast(
            load_kg=load_kg,
            length=length_of(longest) if longest is not None else None,
            days_ago=None if past.today else days,
            after_illness=ill and not past.today,
            least_reserve=max(advice.limits.min_reserve, bounds.min_reserve),
            may_rise=not held and not past.today,
            load_share=left_kg / load_kg if left_kg is not None and load_kg else 1.0,
            most=MOST_WITH_CARE if self._holds_with_care(conditions) else None,
            ended_break=ended,
        )

    def _holds_with_care(self, conditions: Iterable[str]) -> bool:
        """Whether long holds are left out: breath is easily held in them."""
        return self.exercise.work == "hold" and bool(BREATH_CONDITIONS.intersection(conditions))

    def documents(self, teller: Teller, mass: Share) -> list[Document]:
        """Return the advices as items of an answer."""
        return [self.document(advice, teller, mass) for advice in self.advices()]

    def document(self, advice: TimedAdvice, teller: Teller, mass: Share) -> Document:
        """Return one advice as an item of an answer."""
        choice = advice.choice
        item: Document = {
            "action": self._action(advice, teller),
            "exercise_id": self.exercise.exercise_id,
            "exercise_name": self.exercise.name,
            "side": advice.side,
            "decision": "do" if choice is not None else advice.action,
            "load_basis": self.exercise.load_basis,
        }
        if choice is not None:
            item |= self._choice(advice, choice, teller, mass)
        return {
            **item,
            "basis": told_basis(advice.forecast, self.lift.history),
            "reasons": documents(teller.reasons(self._reasons(advice), MOST_REASONS)),
            "cautions": documents(teller.cautions(self._cautions(advice))),
            "sources": sorted({*SOURCE_KEYS, *advice.forecast.source_keys}),
        }

    def _choice(self, advice: TimedAdvice, choice: TimedChoice, teller: Teller, mass: Share) -> Document:
        expected = expected_length(advice.forecast, choice.option.load_kg, measure_of(self.exercise), mass)
        at_load = advice.forecast.repetitions_at(choice.option.load_kg)
        short = 1.0 - at_load.probability_at_least(choice.length / measure_of(self.exercise).piece)
        return {
            "load": made_load(advice.site.options[choice.option.index], teller),
            "sets": advice.sets,
            length_field(self.exercise): choice.length,
            "p_wanted": round(choice.p_reached, _DECIMALS),
            "p_too_hard": round(short, _DECIMALS),
            "expected_length": estimate_document(expected),
            "policy": choice.policy,
        }

    def _reasons(self, advice: TimedAdvice) -> Sequence[Reason]:
        doubts = advice.forecast.reasons_for(advice.forecast.trained_repetitions)
        told = [reason for reason in doubts if reason.code == "capability.mostly_prior"]
        unknown = unknown_regions(self.situation, self.exercise, advice.side)
        ends = advice.reasons[-1:] if advice.choice is not None else ()
        decisive = advice.reasons[: len(advice.reasons) - len(ends)]
        return (*decisive[:1], *unknown, *decisive[1:], *(told if ends else ()), *ends)

    def _cautions(self, advice: TimedAdvice) -> tuple[Caution, ...]:
        told = cautions_of(advice.limits, advice.pain, self.situation)
        plan = cautions_of_plan(told_before=True)
        return (*told, *(plan if advice.choice is not None else plan[:1]))

    def _action(self, advice: TimedAdvice, teller: Teller) -> Document:
        name = self.exercise.name
        who = name if advice.side == "both" else f"{name}, {advice.side} side"
        choice = advice.choice
        if choice is None:
            text = teller.texts.render(text_of(advice.action, advice.reasons), {"who": who})
            return {"code": advice.action, "text": text}
        load = made_load(advice.site.options[choice.option.index], teller)
        params: dict[str, Param] = {
            "who": who,
            "sets": advice.sets,
            "length": choice.length,
            "unit": measure_of(self.exercise).unit,
            "load": f"{load['value']:g} {load['unit']}",
            "level": load.get("label"),
        }
        text = teller.texts.render(f"load_progression.hold_{way_of(self.exercise, load['value'])}", params)
        return {"code": choice.code, "text": text}


def timed_next_set(
    lift: Adviser,
    session_id: UUID | None,
    side: Side | None,
    minutes_left: float | None,
    teller: Teller,
    mass: Share,
) -> list[Document]:
    """Return the next hold or carry of a session that is on, of one side if named; first the side whose turn it is."""
    asked = TimedAdviser(lift, session_id)
    told = [_left(one, asked, minutes_left) for one in asked.advices() if side in {None, one.side}]
    by_turn = sorted(told, key=lambda one: len(one.past.today))
    return [{**asked.document(one, teller, mass), "sets_done": rounds(one.past.today)} for one in by_turn]


def _left(advice: TimedAdvice, asked: TimedAdviser, minutes_left: float | None) -> TimedAdvice:
    """Say how much is done, and that it is enough where all of it is, or where no time is left for one more."""
    today = rounds(advice.past.today)
    if advice.choice is None:
        return advice
    if today:
        done = Reason("load_progression.sets_done", {"done": today, "planned": advice.planned_sets})
        advice = replace(advice, reasons=(*advice.reasons[:1], done, *advice.reasons[1:]))
        if today >= advice.planned_sets:
            return replace(advice, choice=None, action="enough", reasons=(done,))
    if minutes_left is None:
        return advice
    rest = rested(advice.past.today, asked.situation)
    fitting = sets_that_fit(asked.exercise, minutes_left, rest, advice.sets)
    if not fitting:
        needed = seconds_of_sets(asked.exercise, 1, rest) / 60.0
        reason = Reason("load_progression.no_time_left", {"minutes": minutes_left, "needed": needed})
        return replace(advice, choice=None, action="enough", reasons=(reason,))
    return replace(advice, most_sets=fitting)


def _returns(choice: TimedChoice) -> bool:
    """Whether a side comes back from a break, or is in the careful weeks after it."""
    return any(reason.code in _RETURNING for reason in choice.reasons)
