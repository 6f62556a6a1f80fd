"""A drop set from a body alone: loads that can be made, repetitions in each stage with their chance, time, and credit."""

from collections.abc import Sequence
from dataclasses import replace
from uuid import UUID

from service.catalogue.loading import load_catalogue
from service.catalogue.records import Exercise
from service.core.curve import CURVE_PRIORS
from service.core.errors import OutsideValidity
from service.core.estimates import Caution, Interval, Param, Reason
from service.core.loadable import Option
from service.core.progression import (
    Drop,
    DropFactor,
    DropPlan,
    DropRefusal,
    DropSituation,
    DropWish,
    LoggedDrop,
    SetToFailure,
    learn_factor,
    plan_drops,
)
from service.core.tolerance.cautions import LiftSituation, cautions_of_plan, limits_of_lift
from service.core.units import MassUnit, mass_to_kg
from service.core.volume.hard_sets import drop_set, hard_set
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.loads import BodyMass, BodyMassHistory, effective_of_external
from service.usecases.answers.site_loads import SiteOptions, SiteStock, options_for, shown_load
from service.usecases.answers.telling import Teller, interval_document
from service.usecases.documents import Document, to_document
from service.usecases.errors import FieldFault, NothingToComputeOn, OutsideValidRange, UnknownReference
from service.usecases.records.base import Mass
from service.usecases.records.computations import DropSetQuestion, DropSetSaid
from service.usecases.records.places import Implement, Site

DROP_SET_VERSION = "drop-set/1"
#: Works behind the credit of a drop set; the curve adds its own.
CREDIT_SOURCES = ("Coleman2022", "Sodal2023")
#: A computation knows no site; this id stands for the place whose implements were sent.
HERE = UUID(int=0)
SAFE_TO_DROP = frozenset({"stack", "plate_loaded", "levels", "dumbbells"})
_DECIMALS = 4


def compute_drop_set(asked: DropSetQuestion, teller: Teller) -> Document:
    """Return the drops after a set to failure, or why there are none.

    Raises ``ClearanceRequired``; ``UnknownReference`` for an exercise that is not on the reference list;
    ``OutsideValidRange`` where the lift is not counted in repetitions of a mass; ``NothingToComputeOn`` where nothing can
    be made of the implements.
    """
    heed = require_fit_to_train(asked, teller)
    exercise = exercise_for(asked.exercise_id)
    body = body_of(asked.body_mass)
    site = site_options(asked.items, exercise, body)
    opening = _opening(asked, exercise, body)
    wish = DropWish(asked.drops, asked.reps_wanted, asked.chance, asked.pause_s)
    factor = _learned(asked.done_before, exercise, body)
    situation = DropSituation(
        exercise.skill, asked.training == "novice", asked.days_since_last, asked.screening == "clear"
    )
    plan = plan_drops(opening, site.effective, wish, situation, factor)
    cautions = (*heed, *_cautions(exercise, asked.days_since_last))
    sources = (*CREDIT_SOURCES, *(key for key in opening.curve.basis if key != "judgement"))
    if isinstance(plan, DropRefusal):
        return {
            **_refused(exercise, teller),
            **computed_answer(DROP_SET_VERSION, teller, (plan.reason,), cautions, sources),
        }
    answer = computed_answer(
        DROP_SET_VERSION, teller, (*plan.reasons, *_factor_reasons(factor)), cautions, sources
    )
    return {**_planned(plan, exercise, site, wish, asked.unit or asked.load.unit, teller), **answer}


def exercise_for(exercise_id: str) -> Exercise:
    """Return an exercise of the reference list that is counted in repetitions; raises ``UnknownReference`` or
    ``OutsideValidRange``."""
    exercise = load_catalogue().exercises.get(exercise_id)
    if exercise is None:
        fault = FieldFault(
            "/exercise_id", "unknown_exercise", f"no exercise `{exercise_id}`", "an exercise of the list"
        )
        raise UnknownReference(faults=[fault], exercise_id=exercise_id)
    if exercise.work != "repetitions":
        raise OutsideValidRange(f"{exercise.name} is counted in {exercise.work}, not in repetitions.")
    return exercise


def body_of(told: Mass | None) -> BodyMass:
    """Return a told body mass, or what is taken for an unknown one."""
    if told is None:
        return BodyMassHistory(()).on(0.0)
    return BodyMass(mass_to_kg(told.value, told.unit), 0.0, known=True)


def stock_of(
    items: Sequence[Implement], *, safety_bars: bool | None = None, supervised: bool | None = None
) -> SiteStock:
    """Return sent implements as what stands at a place of no name; what is out of service is not there."""
    site = Site(name="here", safety_bars=safety_bars, supervised=supervised)
    usable = [item for item in items if item.out_of_service_until is None]
    return SiteStock(HERE, site, usable, None)


def site_options(items: Sequence[Implement], exercise: Exercise, body: BodyMass) -> SiteOptions:
    """Return the loads that sent implements make for an exercise; raises ``NothingToComputeOn`` where there are none.

    A bench or a rack need not be sent: only loads are asked for.
    """
    stock = stock_of(items)
    made = options_for(stock, replace(exercise, gear=()), body)
    if not made.options:
        raise NothingToComputeOn(f"These implements make no load for it: {made.missing} is missing.")
    return made


def _opening(asked: DropSetQuestion, exercise: Exercise, body: BodyMass) -> SetToFailure:
    try:
        return _to_failure(asked.load, asked.reps, exercise, body)
    except OutsideValidity:
        raise OutsideValidRange("No drop set begins from so many repetitions, or without a load.") from None


def _to_failure(load: Mass, reps: int, exercise: Exercise, body: BodyMass) -> SetToFailure:
    return SetToFailure(_effective(load, exercise, body), reps, CURVE_PRIORS[exercise.curve_class])


def _effective(load: Mass, exercise: Exercise, body: BodyMass) -> float:
    external = mass_to_kg(load.value, load.unit)
    return effective_of_external(external, exercise.load_basis, exercise, body)


def _learned(done: Sequence[DropSetSaid], exercise: Exercise, body: BodyMass) -> DropFactor:
    """Return the athlete's own factor from drop sets done before; those outside the model's range teach nothing."""
    factor = DropFactor()
    for one in done:
        loads = [_effective(one.load, exercise, body)]
        loads += [_effective(stage.load, exercise, body) for stage in one.drops]
        drops = [
            LoggedDrop(before, after, stage.reps, one.pause_s)
            for before, after, stage in zip(loads, loads[1:], one.drops, strict=False)
        ]
        try:
            factor = learn_factor(_to_failure(one.load, one.reps, exercise, body), drops, factor)
        except OutsideValidity:
            continue
    return factor


def _factor_reasons(factor: DropFactor) -> tuple[Reason, ...]:
    if not factor.drop_count:
        return ()
    return (Reason("drops.own_factor", {"drops": factor.drop_count}),)


def _cautions(exercise: Exercise, days: float | None) -> tuple[Caution, ...]:
    lift = LiftSituation(
        gap_days=0.0 if days is None else days,
        failure_exit=exercise.failure_exit,
        p_fail=1.0 if exercise.implement not in SAFE_TO_DROP else 0.0,
        drop_set=True,
    )
    return (*limits_of_lift(lift).cautions, *cautions_of_plan(told_before=True))


def _refused(exercise: Exercise, teller: Teller) -> Document:
    text = teller.texts.render("drops.leave_out", {"exercise": exercise.name})
    return {
        "action": {"code": "leave_out", "text": text},
        "decision": "leave_out",
        "exercise_id": exercise.exercise_id,
    }


def _planned(
    plan: DropPlan, exercise: Exercise, site: SiteOptions, wish: DropWish, unit: MassUnit, teller: Teller
) -> Document:
    stages = [stage_document(drop, site.options[drop.option.index], unit) for drop in plan.drops]
    credit = drop_set(hard_set(plan.opening.reps, to_failure=True), len(plan.drops))
    loads = " then ".join(f"{stage['load']['value']:g} {stage['load']['unit']}" for stage in stages)
    params: dict[str, Param] = {"exercise": exercise.name, "loads": loads, "reps": wish.reps}
    return {
        "action": {"code": "drop", "text": teller.texts.render("drops.do", params)},
        "decision": "do",
        "exercise_id": exercise.exercise_id,
        "load_basis": exercise.load_basis,
        "drops": stages,
        "total_reps": repetitions_told(plan.total_reps, plan.total_interval),
        "minutes": round(plan.minutes, 2),
        "hard_sets": {"value": round(credit.value, 2), "sd": round(credit.sd, 2)},
    }


def stage_document(drop: Drop, option: Option, unit: MassUnit) -> Document:
    """Return one stage as it is told."""
    load: Document = (
        {"value": option.value, "unit": option.unit}
        if option.unit == "{level}"
        else to_document(shown_load(option, unit))
    )
    if option.label is not None:
        load["label"] = option.label
    return {
        "load": {**load, "made_of": list(option.made_of)},
        "drop_percent": round(100.0 * drop.drop, 1),
        "expected_reps": repetitions_told(drop.reps, drop.interval),
        "p_reached": round(drop.chance, _DECIMALS),
        "curve_alone_reps": round(drop.bound, 1),
    }


def repetitions_told(value: float, interval: Interval) -> Document:
    """Return repetitions with their interval as they are told."""
    # Half of a central 80 % interval of a Gaussian is 1.2816 standard deviations.
    return {
        "value": round(value, 2),
        "unit": "{reps}",
        "sd": round((interval.upper - interval.lower) / 2.5631, 2),
        "interval": interval_document(interval),
        "statistic": "median",
    }
