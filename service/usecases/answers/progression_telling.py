"""Advice on the next load as a document: one plain action first, then what it rests on."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, isfinite

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.estimates import Caution, Estimate, Interval, Param, Reason
from service.core.loadable import Option
from service.core.progression import SOURCE_KEYS, Candidate, Choice, LoadForecast, RepetitionTarget, ramp
from service.core.progression.case import SAME_LOAD
from service.core.tolerance.cautions import Limits, cautions_of_plan
from service.core.tolerance.pain import NUMBER_MISSING, PainDecision
from service.core.units import Share
from service.usecases.answers.asking_effort import least_left
from service.usecases.answers.capability import external_estimate, repetitions_document, told_basis
from service.usecases.answers.history import ExerciseHistory, days_since
from service.usecases.answers.plan_limits import unknown_regions
from service.usecases.answers.progression_case import cautions_of, is_alone, limits_of
from service.usecases.answers.progression_easing import stands_at_shown
from service.usecases.answers.progression_past import Past, rounds, top_sets
from service.usecases.answers.site_loads import SiteOptions, shown_load
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller, documents, estimate_document
from service.usecases.documents import Document, to_document
from service.usecases.records.places import Site

MOST_REASONS = 3
_MOST_ALTERNATIVES = 3
_DECIMALS = 4
#: What to do, against the last time.
ACTIONS = (
    "start_low", "return_lighter", "hold_load", "reduce_load", "raise_load", "add_repetitions", "repeat",
    "fewer_repetitions", "add_length", "less_length",
    "enough", "drop", "stop", "swap", "leave_out", "not_here",
)  # fmt: skip
_NAMED_BY_POLICY = {
    "return_after_break": "return_lighter",
    "hold_load": "hold_load",
    "reduce_load": "reduce_load",
}
#: Sessions without told effort after which a test set is worth more than another question (judgement).
_TEST_SET_AFTER = 8
#: An implement and one thing on it: then what is printed on that tells the load.
_ONE_PIECE = 2


@dataclass(frozen=True, slots=True)
class Action:
    """One of `ACTIONS`, and a sentence that can be shown."""

    code: str
    text: str

    def document(self) -> Document:
        """Return it as it is told."""
        return {"code": self.code, "text": self.text}


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next in one exercise on one side; without a choice, ``action`` says why there is no load.

    ``is_held`` says that pain or a warning sign holds it, ``policy_is_forced`` that pain takes something off.
    """

    history: ExerciseHistory
    side: Side
    forecast: LoadForecast
    site: SiteOptions
    target: RepetitionTarget
    past: Past
    limits: Limits
    pain: PainDecision | None
    site_record: Site
    action: str = "do"
    choice: Choice | None = None
    reasons: tuple[Reason, ...] = ()
    policy_is_forced: bool = False
    is_held: bool = False
    most_sets: int | None = None

    @property
    def exercise(self) -> Exercise:
        """The lift."""
        return self.history.exercise

    @property
    def sets(self) -> int:
        """How many working sets are left: the usual number, or a share of it, less those done today, as far as time allows."""
        left = max(self.planned_sets - rounds(self.past.today), 1)
        return left if self.most_sets is None else min(left, self.most_sets)

    @property
    def planned_sets(self) -> int:
        """How many working sets the session has: the usual number, or the share of it that is allowed."""
        share = self.choice.sets_share if self.choice is not None else 0.0
        return max(round(self.past.usual_sets * share), 1)

    @property
    def who(self) -> str:
        """The lift and its side in words."""
        return self.exercise.name if self.side == "both" else f"{self.exercise.name}, {self.side} side"


def item_document(advice: Advice, situation: Situation, teller: Teller, mass: Share) -> Document:
    """Return advice as an item of the answer."""
    choice = advice.choice
    item: Document = {
        "action": _action(advice, teller).document(),
        "exercise_id": advice.exercise.exercise_id,
        "exercise_name": advice.exercise.name,
        "side": advice.side,
        "decision": "do" if choice is not None else advice.action,
        "load_basis": advice.exercise.load_basis,
    }
    if choice is not None:
        item |= _choice(advice, choice, teller, mass)
        fitting = _fitting_load(advice, choice, situation, teller, mass)
        item |= {"fitting_load": fitting} if fitting is not None else {}
    return {
        **item,
        "basis": told_basis(advice.forecast, advice.history),
        "reasons": documents(teller.reasons(_weightiest(advice, situation), MOST_REASONS)),
        "cautions": documents(teller.cautions(_cautions(advice, situation))),
        "sources": sorted(
            {*SOURCE_KEYS, *advice.forecast.source_keys, *(choice.source_keys if choice else ())}
        ),
    }


def _weightiest(advice: Advice, situation: Situation) -> Iterable[Reason]:
    """Put what decides first, then how sure it is: a lift known mostly from others' data says so."""
    unknown = unknown_regions(situation, advice.exercise, advice.side)
    doubts = advice.forecast.reasons_for(advice.forecast.trained_repetitions)
    told = [reason for reason in doubts if reason.code == "capability.mostly_prior"]
    if advice.choice is None:
        return (*advice.reasons[:1], *unknown, *advice.reasons[1:])
    decisive, chance = advice.reasons[:-1], advice.reasons[-1:]
    return (*decisive[:1], *unknown, *decisive[1:], *told, *chance)


def _cautions(advice: Advice, situation: Situation) -> tuple[Caution, ...]:
    choice = advice.choice
    if choice is None:
        return (*cautions_of(advice.limits, advice.pain, situation), *cautions_of_plan(told_before=True)[:1])
    days = days_since(advice.past.last, situation)
    site = advice.site_record
    lift = limits_of(
        advice.exercise, days, situation, site.safety_bars, choice.p_too_hard, alone=is_alone(site)
    )
    return (*cautions_of(lift, advice.pain, situation), *choice.cautions, *cautions_of_plan(told_before=True))


def _choice(advice: Advice, choice: Choice, teller: Teller, mass: Share) -> Document:
    warm_up = () if advice.past.today else ramp(choice.load_kg, advice.site.effective)
    return {
        "load": _load(advice, choice.load_index, teller),
        "sets": advice.sets,
        "reps": choice.reps,
        "reps_low": choice.reps_low,
        "reps_high": choice.reps_high,
        "reserve_low": choice.reserve_low,
        # Left out where more in reserve is no fault.
        **({"reserve_high": choice.reserve_high} if isfinite(choice.reserve_high) else {}),
        "expected_reserve": round(choice.reserve, 2),
        "p_wanted": round(choice.p_wanted, _DECIMALS),
        "p_too_hard": round(choice.p_too_hard, _DECIMALS),
        "expected_reps": repetitions_document(advice.forecast, choice.load_kg, mass),
        "policy": choice.policy,
        "warm_up": [{"load": _load(advice, one.option.index, teller), "reps": one.reps} for one in warm_up],
        "alternatives": [
            _alternative(advice, other, teller) for other in choice.alternatives[:_MOST_ALTERNATIVES]
        ],
    }


def _fitting_load(
    advice: Advice, choice: Choice, situation: Situation, teller: Teller, mass: Share
) -> Document | None:
    """Return the load that fits these repetitions and the middle of the wanted reserve, whether or not it can be made."""
    exercise = advice.exercise
    if exercise.load_basis == "none":
        return None
    reps = choice.reps + 0.5 * (advice.target.reserve_low + advice.target.reserve_high)
    effective = advice.forecast.load_for(reps, mass, "next_set")
    body = situation.body_mass.on(situation.now_day)
    basis, told = external_estimate(effective, exercise, body)
    if basis == "level":
        return estimate_document(told)
    return teller.mass(told if basis == exercise.load_basis else _turned(told))


def _turned(told: Estimate) -> Estimate:
    """Return assistance as a negative added load, or the reverse."""
    interval = told.interval
    ends = Interval(-interval.upper, -interval.lower, interval.mass, interval.kind)
    return Estimate(-told.value, told.unit, told.sd, ends, told.statistic)


def _alternative(advice: Advice, other: Candidate, teller: Teller) -> Document:
    return {
        "load": _load(advice, other.option.index, teller),
        "reps": other.reps,
        "expected_reserve": round(other.reserve, 2),
        "p_wanted": round(other.p_wanted, _DECIMALS),
        "p_too_hard": round(other.p_too_hard, _DECIMALS),
    }


def _load(advice: Advice, index: int, teller: Teller) -> Document:
    return made_load(advice.site.options[index], teller)


def made_load(option: Option, teller: Teller) -> Document:
    """Return a load that can be made as it is told."""
    if option.unit == "{level}":
        told: Document = {"value": option.value, "unit": option.unit}
    else:
        told = to_document(shown_load(option, teller.unit))
    printed = option.label
    if printed is None and len(option.made_of) <= _ONE_PIECE and option.unit not in {"{level}", teller.unit}:
        printed = f"{option.value:g} {option.unit}"
    if printed is not None and option.value > 0.0:
        told["label"] = printed
    return {**told, "made_of": list(option.made_of)}


def _action(advice: Advice, teller: Teller) -> Action:
    """Return the one plain thing to do: a code that says how it differs from the last time, and its sentence."""
    choice = advice.choice
    if choice is None:
        params: dict[str, Param] = {"who": advice.who}
        text = teller.texts.render(text_of(advice.action, advice.reasons), params)
        return Action(code=advice.action, text=text)
    load = _load(advice, choice.load_index, teller)
    label = load.get("label")
    set_at = f"{load['value']:g} {load['unit']}"
    params = {
        "who": advice.who,
        "sets": advice.sets,
        "reps": choice.reps,
        "load": f"{set_at} (marked {label})" if label else set_at,
        "level": label,
    }
    text = teller.texts.render(f"load_progression.do_{way_of(advice.exercise, load['value'])}", params)
    return Action(code=_code(advice, choice), text=_leaving(text.removesuffix("."), choice, teller))


def _leaving(told: str, choice: Choice, teller: Teller) -> str:
    """Go on to what is to be left, or what will be where that is another number: the words follow from the numbers.

    Where the last session showed less than is believed, more than is wanted is not promised.
    """
    low, high, left = choice.reserve_low, choice.reserve_high, floor(choice.reserve)
    which = "leaving_range"
    if left < floor(low):
        which = "leaving_less"
    elif not isfinite(high):
        which = "leaving_at_least"
    elif left > high and not stands_at_shown(choice):
        which = "leaving_more"
    elif low == high:
        which = "leaving_exactly"
    params: dict[str, Param] = {"set": told, "low": low, "high": high, "left": left}
    return teller.texts.render(f"load_progression.{which}", params)


def _code(advice: Advice, choice: Choice) -> str:
    """Return what changes: one of `ACTIONS`."""
    top = advice.past.today[-1:] or top_sets(advice.past.last)
    last = top[0].load if top else None
    if last is None or advice.history.only_missed:
        # Back after so long that no set of before is looked at any more, or never done.
        return "return_lighter" if choice.policy == "return_after_break" else "start_low"
    returns = choice.policy == "return_after_break"
    # In the careful weeks the load may come back up: then it is no lighter one.
    lighter = choice.load_kg < last.kilograms * (1.0 - SAME_LOAD)
    if choice.policy in _NAMED_BY_POLICY and (lighter or not returns):
        return _NAMED_BY_POLICY[choice.policy]
    if choice.load_kg > last.kilograms * (1.0 + SAME_LOAD):
        return "raise_load"
    done = max(seen.record.reps or 0 for seen in top)
    if choice.reps == done:
        return "repeat"
    return "add_repetitions" if choice.reps > done else "fewer_repetitions"


#: What closes a lift beside limits and clearances, by the first reason.
_CLOSED_BY = {
    "planning.veto_pain": "load_progression.leave_out_pain",
    "planning.veto_flag": "load_progression.leave_out_sign",
}


def text_of(action: str, reasons: Sequence[Reason]) -> str:
    """Return the code of the sentence that says that no load is given, and what it is that closes the lift."""
    closed_by = _CLOSED_BY.get(reasons[0].code) if action == "leave_out" and reasons else None
    return closed_by or f"load_progression.{action}"


def way_of(exercise: Exercise, value: float) -> str:
    """Return how the load is said."""
    if exercise.load_basis in {"added", "assistance", "none"} and value == 0.0:
        return "body_alone"
    one_hand = exercise.laterality == "one_sided" and exercise.body_part != "lower"
    if exercise.load_basis == "per_hand" and one_hand:
        return "total"
    return exercise.load_basis


def ask_of(advices: Sequence[Advice], situation: Situation) -> Reason | None:
    """Return the one question whose answer would help most, None where nothing is missing."""
    body = situation.body_mass.on(situation.now_day)
    for code, needed in (
        ("ask_pain_number", lambda one: _pain_says(one, *NUMBER_MISSING)),
        ("ask_morning_pain", lambda one: _pain_says(one, "tolerance.pain_morning_unknown")),
        ("ask_test_set", lambda one: _a_test_set_is_due(one, situation)),
        ("ask_reserve", _reserve_is_unknown),
        (
            "ask_body_mass",
            lambda one: not body.known and one.exercise.load_basis in {"added", "assistance", "none"},
        ),
        ("ask_other_side", _side_is_open),
    ):
        for advice in advices:
            if needed(advice):
                return Reason(f"load_progression.{code}", {"exercise": advice.exercise.name})
    return None


def _pain_says(advice: Advice, *codes: str) -> bool:
    return advice.pain is not None and any(reason.code in codes for reason in advice.pain.reasons)


def _a_test_set_is_due(advice: Advice, situation: Situation) -> bool:
    """A set to the last repetition: asked for only where a load is given, nothing holds it and none must be left."""
    silent = advice.past.effort_missing() >= _TEST_SET_AFTER
    if not silent or advice.choice is None or not advice.limits.tests_allowed:
        return False
    site = advice.site_record
    least = least_left(advice.history, situation, [advice.side], alone=is_alone(site), bars=site.safety_bars)
    return least == 0.0


def _reserve_is_unknown(advice: Advice) -> bool:
    return advice.past.effort_missing() > 0


def _side_is_open(advice: Advice) -> bool:
    return advice.side != "both" and any(seen.matched for seen in advice.past.last)
