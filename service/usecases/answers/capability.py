"""What an athlete can lift: external loads for repetitions, by exercise and side."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import sqrt
from statistics import NormalDist
from uuid import UUID

from service.catalogue.records import Exercise, LoadBasis
from service.catalogue.texts import Texts
from service.core.capability import EXTRAPOLATED, MODEL_VERSION, CapabilityForecast, Side
from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Reason
from service.core.progression import LoadForecast
from service.core.progression.timed import CARRY, HOLD, Measure, expected_length
from service.core.units import MassUnit, Repetitions, Share
from service.usecases.answers.history import ExerciseHistory, Histories, read_histories
from service.usecases.answers.loads import BodyMass, effective_of_external, external_of_effective
from service.usecases.answers.missed_lifts import history_of
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    instant_of_day,
    interval_document,
)
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NothingToComputeOn, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork

#: Repetitions answered for where none are asked, and lengths of holds [s] and carries [m].
USUAL_REPETITIONS = (1, 5, 8, 10, 12, 15, 20, 25)
USUAL_LENGTHS = (10.0, 20.0, 30.0, 45.0, 60.0)
_BODY_IS_LOAD = frozenset({"added", "assistance", "none"})
#: The central share of a distribution that lies within one standard deviation of a Gaussian's middle.
_ONE_SD = 0.6827


@dataclass(frozen=True, slots=True)
class CapabilityQuestion:
    """Whose capability, in which lifts, for how many repetitions, as of when (None = now)."""

    athlete_id: UUID
    exercise_id: str | None = None
    side: Side | None = None
    reps: Sequence[int] = USUAL_REPETITIONS
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    unit: MassUnit | None = None
    min_position: int | None = None


def answer_capability(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, question: CapabilityQuestion
) -> Document:
    """Return what the athlete can lift.

    Raises what ``read_situation`` raises; ``UnknownReference`` for an exercise that does not exist;
    ``NothingToComputeOn`` where the one asked for has neither a set nor a known lift to start from.
    """
    situation = read_situation(
        work,
        question.athlete_id,
        book=book,
        lift=question.exercise_id,
        as_of=question.as_of,
        unit=question.unit,
        min_position=question.min_position,
    )
    teller = Teller(texts, situation.unit)
    histories = read_histories(situation, book)
    items = [
        _item(history, forecast, question, situation, teller)
        for history in asked_histories(histories, question.exercise_id)
        for forecast in _forecasts(history, question, situation)
    ]
    if question.exercise_id is not None and not items:
        raise NothingToComputeOn(exercise_id=question.exercise_id)
    return envelope(items, situation, MODEL_VERSION)


def envelope(items: list[Document], situation: Situation, model_version: str) -> Document:
    """Return items with what every answer says of itself."""
    return {
        "items": items,
        "position": str(situation.position),
        "model_version": model_version,
        "as_of": situation.as_of,
    }


def asked_histories(histories: Histories, exercise_id: str | None) -> list[ExerciseHistory]:
    """Return the history of the asked exercise, or of all in the log; raises ``UnknownReference``."""
    if exercise_id is None:
        return [found for one in histories.by_exercise if (found := history_of(histories, one)) is not None]
    history = history_of(histories, exercise_id)
    if history is None:
        fault = FieldFault(
            "?exercise_id", "unknown_exercise", f"no exercise `{exercise_id}`", "an exercise's id"
        )
        raise UnknownReference(faults=[fault], exercise_id=exercise_id)
    return [history]


def _forecasts(
    history: ExerciseHistory, question: CapabilityQuestion, situation: Situation
) -> Iterator[CapabilityForecast]:
    for side in history.sides():
        if question.side is None or question.side == side:
            forecast = history.forecast(situation.now_day, side)
            if forecast is not None:
                yield forecast


def _item(
    history: ExerciseHistory,
    forecast: CapabilityForecast,
    question: CapabilityQuestion,
    situation: Situation,
    teller: Teller,
) -> Document:
    exercise, body = history.exercise, situation.body_mass.on(situation.now_day)
    if exercise.work != "repetitions":
        return _timed_item(history, forecast, question, situation, teller)
    item: Document = {
        "exercise_id": exercise.exercise_id,
        "exercise_name": exercise.name,
        "side": forecast.side,
        "loads": [_load(reps, forecast, exercise, body, question.mass, teller) for reps in question.reps],
        "trained_repetitions": round(forecast.trained_repetitions, 1),
        "basis": told_basis(forecast, history),
        "reasons": documents(
            teller.reasons((*_only_missed(history), *_reasons(forecast, exercise, body, question.reps)))
        ),
        "cautions": documents(teller.cautions(situation.cautions)),
        "sources": list(forecast.source_keys),
    }
    if exercise.load_basis in {"added", "none"}:
        alone = max(effective_of_external(0.0, exercise.load_basis, exercise, body), 1.0)
        item["repetitions_without_load"] = repetitions_document(forecast, alone, question.mass)
    return item


def _timed_item(
    history: ExerciseHistory,
    forecast: CapabilityForecast,
    question: CapabilityQuestion,
    situation: Situation,
    teller: Teller,
) -> Document:
    """Return what can be held or carried, by length; the repetitions that were asked are no matter of such a lift."""
    exercise, body = history.exercise, situation.body_mass.on(situation.now_day)
    measure = measure_of(exercise)
    trained = (forecast.trained_repetitions + 0.5) * measure.piece
    pieces = [length / measure.piece for length in USUAL_LENGTHS]
    item: Document = {
        "exercise_id": exercise.exercise_id,
        "exercise_name": exercise.name,
        "side": forecast.side,
        "loads": [],
        "loads_by_length": [
            {
                "length": {"value": length, "unit": measure.unit},
                **_load_at(count, forecast, exercise, body, question.mass, teller),
            }
            for length, count in zip(USUAL_LENGTHS, pieces, strict=True)
        ],
        "trained_length": {"value": round(trained, 1), "unit": measure.unit},
        "basis": told_basis(forecast, history),
        "reasons": documents(
            teller.reasons(_of_length(_reasons(forecast, exercise, body, pieces), round(trained), measure))
        ),
        "cautions": documents(teller.cautions(situation.cautions)),
        "sources": list(forecast.source_keys),
    }
    if exercise.load_basis in {"added", "none"}:
        alone = max(effective_of_external(0.0, exercise.load_basis, exercise, body), 1.0)
        item["length_without_load"] = estimate_document(
            expected_length(forecast, alone, measure, question.mass)
        )
    return item


def _of_length(reasons: Sequence[Reason], trained: int, measure: Measure) -> list[Reason]:
    """Return reasons that speak of lengths where they spoke of repetitions."""
    farther = Reason("capability.length_extrapolated", {"trained": trained, "unit": measure.unit})
    return [farther if reason.code == "capability.extrapolated" else reason for reason in reasons]


def measure_of(exercise: Exercise) -> Measure:
    """Return how a lift is measured that is not counted in repetitions."""
    return HOLD if exercise.work == "hold" else CARRY


def told_basis(forecast: LoadForecast, history: ExerciseHistory) -> Document:
    """Return what a forecast rests on, with the instant of the newest set rather than the day of its session."""
    told = basis_document(forecast.basis)
    newest = max((seen.record.performed_at for seen in history.sets), default=None)
    if newest is not None and "newest_at" in told:
        told["newest_at"] = max(
            newest, instant_of_day(history.tested_day) if history.tested_day is not None else newest
        )
    return told


def _only_missed(history: ExerciseHistory) -> tuple[Reason, ...]:
    return (Reason("capability.only_missed"),) if history.only_missed else ()


def _reasons(
    forecast: CapabilityForecast, exercise: Exercise, body: BodyMass, reps: Sequence[float]
) -> list[Reason]:
    reasons = list(forecast.reasons_for(forecast.trained_repetitions))
    if exercise.load_basis in _BODY_IS_LOAD and not body.known:
        reasons.append(Reason("load_progression.body_mass_unknown", {"kilograms": body.kilograms}))
    farthest = max(reps, key=lambda count: abs(count - forecast.trained_repetitions))
    reasons += [reason for reason in forecast.reasons_for(farthest) if reason not in reasons]
    return reasons


def _load(
    reps: int,
    forecast: CapabilityForecast,
    exercise: Exercise,
    body: BodyMass,
    mass: Share,
    teller: Teller,
) -> Document:
    return {"reps": reps, **_load_at(float(reps), forecast, exercise, body, mass, teller)}


def _load_at(
    reps: Repetitions,
    forecast: CapabilityForecast,
    exercise: Exercise,
    body: BodyMass,
    mass: Share,
    teller: Teller,
) -> Document:
    basis, external = external_estimate(forecast.load_for(reps, mass), exercise, body)
    told = estimate_document(external) if basis == "level" else teller.mass(external)
    extrapolated = abs(reps - forecast.trained_repetitions) > EXTRAPOLATED
    return {"load": told, "load_basis": basis, "extrapolated": extrapolated}


def external_estimate(effective: Estimate, exercise: Exercise, body: BodyMass) -> tuple[LoadBasis, Estimate]:
    """Return an effective load as the external one, and how that is counted.

    Where the body is the load, its own uncertainty comes in, and a load below what the body alone is becomes
    assistance; an end of the interval below 0 then lies on the other side of the body alone. [kg] or [{level}]
    """
    basis = exercise.load_basis
    if basis not in _BODY_IS_LOAD:
        return basis, _scaled_unit(effective, "{level}" if basis == "level" else "kg")
    added = external_of_effective(effective.value, "added", exercise, body)
    # A mass that was never told is wrong in the sets and in the answer alike: what is added or taken off scales with it.
    body_sd = body.ln_sd * (exercise.body_share * body.kilograms if body.known else abs(added))
    lower, upper = _widened(effective, body_sd, exercise, body)
    sd = sqrt(effective.sd**2 + body_sd**2)
    interval = effective.interval
    if added < 0.0 or (basis == "assistance" and added == 0.0):
        turned = Interval(-upper, -lower, interval.mass, interval.kind)
        return "assistance", Estimate(-added, "kg", sd, turned, effective.statistic)
    return "added", Estimate(
        added, "kg", sd, Interval(lower, upper, interval.mass, interval.kind), effective.statistic
    )


def _scaled_unit(estimate: Estimate, unit: str) -> Estimate:
    return Estimate(estimate.value, unit, estimate.sd, estimate.interval, estimate.statistic)


def _widened(
    effective: Estimate, body_sd_kg: float, exercise: Exercise, body: BodyMass
) -> tuple[float, float]:
    """Return the ends of the interval as added loads, each pushed out by the body mass's own spread. [kg]"""
    reach = NormalDist().inv_cdf(0.5 + 0.5 * effective.interval.mass) * body_sd_kg
    below = effective.value - effective.interval.lower
    above = effective.interval.upper - effective.value
    middle = external_of_effective(effective.value, "added", exercise, body)
    return middle - sqrt(below**2 + reach**2), middle + sqrt(above**2 + reach**2)


def repetitions_document(forecast: LoadForecast, load_kg: float, mass: Share) -> Document:
    """Return the repetitions to failure of the next set at an effective load, as a document. [repetitions]

    None can be done fewer than zero times, so the interval ends there. The standard deviation is half of the central
    interval that holds as much as one of a Gaussian does.
    """
    at_load = forecast.repetitions_at(load_kg)
    reps: Repetitions = max(at_load.median, 0.0)
    asked, one_sd = at_load.interval(mass), at_load.interval(_ONE_SD)
    shown = Interval(max(asked.lower, 0.0), max(asked.upper, 0.0), mass, "prediction")
    return {
        "value": round(reps, 2),
        "unit": "{reps}",
        "sd": round(0.5 * (one_sd.upper - one_sd.lower), 2),
        "interval": interval_document(shown),
        "statistic": "median",
    }
