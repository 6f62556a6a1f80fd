"""Which side is ahead, by how much and how surely: per one-sided lift, pooled per muscle, and per girth site.

Strength and size are never mixed, nor two girth sites; a girth is told by where the tape lay, never as a muscle.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from service.catalogue.records import BodyPart, Exercise
from service.catalogue.texts import Texts
from service.core.errors import TooFewObservations
from service.core.estimates import DEFAULT_MASS, Caution, Reason
from service.core.symmetry.girths import GirthReading, reading_from_girths
from service.core.symmetry.index_catalogue import INDICES, Side
from service.core.symmetry.indices import RenderedIndex, render_all
from service.core.symmetry.posterior import (
    AFTER_INJURY,
    MODEL_VERSION,
    POPULATION,
    SidePosterior,
    SidePrior,
    SideReading,
    combine_visits,
    reading_from_posterior,
    side_posterior,
)
from service.core.units import Days, Share, length_to_cm
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet, read_histories
from service.usecases.answers.situation import Situation, day_of, read_situation
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    interval_document,
)
from service.usecases.answers.weeks import calendar_of
from service.usecases.documents import Document, without_nulls
from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.log import Girth
from service.usecases.records.people import ConsentPurpose

#: Works behind the posterior; each index adds its own.
STRENGTH_SOURCES = ("Baroni2016", "Weir2005", "Afonso2022", "Parkinson2021")
SIZE_SOURCES = ("Norton1996", "Weir2005", "Afonso2022", "Parkinson2021")
#: Both sides must have told their reserve on one visit within so long of the newest, or a copied number of repetitions
#: could hide a gap for good: every third week (judgement). [d]
COMPARED_WITHIN: Days = 21.0
#: Variance of a reading from which nothing can be learned, in prior variances: the posterior is then the prior.
_SILENT = 1e4
_LOWER: Final = frozenset(
    {"hip", "groin", "thigh", "knee", "shin", "leg", "calf", "ankle", "achilles", "foot", "toe"}
)
_UPPER: Final = frozenset({"shoulder", "arm", "elbow", "forearm", "wrist", "hand", "finger", "thumb"})


@dataclass(frozen=True, slots=True)
class ImbalanceQuestion:
    """What is asked: everything, or one lift, or the lifts of one muscle; sides that were told override the athlete's."""

    exercise_id: str | None = None
    muscle_id: str | None = None
    dominant_side: Side | None = None
    involved_side: Side | None = None
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    full: bool = False
    min_position: int | None = None


def answer_imbalance(
    work: UnitOfWork,
    book: ExerciseBook,
    texts: Texts,
    athlete_id: UUID,
    question: ImbalanceQuestion,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
) -> Document:
    """Return how an athlete's sides compare.

    Raises what ``read_situation`` raises, and ``UnknownReference`` for a lift or muscle that does not exist.
    """
    _refuse_unknown(book, question)
    situation = read_situation(
        work,
        athlete_id,
        book=book,
        as_of=question.as_of,
        purposes=purposes,
        min_position=question.min_position,
    )
    comparing = _Comparing(situation, book, question, _Telling(Teller(texts), question))
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
        "items": comparing.items(),
        "not_computed": comparing.not_computed,
        "cautions": documents(
            comparing.telling.teller.cautions([Caution("imbalance_is_measurement_not_risk")])
        ),
    }


@dataclass(frozen=True, slots=True)
class Sides:
    """Which limb is the dominant one and which was hurt, for one part of the body."""

    dominant: Side | None
    involved: Side | None

    @property
    def prior(self) -> SidePrior:
        """What is believed of the gap before any set: far more is possible after an injury."""
        return POPULATION if self.involved is None else AFTER_INJURY


@dataclass(slots=True)
class _Comparing:
    """Compares the sides of everything that was asked for."""

    situation: Situation
    book: ExerciseBook
    question: ImbalanceQuestion
    telling: "_Telling"
    not_computed: list[Document] = field(default_factory=list)

    def items(self) -> list[Document]:
        histories = read_histories(self.situation, self.book)
        readings = self._strength_readings(histories)
        items = [self._exercise_item(histories, reading) for reading in readings]
        if self.question.exercise_id is None:
            items += self._muscle_items(histories, readings)
            # A tape measures a place, not a muscle: asked for a muscle, no girth is told.
            items += self._site_items() if self.question.muscle_id is None else []
        return items

    def _strength_readings(self, histories: Histories) -> list[SideReading]:
        readings = []
        for exercise_id, history in sorted(histories.by_exercise.items()):
            if history.exercise.laterality == "one_sided" and self._is_asked(history.exercise):
                try:
                    readings.append(reading_of(history, self.situation))
                except TooFewObservations:
                    told = Reason("sides.one_side_only")
                    self._tell_missing({"exercise_id": exercise_id}, told)
        return readings

    def _is_asked(self, exercise: Exercise) -> bool:
        if self.question.exercise_id is not None:
            return exercise.exercise_id == self.question.exercise_id
        if self.question.muscle_id is None:
            return True
        asked = set(self.book.catalogue.parts(self.question.muscle_id))
        return bool(asked & directly_trained(exercise))

    def _exercise_item(self, histories: Histories, reading: SideReading) -> Document:
        exercise = histories.by_exercise[reading.key].exercise
        sides = sides_of(self.situation, exercise.body_part, self.question)
        posterior = side_posterior([reading], prior=sides.prior, mass=self.question.mass)
        place = {"scope": "exercise", "exercise_id": reading.key}
        return self.telling.item("strength", place, posterior, sides)

    def _muscle_items(self, histories: Histories, readings: Sequence[SideReading]) -> list[Document]:
        """Pool the lifts that train a muscle directly; one lift alone speaks for itself only."""
        wanted = self.question.muscle_id
        asked = None if wanted is None else set(self.book.catalogue.parts(wanted))
        by_muscle: dict[str, list[SideReading]] = defaultdict(list)
        for reading in readings:
            for muscle in sorted(directly_trained(histories.by_exercise[reading.key].exercise)):
                if asked is None or muscle in asked:
                    by_muscle[muscle].append(reading)
        items = []
        for muscle, pooled in sorted(by_muscle.items()):
            if len(pooled) > 1:
                part = histories.by_exercise[pooled[0].key].exercise.body_part
                sides = sides_of(self.situation, part, self.question)
                posterior = side_posterior(pooled, prior=sides.prior, mass=self.question.mass)
                place = {"scope": "muscle", "muscle_id": muscle, "exercise_ids": [one.key for one in pooled]}
                items.append(self.telling.item("strength", place, posterior, sides))
        return items

    def _site_items(self) -> list[Document]:
        items = []
        for site, girths in sorted(_girths_by_site(self.situation).items()):
            sides = sides_of(self.situation, _part_of_region(site), self.question)
            visits = _girth_readings(site, girths)
            if visits:
                posterior = side_posterior(
                    [combine_visits(visits)], prior=sides.prior, mass=self.question.mass
                )
                items.append(self.telling.item("size", {"scope": "site", "site": site}, posterior, sides))
            else:
                self._tell_missing({"site": site}, Reason("sides.one_side_measured"))
        return items

    def _tell_missing(self, place: Document, reason: Reason) -> None:
        self.not_computed.append({**place, "reason": documents([self.telling.teller.reason(reason)])[0]})


def directly_trained(exercise: Exercise) -> frozenset[str]:
    """Return the muscles that a lift trains directly."""
    return frozenset(part.muscle_id for part in exercise.involvement if part.share >= DIRECT_SHARE)


def reading_of(history: ExerciseHistory, situation: Situation) -> SideReading:
    """Return what a one-sided lift's sets say of t = ln(right/left), without the filter's prior.

    Raises
    ------
    TooFewObservations
        If the sides were never both trained on one visit.
    """
    visits = _visits(history)
    both = {key: sets for key, sets in visits.items() if {"left", "right"} <= {seen.side for seen in sets}}
    forecast = history.forecast(situation.now_day, "both")
    if not both or forecast is None:
        raise TooFewObservations(exercise_id=history.exercise.exercise_id, visits=len(both))
    newest = max(seen.day for sets in both.values() for seen in sets)
    compared = [sets[0].day for sets in both.values() if _compares(sets)]
    key, prior = history.exercise.exercise_id, SidePrior(sd=2.0 * history.prior.half_gap_sd)
    half, sd = forecast.half_gap
    mean, variance = 2.0 * half, 4.0 * sd * sd
    known = bool(compared) and max(compared) >= newest - COMPARED_WITHIN
    try:
        return reading_from_posterior(
            key, mean, variance, len(both), prior=prior, newest_day=newest, effort_known=known
        )
    except TooFewObservations:
        return SideReading(key, "strength", mean, _SILENT * prior.sd**2, len(both), newest, known)


def _visits(history: ExerciseHistory) -> dict[str, list[SeenSet]]:
    visits: dict[str, list[SeenSet]] = defaultdict(list)
    for seen in history.sets:
        if seen.is_work and seen.load is not None and seen.record.reps:
            visits[seen.session_key].append(seen)
    return visits


def _compares(sets: Iterable[SeenSet]) -> bool:
    """Whether each side told, on this visit, how near failure it came."""
    told = {seen.side for seen in sets if seen.record.reps_in_reserve is not None or seen.record.to_failure}
    return {"left", "right"} <= told


def _girths_by_site(situation: Situation) -> dict[str, list[tuple[date, Girth]]]:
    calendar = calendar_of(situation.athlete)
    found: dict[str, list[tuple[date, Girth]]] = defaultdict(list)
    for stored in situation.measurements:
        record = stored.record
        if isinstance(record, Girth) and record.side != "both":
            found[record.site].append((calendar.day_of(record.at), record))
    return found


def _girth_readings(site: str, girths: Sequence[tuple[date, Girth]]) -> list[SideReading]:
    """Return one reading a day on which both sides were measured."""
    by_day: dict[date, list[Girth]] = defaultdict(list)
    for day, girth in girths:
        by_day[day].append(girth)
    readings = []
    for _, measured in sorted(by_day.items()):
        if {"left", "right"} <= {girth.side for girth in measured}:
            tape = [
                GirthReading(site, girth.side, length_to_cm(value, girth.unit))
                for girth in measured if girth.side != "both" for value in girth.readings
            ]  # fmt: skip
            newest = max(day_of(girth.at) for girth in measured)
            readings.append(reading_from_girths(tape, newest_day=newest))
    return readings


def sides_of(situation: Situation, part: BodyPart | None, question: ImbalanceQuestion) -> Sides:
    """Return the dominant and the involved side: as asked, else as the athlete's record tells for that part of the body."""
    dominance = situation.athlete.dominance
    told = None if dominance is None else (dominance.leg if part == "lower" else dominance.hand)
    dominant: Side | None = question.dominant_side
    if dominant is None and part in {"upper", "lower"} and told != "mixed":
        dominant = told
    return Sides(dominant, question.involved_side or _operated_side(situation, part))


def _operated_side(situation: Situation, part: BodyPart | None) -> Side | None:
    """Return the one side on which a procedure touched this part of the body, None where there is none or both."""
    if situation.screening is None or part is None:
        return None
    operated = {
        procedure.side
        for procedure in situation.screening.procedures
        if _part_of_region(procedure.region) == part
    }
    if operated == {"left"}:
        return "left"
    return "right" if operated == {"right"} else None


def _part_of_region(region: str) -> BodyPart | None:
    words = set(region.lower().replace("-", " ").replace("_", " ").split())
    if words & _UPPER:
        return "upper"
    return "lower" if words & _LOWER else None


def _refuse_unknown(book: ExerciseBook, question: ImbalanceQuestion) -> None:
    if question.exercise_id is not None and book.find(question.exercise_id) is None:
        raise UnknownReference(faults=[_unknown("exercise_id", "an id of GET /v1/exercises")])
    if question.muscle_id is not None and not book.knows_muscle(question.muscle_id):
        raise UnknownReference(faults=[_unknown("muscle_id", "an id of GET /v1/muscles")])


def _unknown(parameter: str, expected: str) -> FieldFault:
    return FieldFault(f"?{parameter}", "unknown_reference", "there is no such thing here", expected)


@dataclass(frozen=True, slots=True)
class _Telling:
    """Turns posteriors into documents."""

    teller: Teller
    question: ImbalanceQuestion

    def item(self, kind: str, place: Document, found: SidePosterior, sides: Sides) -> Document:
        rendered = render_all(found.t.value, sides.dominant, sides.involved, interval=found.t.interval)
        own = STRENGTH_SOURCES if kind == "strength" else SIZE_SOURCES
        optional = {
            "dominant_side": sides.dominant,
            "involved_side": sides.involved,
            "between_exercises_sd": found.between_exercises_sd,
            "visits_needed": None if found.visits_needed is None else estimate_document(found.visits_needed),
        }
        document: Document = {
            "kind": kind,
            **place,
            "state": found.state,
            "t": estimate_document(found.t),
            "p_right_ahead": round(found.p_right_ahead, 4),
            "p_beyond": round(found.p_beyond, 4),
            "smallest_worthwhile": found.smallest_worthwhile,
            "minimal_detectable_change": round(found.minimal_detectable_change, 4),
            "expected_next_reading": estimate_document(found.expected_next_reading),
            "indices": [self._index(one) for one in rendered],
            "basis": basis_document(found.basis),
            "reasons": documents(self.teller.reasons(found.reasons)),
            "cautions": documents(self.teller.cautions(found.cautions)),
            "sources": list(own),
            **optional,
        }
        told: Document = without_nulls(document)
        return told

    def _index(self, rendered: RenderedIndex) -> Document:
        known = INDICES[rendered.index_id]
        document: dict[str, Any] = {
            "id": rendered.index_id,
            "unit": rendered.unit,
            "reference_limb": known.reference_limb,
            "sign_convention": known.sign_convention,
            "definition": rendered.definition,
            "value": None if rendered.value is None else round(rendered.value, 3),
            "interval": None if rendered.interval is None else interval_document(rendered.interval),
            "reason": None
            if rendered.reason is None
            else documents([self.teller.reason(rendered.reason)])[0],
        }
        if self.question.full:
            document |= {"title": known.title, "expression": known.expression, "source": known.source}
            document["form_seen"] = known.form_seen
        return document
