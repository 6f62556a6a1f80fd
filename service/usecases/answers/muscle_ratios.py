"""Ratios of opposing muscles from the log: lifts of one device and mode only, everything else refused with its reason."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final
from uuid import UUID

from service.catalogue.records import Exercise
from service.catalogue.texts import Texts
from service.core.capability import EXTRAPOLATED, CapabilityForecast, Side
from service.core.capability.forecasting import WIDEST_LN_SD
from service.core.estimates import DEFAULT_MASS, Caution, Param, Reason
from service.core.symmetry.ratios import OPPOSING, HowLoaded, OpposingActions, ratio_of, unlike
from service.core.units import MassUnit, Repetitions, Share
from service.usecases.answers.capability import envelope, told_basis
from service.usecases.answers.history import ExerciseHistory, SeenSet, read_histories
from service.usecases.answers.places_of_sets import site_of_set
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import Teller, documents, estimate_document
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork

MODEL_VERSION: Final = "muscle-ratios/1"
#: Works behind the caution against reading a ratio by a cut.
SOURCES: Final = ("Coombs2002", "Rosene2001")
_ROTATES_OUT, _ROTATES_IN = frozenset({"infraspinatus", "teres-minor"}), frozenset({"subscapularis"})
_EXTENDS_HIP: Final = frozenset({"gluteus-maximus"})
#: Implements that are their own device wherever they are; everything else is a station of one site.
_FREE: Final = frozenset({"bar", "dumbbells", "kettlebell"})
#: Bases whose number is a mass that the muscle moves alone.
_MASSES: Final = frozenset({"total", "per_hand"})
_DIRECT: Share = 0.75


@dataclass(frozen=True, slots=True)
class RatiosQuestion:
    """What is asked: all opposing lifts of the log, or one lift over another; at given repetitions, or those trained."""

    over_exercise_id: str | None = None
    under_exercise_id: str | None = None
    reps: int | None = None
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    unit: MassUnit | None = None
    min_position: int | None = None


@dataclass(frozen=True, slots=True)
class _Device:
    """What a lift was loaded with: a station of one site, or an implement that is the same everywhere."""

    name: str
    site_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class _Lift:
    """A lift of the log with the device and mode of its newest work."""

    history: ExerciseHistory
    device: _Device
    device_count: int

    @property
    def exercise(self) -> Exercise:
        return self.history.exercise

    @property
    def mode(self) -> str:
        one = self.exercise
        return f"{one.work}, {one.laterality}, load as {one.load_basis}"

    def loaded(self, side: Side) -> HowLoaded:
        return HowLoaded(f"{self.device.name} {self.device.site_id}", self.mode, side)


def answer_muscle_ratios(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, athlete_id: UUID, question: RatiosQuestion
) -> Document:
    """Return the ratios of opposing muscles.

    Raises what ``read_situation`` raises; ``UnknownReference`` for a lift that does not exist; ``NotPossible`` where two lifts
    are named that must not be compared.
    """
    _refuse_unknown(book, question)
    situation = read_situation(
        work,
        athlete_id,
        book=book,
        as_of=question.as_of,
        unit=question.unit,
        min_position=question.min_position,
    )
    comparing = _Comparing(situation, question, Teller(texts, situation.unit))
    histories = read_histories(situation, book)
    lifts = [
        lift for history in histories.by_exercise.values() if (lift := _lift(history, situation)) is not None
    ]
    if question.over_exercise_id is None:
        items = [item for pair in OPPOSING for item in comparing.of_pair(pair, lifts)]
    else:
        items = list(comparing.of_named(lifts))
    return {
        **envelope(items, situation, MODEL_VERSION),
        "not_computed": comparing.not_computed,
        "cautions": documents(
            comparing.teller.cautions((*situation.standing_cautions, Caution("ratios.no_cut")))
        ),
    }


def _refuse_unknown(book: ExerciseBook, question: RatiosQuestion) -> None:
    named = {"over_exercise_id": question.over_exercise_id, "under_exercise_id": question.under_exercise_id}
    if (question.over_exercise_id is None) != (question.under_exercise_id is None):
        lacking = next(name for name, value in named.items() if value is None)
        fault = FieldFault(f"?{lacking}", "one_of_two", "a ratio has two lifts", "both lifts, or neither")
        raise NotPossible("Name both lifts, or neither.", faults=[fault])
    unknown = [name for name, value in named.items() if value is not None and book.find(value) is None]
    if unknown:
        raise UnknownReference(
            faults=[
                FieldFault(f"?{name}", "unknown_exercise", "no such exercise", "an exercise's id")
                for name in unknown
            ]
        )


def _lift(history: ExerciseHistory, situation: Situation) -> _Lift | None:
    """Return a lift that was done with working sets in the window, by the device of its newest one."""
    devices = [_device(seen, situation) for seen in history.work_sets() if seen.load is not None]
    return _Lift(history, devices[-1], len(set(devices))) if devices else None


def _device(seen: SeenSet, situation: Situation) -> _Device:
    exercise, set_up = seen.exercise, seen.record.set_up
    station = set_up.station if set_up is not None else None
    if station is None and exercise.implement in _FREE:
        return _Device(exercise.implement)
    return _Device(station or exercise.station or exercise.implement, site_of_set(seen.record, situation))


def action_of(exercise: Exercise) -> str | None:
    """Return the one joint action that a single-joint lift trains, None where several joints work."""
    if exercise.compound:
        return None
    direct = {part.muscle_id for part in exercise.involvement if part.share >= _DIRECT}
    if exercise.pattern == "shoulder_rotation":
        if direct & _ROTATES_OUT:
            return "shoulder_external_rotation"
        return "shoulder_internal_rotation" if direct & _ROTATES_IN else None
    if exercise.pattern == "hip":
        return "hip_extension" if direct & _EXTENDS_HIP else None
    return exercise.pattern


@dataclass(slots=True)
class _Comparing:
    """Compares the lifts of opposing muscles, and keeps why it did not."""

    situation: Situation
    question: RatiosQuestion
    teller: Teller
    not_computed: list[Document] = field(default_factory=list)

    def of_pair(self, pair: OpposingActions, lifts: list[_Lift]) -> Iterator[Document]:
        by_action: dict[str | None, list[_Lift]] = defaultdict(list)
        for lift in lifts:
            by_action[action_of(lift.exercise)].append(lift)
        overs, unders = by_action[pair.over], by_action[pair.under]
        if overs and unders:
            for over in overs:
                for under in unders:
                    yield from self._of_lifts(pair, over, under)
        elif overs or unders:
            missing = pair.under if overs else pair.over
            params = {"action": missing.replace("_", " ")}
            self._refuse(
                pair, overs[0] if overs else None, unders[0] if unders else None, "opposite_missing", params
            )

    def of_named(self, lifts: list[_Lift]) -> Iterator[Document]:
        """Yield the ratios of the two named lifts; what must not be compared is refused as a whole."""
        by_id = {lift.exercise.exercise_id: lift for lift in lifts}
        over, under = (
            by_id.get(one or "") for one in (self.question.over_exercise_id, self.question.under_exercise_id)
        )
        if over is None or under is None:
            name = "over" if over is None else "under"
            raise _not_comparable(name, "not_in_log", "no set of it in the window", "a lift of the log")
        actions = action_of(over.exercise), action_of(under.exercise)
        pair = next((one for one in OPPOSING if (one.over, one.under) == actions), None)
        if pair is None:
            told = "the lifts do not oppose each other"
            raise _not_comparable("under", "not_opposing", told, "an opposing single-joint lift")
        if reason := _why_not(over, under):
            expected = "lifts on the same device, in the same mode, with masses"
            raise _not_comparable("under", reason[0], "these were not lifted alike", expected)
        yield from self._of_lifts(pair, over, under)

    def _of_lifts(self, pair: OpposingActions, over: _Lift, under: _Lift) -> Iterator[Document]:
        if reason := _why_not(over, under):
            self._refuse(pair, over, under, *reason)
            return
        day = self.situation.now_day
        for side in over.history.sides():
            forecasts = over.history.forecast(day, side), under.history.forecast(day, side)
            if forecasts[0] is None or forecasts[1] is None:
                self._refuse(pair, over, under, "nothing_known", {})
                return
            yield self._item(pair, (over, under), (forecasts[0], forecasts[1]), side)

    def _refuse(
        self,
        pair: OpposingActions,
        over: _Lift | None,
        under: _Lift | None,
        code: str,
        params: dict[str, str],
    ) -> None:
        told: Document = {
            "pair": pair.id,
            "reason": documents([self.teller.reason(Reason(f"ratios.{code}", params))])[0],
        }
        if over is not None:
            told["over_exercise_id"] = over.exercise.exercise_id
        if under is not None:
            told["under_exercise_id"] = under.exercise.exercise_id
        self.not_computed.append(told)

    def _item(
        self,
        pair: OpposingActions,
        lifts: tuple[_Lift, _Lift],
        forecasts: tuple[CapabilityForecast, CapabilityForecast],
        side: Side,
    ) -> Document:
        trained = [one.trained_repetitions for one in forecasts]
        reps: Repetitions = float(self.question.reps or round(sum(trained) / 2))
        logs = [(mean, min(sd, WIDEST_LN_SD)) for mean, sd in (one.ln_load_for(reps) for one in forecasts)]
        ratio = ratio_of(logs[0], logs[1], self.question.mass)
        members = [
            {
                "action": action, "exercise_id": lift.exercise.exercise_id, "exercise_name": lift.exercise.name,
                "load": self.teller.mass(one.load_for(reps, self.question.mass)),
                "trained_repetitions": round(one.trained_repetitions, 1), "basis": told_basis(one, lift.history),
            }
            for action, lift, one in zip((pair.over, pair.under), lifts, forecasts, strict=True)
        ]  # fmt: skip
        return {
            "pair": pair.id, "joint": pair.joint, "side": side, "reps": int(reps),
            "device": _device_document(lifts[0].device), "mode": lifts[0].mode, "over": members[0], "under": members[1],
            "ratio": estimate_document(ratio),
            "reasons": documents(self.teller.reasons(_reasons(lifts, forecasts, reps))),
            "cautions": documents(self.teller.cautions([Caution("ratios.no_cut")])),
            "sources": sorted({*SOURCES, *forecasts[0].source_keys, *forecasts[1].source_keys}),
        }  # fmt: skip


def _why_not(over: _Lift, under: _Lift) -> tuple[str, dict[str, str]] | None:
    """Return why two lifts must not be compared, None where they may."""
    bases = {over.exercise.load_basis, under.exercise.load_basis}
    if not bases <= _MASSES or any(_in_levels(lift) for lift in (over, under)):
        return "no_masses", {}
    side = over.history.sides()[0]
    differing = unlike(
        over.loaded(side), under.loaded(side if over.mode == under.mode else under.history.sides()[0])
    )
    told = {"over": over.exercise.name, "under": under.exercise.name}
    return (differing[0], told) if differing else None


def _in_levels(lift: _Lift) -> bool:
    return "@" in lift.history.series


def _reasons(
    lifts: tuple[_Lift, _Lift], forecasts: tuple[CapabilityForecast, CapabilityForecast], reps: Repetitions
) -> list[Reason]:
    alike: dict[str, Param] = {"device": lifts[0].device.name.replace("-", " "), "repetitions": reps}
    reasons = [Reason("ratios.device_alike", alike)]
    if max(lift.device_count for lift in lifts) > 1:
        reasons.append(Reason("ratios.several_devices"))
    for lift, one in zip(lifts, forecasts, strict=True):
        if abs(one.trained_repetitions - reps) > EXTRAPOLATED:
            params: dict[str, Param] = {
                "exercise": lift.exercise.name,
                "trained": one.trained_repetitions,
                "repetitions": reps,
            }
            reasons.append(Reason("ratios.extrapolated", params))
    return reasons


def _device_document(device: _Device) -> Document:
    named: Document = {"name": device.name}
    return named if device.site_id is None else {**named, "site_id": str(device.site_id)}


def _not_comparable(name: str, code: str, detail: str, expected: str) -> NotPossible:
    fault = FieldFault(f"?{name}_exercise_id", code, detail, expected)
    return NotPossible("These lifts cannot be compared.", faults=[fault])
