"""Who advises on one lift: what its past, its limits, its pain and the site leave of the loads that could come next."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

from service.core.capability import Side
from service.core.estimates import Reason
from service.core.progression import (
    Caps,
    Choice,
    LoadForecast,
    NoForecast,
    ProgressionContext,
    RepetitionTarget,
    choose,
)
from service.core.symmetry.decisions import AHEAD_PROBABILITY
from service.core.tolerance.pain import PainDecision
from service.core.units import Kilograms, Share
from service.usecases.answers.history import ExerciseHistory
from service.usecases.answers.loads import BodyMass
from service.usecases.answers.plan_limits import up_to
from service.usecases.answers.progression_case import (
    Bounds,
    Wish,
    bounds_of,
    caps_of,
    context_of,
    is_alone,
    least_reserve,
    limits_of,
    pain_of,
    target_of,
    with_reserve,
)
from service.usecases.answers.progression_easing import (
    eased,
    held_at,
    is_apart,
    loads_under,
    matched,
    no_more_repetitions,
    nothing_light,
)
from service.usecases.answers.progression_past import Past, done_sets, past_of, top_sets
from service.usecases.answers.progression_telling import Advice
from service.usecases.answers.site_loads import (
    SEARCH_UP_TO_KG,
    SiteOptions,
    SiteStock,
    levels_for,
    options_for,
)
from service.usecases.answers.situation import Situation
from service.usecases.answers.stations import at_station, by_levels
from service.usecases.folding.evidence import part_of_range

#: Loads are looked for up to this share of the heaviest one of the last session. [1] (judgement)
_SEARCH_SHARE: Share = 1.25
_CLOSED_BY_PAIN = "planning.veto_pain"


def adviser(history: ExerciseHistory, situation: Situation, stock: SiteStock, wish: Wish) -> "Adviser":
    """Return who advises on one lift at one site: in levels where its station there has labels and no masses."""
    exercise = history.exercise
    known = history.is_known or any(seen.load is not None for seen in history.sets)
    if exercise.work != "repetitions" or not known:
        return Adviser(history, situation, stock, wish)
    if exercise.load_basis != "level" and levels_for(stock, exercise) is None:
        return Adviser(history, situation, stock, wish)
    in_levels = by_levels(exercise)
    count = len(options_for(stock, in_levels, situation.body_mass.on(situation.now_day)).options)
    there = at_station(history, situation, stock.site_id, count)
    return Adviser(there, situation, stock, wish, new_station=not there.sets)


@dataclass(frozen=True, slots=True)
class Adviser:
    """One exercise of one athlete at one site; ``new_station`` where its levels there are not known yet."""

    history: ExerciseHistory
    situation: Situation
    stock: SiteStock
    wish: Wish
    new_station: bool = False

    def advices(self) -> list[Advice]:
        """Return the advice for each side, the lagging one first; none where nothing can be said."""
        if not self.is_known:
            return []
        sides = self.sides()
        site = options_for(self.stock, self.history.exercise, self.body, self.search_up_to(sides))
        first = self._advise(sides[0], site)
        advices = [first, *(self._second(side, site, first) for side in sides[1:])]
        reason = self._lagging_reason(sides[0]) if len(sides) > 1 else None
        if reason is not None and first.choice is not None:
            at = len(first.pain.reasons) if first.is_held and first.pain is not None else 1
            advices[0] = replace(first, reasons=(*first.reasons[:at], reason, *first.reasons[at:]))
        return advices

    @property
    def is_known(self) -> bool:
        """Whether anything can be said of this lift in repetitions."""
        return self.history.exercise.work == "repetitions" and self.history.is_known

    @property
    def body(self) -> BodyMass:
        """Body mass now."""
        return self.situation.body_mass.on(self.situation.now_day)

    @property
    def caps(self) -> Caps:
        """The accepted chance that a set is too hard."""
        return caps_of(self.history.exercise, alone=is_alone(self.stock.site))

    def _past(self, side: Side) -> Past:
        return past_of(self.history, side)

    def _forecast(self, side: Side) -> LoadForecast:
        forecast = self.history.forecast(self.situation.now_day, side)
        if forecast is None:
            raise LookupError(self.history.exercise.exercise_id)
        return forecast

    def _context(self, past: Past, target: RepetitionTarget) -> ProgressionContext:
        return context_of(self.history, past, target, self.situation, new_station=self.new_station)

    def _gap(self) -> tuple[float, float]:
        """Return the right side's lead as a log ratio, and the chance that there is one; even where it cannot be told. [1], [1]"""
        forecast = self.history.forecast(self.situation.now_day, "both")
        if forecast is None or not self.history.tells_both_sides:
            return 0.0, 0.5
        half, sd = forecast.half_gap
        return 2.0 * half, NormalDist().cdf(half / sd) if sd > 0.0 else 0.5

    def sides(self) -> tuple[Side, ...]:
        """Return the sides, the lagging one first."""
        sides = self.history.sides()
        lead, _ = self._gap()
        return sides[::-1] if len(sides) > 1 and lead < 0.0 else sides

    def _lagging_reason(self, first: Side) -> Reason | None:
        lead, p_right = self._gap()
        if not lead:
            return None
        surely, apart = (
            max(p_right, 1.0 - p_right),
            is_apart(self.history.exercise, self.situation),
        )
        if surely < AHEAD_PROBABILITY:
            code = "neither_side_weaker_goes_first" if apart else "neither_side_weaker"
            return Reason(f"load_progression.{code}", {"side": first})
        code = "lagging_side_goes_first" if apart else "lagging_side_first"
        params = {"side": first, "gap_percent": 100.0 * abs(lead), "p_percent": 100.0 * surely}
        return Reason(f"load_progression.{code}", params)

    def search_up_to(self, sides: Sequence[Side]) -> Kilograms:
        """Return how heavy loads are looked for. [kg]"""
        done = [
            seen.load.external
            for side in sides
            for seen in past_of(self.history, side).last
            if seen.load is not None
        ]
        return max(SEARCH_UP_TO_KG, _SEARCH_SHARE * max(done, default=0.0))

    def _second(self, side: Side, site: SiteOptions, first: Advice) -> Advice:
        """Advise the other side: it copies what the first one does, unless it has to do less or an aim or a limit names a
        side."""
        own = self._advise(side, site)
        if first.choice is None or first.policy_is_forced:
            return own
        return self._copying(own, first.choice, first.side)

    def _copying(self, own: Advice, lead: Choice, lead_side: Side) -> Advice:
        """Return advice that does the load and repetitions of the leading side where they are not too hard."""
        if own.choice is None or own.is_held or is_apart(self.history.exercise, self.situation):
            return own
        found = matched(own.choice, lead, lead_side, own.forecast, self.caps.too_hard)
        return own if found is None else replace(own, choice=found[0], reasons=found[1])

    def _advise(self, side: Side, site: SiteOptions) -> Advice:
        exercise, past = self.history.exercise, self._past(side)
        forecast = self._forecast(side)
        bounds = bounds_of(exercise, side, self.situation, self.body)
        target = target_of(exercise, past, self.wish)
        context = self._context(past, target)
        site_record = self.stock.site
        limits = limits_of(
            exercise,
            context.days_since_last,
            self.situation,
            site_record.safety_bars,
            alone=is_alone(site_record),
        )
        target = with_reserve(target, least_reserve(context, limits, bounds))
        pain = pain_of(self.history, side, self.situation)
        advice = Advice(
            self.history, side, forecast, site, target, past, limits, pain,
            site_record=site_record,
        )  # fmt: skip
        closed = self.closed_by(bounds, pain, site)
        if closed is not None:
            return replace(advice, action=closed[0], reasons=closed[1])
        return self._chosen(advice, bounds)

    def closed_by(
        self, bounds: Bounds, pain: PainDecision | None, site: SiteOptions
    ) -> tuple[str, tuple[Reason, ...]] | None:
        """Return the action and reasons where no load is given, None where one may be."""
        ended = pain is not None and pain.action in {"stop_movement", "swap"}
        if pain is not None and ended and pain.region is None:
            return ("stop" if pain.action == "stop_movement" else "swap"), pain.reasons
        if bounds.closed is not None and not (ended and bounds.closed.code == _CLOSED_BY_PAIN):
            return "leave_out", (bounds.closed,)
        if pain is not None and ended:
            return "leave_out", (Reason(_CLOSED_BY_PAIN, {"region": pain.region or ""}), *pain.reasons)
        if bounds.closed is not None:
            return "leave_out", (bounds.closed,)
        if site.missing is not None or not site.effective:
            lacking = (site.missing or self.history.exercise.implement).replace("-", " ").replace("_", " ")
            return "not_here", (Reason("load_progression.site_lacks", {"missing": lacking}),)
        if bounds.load_cap_kg is not None and site.effective[0].load_kg > bounds.load_cap_kg:
            return "leave_out", (Reason("load_progression.load_cap"),)
        return None

    def _chosen(self, advice: Advice, bounds: Bounds) -> Advice:
        exercise = self.history.exercise
        context = self._context(advice.past, advice.target)
        options = up_to(advice.site.effective, bounds.load_cap_kg)
        held = held_at(advice.pain, context.last_load_kg, self.situation, advice.past)
        options = loads_under(options, advice.pain, held, advice.past)
        if not options:
            return replace(advice, action="not_here", reasons=nothing_light(advice.pain))
        context = replace(context, held=len(options) < len(advice.site.effective))
        chosen = choose(advice.forecast, options, advice.target, self.caps, context)
        if isinstance(chosen, NoForecast):
            action = "not_here" if chosen.nothing_here else "stop"
            return replace(advice, action=action, reasons=(chosen.reason,))
        reasons = (*self._other_range(advice.past), *chosen.reasons)
        if self.situation.gate.min_reserve > target_of(exercise, advice.past, self.wish).reserve_low:
            reasons = (*reasons[:-1], *self.situation.gate.reasons, *reasons[-1:])
        if held is not None:
            chosen = no_more_repetitions(chosen, advice.forecast, context.last_load_kg, context.last_reps)
            reasons = (*reasons[:-1], chosen.reasons[-1])
        return _with_pain(replace(advice, choice=chosen, reasons=reasons), held, context.last_load_kg)

    def _other_range(self, past: Past) -> tuple[Reason, ...]:
        """Say that the last sets went through a part of the range only, and that the load is for the whole of it."""
        sets = past.today or past.last
        told = {part_of_range(seen.record) for seen in top_sets(done_sets(sets))}
        part = told.pop() if len(told) == 1 else ""
        return (Reason("load_progression.other_range", {"part": part.replace("_", " ")}),) if part else ()


def _with_pain(advice: Advice, held: Kilograms | None, last_kg: Kilograms | None) -> Advice:
    """Say what pain or a warning sign did to the choice."""
    choice, pain = advice.choice, advice.pain
    if pain is not None and pain.increase_allowed:
        pain = None
    if choice is None or held is None:
        # There is no load to come down from, but a region that hurts is heeded all the same.
        return advice if pain is None else replace(advice, reasons=(*pain.reasons, *advice.reasons))
    sign = Reason("load_progression.hold_for_warning_sign")
    first = pain.reasons if pain is not None else (sign,)
    changed, reasons = eased(choice, pain, held, advice.past, last_kg)
    return replace(
        advice, choice=changed, reasons=(*first, *reasons), is_held=True,
        policy_is_forced=pain is not None and pain.action == "reduce",
    )  # fmt: skip
