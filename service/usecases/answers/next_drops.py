"""Drops after the last set of a lift in a session that is on, with what the athlete's own drops have told."""

from dataclasses import dataclass
from math import exp, floor

from service.core.capability import CapabilityForecast
from service.core.errors import OutsideValidity
from service.core.estimates import Caution, Param, Reason
from service.core.progression import (
    Choice,
    DropFactor,
    DropPlan,
    DropRefusal,
    DropSituation,
    DropWish,
    InSession,
    SetToFailure,
    plan_drops,
)
from service.core.progression.drops import FACTOR_BETWEEN, MOST_OPENING
from service.core.tolerance.cautions import LiftSituation, limits_of_lift
from service.core.units import Share
from service.core.volume.hard_sets import drop_set, hard_set
from service.usecases.answers.compute_drops import SAFE_TO_DROP, repetitions_told, stage_document
from service.usecases.answers.history import days_since
from service.usecases.answers.progression_telling import Advice
from service.usecases.answers.situation import Situation
from service.usecases.answers.strength import Strength
from service.usecases.answers.telling import Teller, documents
from service.usecases.documents import Document

#: Pain from which there are no drops: the first cut of the pain-monitoring model. (from memory; versions differ)
PAIN_ENDS_DROPS = 2.0
#: From here on a failed repetition is hard to get out from under. (judgement, as where chances are capped)
HARD_TO_LEAVE = 2
#: An own factor that owes more than this to the prior is not spoken of. (judgement)
_HARDLY_LEARNED: Share = 0.9


@dataclass(frozen=True, slots=True)
class DropsAsked:
    """So many drops were asked for after the last set of a lift, with so many minutes left (None: time does not matter)."""

    drops: int
    minutes_left: float | None
    situation: Situation
    strength: Strength
    teller: Teller

    def after(self, advice: Advice) -> Document:
        """Return ``drop_set`` with the drops after this set, or with why there are none; nothing where there is no set."""
        choice = advice.choice
        if choice is None:
            return {}
        shift, sd, prior_share = self.strength.after.drop_factor
        factor = DropFactor(shift, min(sd, FACTOR_BETWEEN))
        plan = self._in_time(_planned(advice, choice, self.drops, self.situation, factor))
        name, cautions = advice.exercise.name, documents(self.teller.cautions(_cautions(advice)))
        if isinstance(plan, DropRefusal):
            text = self.teller.texts.render("drops.leave_out", {"exercise": name})
            reasons = documents(self.teller.reasons((plan.reason,)))
            return {
                "drop_set": {"decision": "leave_out", "text": text, "reasons": reasons, "cautions": cautions}
            }
        own = {"value": round(exp(shift), 3), "ln_sd": round(sd, 3), "prior_share": round(prior_share, 3)}
        told = (*plan.reasons, *_of_own(shift, prior_share))
        return {
            "drop_set": {
                **self._stages(plan, advice),
                "own_factor": own,
                "reasons": documents(self.teller.reasons(told)),
                "cautions": cautions,
            }
        }

    def _in_time(self, plan: DropPlan | DropRefusal) -> DropPlan | DropRefusal:
        if isinstance(plan, DropRefusal) or self.minutes_left is None or plan.minutes <= self.minutes_left:
            return plan
        params: dict[str, Param] = {"minutes": self.minutes_left, "needed": plan.minutes}
        return DropRefusal(Reason("drops.no_time_left", params))

    def _stages(self, plan: DropPlan, advice: Advice) -> Document:
        stages = [
            stage_document(one, advice.site.options[one.option.index], self.teller.unit) for one in plan.drops
        ]
        loads = " then ".join(f"{stage['load']['value']:g} {stage['load']['unit']}" for stage in stages)
        params: dict[str, Param] = {"exercise": advice.exercise.name, "loads": loads, "reps": DropWish().reps}
        credit = drop_set(hard_set(plan.opening.reps, to_failure=True), len(stages))
        return {
            "decision": "do",
            "text": self.teller.texts.render("drops.do", params),
            "opening_reps": plan.opening.reps,
            "drops": stages,
            "total_reps": repetitions_told(plan.total_reps, plan.total_interval),
            "minutes": round(plan.minutes, 2),
            "hard_sets": {"value": round(credit.value, 2), "sd": round(credit.sd, 2)},
        }


def _cautions(advice: Advice) -> tuple[Caution, ...]:
    lift = LiftSituation(gap_days=0.0, failure_exit=advice.exercise.failure_exit, p_fail=0.0, drop_set=True)
    return (*limits_of_lift(lift).cautions, Caution("guidance_not_diagnosis"))


def _of_own(shift: float, prior_share: Share) -> tuple[Reason, ...]:
    if prior_share > _HARDLY_LEARNED:
        return ()
    return (Reason("drops.own_drops_tell", {"percent": 100.0 * exp(shift)}),)


def _planned(
    advice: Advice, choice: Choice, drops: int, situation: Situation, factor: DropFactor
) -> DropPlan | DropRefusal:
    refused = _refusal(advice, situation)
    if refused is not None:
        return DropRefusal(refused)
    reps = max(min(floor(advice.forecast.repetitions_at(choice.load_kg).median), MOST_OPENING), 1)
    forecast = advice.forecast.forecast if isinstance(advice.forecast, InSession) else advice.forecast
    curve = forecast.curve if isinstance(forecast, CapabilityForecast) else advice.history.prior.curve
    days = None if advice.past.today else days_since(advice.past.last, situation)
    state = DropSituation(advice.exercise.skill, situation.training == "novice", days)
    try:
        opening = SetToFailure(choice.load_kg, reps, curve)
        return plan_drops(opening, advice.site.effective, DropWish(drops=drops), state, factor)
    except OutsideValidity:
        return DropRefusal(Reason("drops.nothing_light_enough", {"reps": DropWish().reps}))


def _refusal(advice: Advice, situation: Situation) -> Reason | None:
    """Return why there are none whatever the loads: screening, pain, a break, the lift, or sets that are still to come."""
    exercise = advice.exercise
    if situation.training == "novice":
        return Reason("drops.not_for_novices")
    if advice.choice is not None and advice.choice.policy == "return_after_break":
        return Reason("drops.not_after_a_break", {"days": days_since(advice.past.last, situation) or 0.0})
    if not situation.gate.drops_allowed:
        return Reason("drops.not_as_screened")
    if not advice.limits.drops_allowed:
        return Reason("drops.not_for_this_person")
    sets = (*advice.past.last, *advice.past.today)
    told = [
        pain
        for seen in sets
        for one in seen.record.pain
        for pain in (one.during, one.after)
        if pain is not None
    ]
    if (worst := max(told, default=None)) is not None and worst > PAIN_ENDS_DROPS:
        return Reason("drops.not_with_pain", {"pain": worst})
    if advice.pain is not None and not advice.pain.increase_allowed:
        return Reason("drops.not_while_pain_is_watched")
    if exercise.compound or exercise.implement not in SAFE_TO_DROP or exercise.failure_exit >= HARD_TO_LEAVE:
        return Reason("drops.not_this_lift")
    if advice.sets > 1:
        return Reason("drops.after_the_last_set", {"sets": advice.sets})
    return None
