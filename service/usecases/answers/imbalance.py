"""Which side is ahead, by how much and how surely, what it was and will be, and what closes it.

Per one-sided lift in strength and endurance, pooled per muscle, per place of a tape and per joint's test. The kinds are
never mixed, nor two places; a girth is told by where the tape lay, never as a muscle.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from uuid import UUID

from service.catalogue.records import BodyPart, Exercise
from service.catalogue.texts import Texts
from service.core.estimates import DEFAULT_MASS, Caution, Param, Reason
from service.core.symmetry.closing import ClosingPlan
from service.core.symmetry.decisions import MODEL_VERSION, SidePosterior, side_posterior
from service.core.symmetry.index_catalogue import Side
from service.core.symmetry.joint_motion import (
    MOTION_PRIOR,
    MOTION_PRIOR_AFTER_INJURY,
    SMALLEST_WORTHWHILE_MOTION,
)
from service.core.symmetry.posterior import SideReading
from service.core.symmetry.qualities import (
    ENDURANCE_PRIOR,
    SMALLEST_WORTHWHILE_ENDURANCE,
    repetitions_more,
)
from service.core.units import Share
from service.usecases.answers.due_checks import OF_SIDES, due_checks
from service.usecases.answers.history import Histories, read_histories
from service.usecases.answers.imbalance_closing import Closing, sides_ahead
from service.usecases.answers.imbalance_history import Lookback, look_back_on
from service.usecases.answers.imbalance_lifts import LiftGaps, by_muscle, directly_trained, gaps_of
from service.usecases.answers.imbalance_measured import Measured, MeasuredGap, girth_sites, measured_gaps
from service.usecases.answers.imbalance_sides import Sides, operated_on_both, part_of_region, sides_of
from service.usecases.answers.imbalance_telling import Telling, ToldGap
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import Teller, documents, estimate_document
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import ConsentPurpose

#: Endurance is told of a lift once its sets, and not the prior, are some part of what is known. (judgement)
_TELLING_ENDURANCE: Share = 0.9


@dataclass(frozen=True, slots=True)
class ImbalanceQuestion:
    """What is asked: everything, or one lift, or the lifts of one muscle; sides that were told override the athlete's.

    ``weeks`` is how far to look back, 0 for not at all.
    """

    exercise_id: str | None = None
    muscle_id: str | None = None
    dominant_side: Side | None = None
    involved_side: Side | None = None
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    full: bool = False
    min_position: int | None = None
    weeks: int = 0


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
    comparing = _Comparing(work, situation, book, question, Teller(texts))
    ask = comparing.ask()
    cautions = (*situation.standing_cautions, Caution("imbalance_is_measurement_not_risk"))
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
        "items": comparing.items(),
        "not_computed": comparing.not_computed,
        **({"ask": documents([comparing.teller.reason(ask)])[0]} if ask is not None else {}),
        "due_checks": due_checks(situation, comparing.histories, comparing.teller, OF_SIDES),
        "cautions": documents(comparing.teller.cautions(cautions)),
    }


@dataclass
class _Comparing:
    """Compares the sides of everything that was asked for."""

    work: UnitOfWork
    situation: Situation
    book: ExerciseBook
    question: ImbalanceQuestion
    teller: Teller
    not_computed: list[Document] = field(default_factory=list)

    def items(self) -> list[Document]:
        for exercise_id, history in sorted(self.histories.by_exercise.items()):
            one_sided = history.exercise.laterality == "one_sided" and self._is_asked(history.exercise)
            if one_sided and exercise_id not in {lift.exercise.exercise_id for lift in self.lifts}:
                self._tell_missing({"exercise_id": exercise_id}, Reason("sides.one_side_only"))
        gaps = [gap for lift in self._asked_lifts for gap in self._of_lift(lift)]
        if self.question.exercise_id is None:
            gaps += self._of_muscles(gaps)
            # A tape measures a place, not a muscle: asked for a muscle, no girth is told.
            gaps += [*self._of_sites(), *self._of_tests()] if self.question.muscle_id is None else []
        return [self._telling.item(gap) for gap in gaps]

    @cached_property
    def histories(self) -> Histories:
        return read_histories(self.situation, self.book)

    @cached_property
    def lifts(self) -> list[LiftGaps]:
        """Every one-sided lift whose sides were compared, asked for or not: an opposite gap may lie in any."""
        histories = sorted(self.histories.by_exercise.items())
        found = (gaps_of(history, self.situation) for _, history in histories if _one_sided(history.exercise))
        return [lift for lift in found if lift is not None]

    @cached_property
    def _asked_lifts(self) -> list[LiftGaps]:
        return [lift for lift in self.lifts if self._is_asked(lift.exercise)]

    def _is_asked(self, exercise: Exercise) -> bool:
        if self.question.exercise_id is not None:
            return exercise.exercise_id == self.question.exercise_id
        if self.question.muscle_id is None:
            return True
        return bool(set(self.book.catalogue.parts(self.question.muscle_id)) & directly_trained(exercise))

    @cached_property
    def measured(self) -> Measured:
        sites = girth_sites(self.situation)
        return measured_gaps(
            self.situation, {site: self._sides(part_of_region(site)).prior.sd for site in sites}
        )

    @cached_property
    def _lookback(self) -> Lookback:
        asked = self.question
        return look_back_on(self.work, self.book, self.situation, self._asked_lifts, asked.weeks, asked.mass)

    @cached_property
    def _closing(self) -> Closing:
        muscles = {
            muscle: [self._pooled(group) for group in (pooled, *([lift] for lift in pooled))]
            for muscle, pooled in by_muscle(self.lifts).items()
        }
        sites = {
            gap.place: self._size(gap, self._sides(part_of_region(gap.place))) for gap in self.measured.girths
        }
        ahead = sides_ahead(self.book, muscles, sites)
        return Closing(self.situation, self.book, self.histories, ahead, self.question.mass)

    def _sides(self, part: BodyPart | None) -> Sides:
        return sides_of(self.situation, part, self.question.dominant_side, self.question.involved_side)

    @cached_property
    def _telling(self) -> Telling:
        screening = self.situation.screening
        clearance = screening.clearance if screening is not None else None
        least = clearance.min_reps_in_reserve if clearance is not None else None
        return Telling(self.teller, self.situation.local_date, self.question.mass, self.question.full, least)

    def _strength(self, pooled: Sequence[LiftGaps], sides: Sides) -> SidePosterior:
        readings = [lift.reading(lift.strength) for lift in pooled]
        return side_posterior(_with_checks(readings, pooled), prior=sides.prior, mass=self.question.mass)

    def _pooled(self, lifts: Sequence[LiftGaps]) -> SidePosterior:
        return self._strength(lifts, self._sides(lifts[0].exercise.body_part))

    def _of_lift(self, lift: LiftGaps) -> Iterator[ToldGap]:
        sides = self._sides(lift.exercise.body_part)
        place: Document = {"scope": "exercise", "exercise_id": lift.exercise.exercise_id}
        found = self._strength([lift], sides)
        plan = self._closed_on_both(lift.exercise.body_part) or self._closing.of_lift(
            lift.exercise, "strength", found, sides
        )
        past = self._lookback.of_lifts([lift], "strength", sides.prior)
        more: Document = {"repetitions": round(lift.strength.repetitions, 1)}
        yield ToldGap("strength", place, found, sides, past, plan, more)
        endurance = self._endurance([lift])
        if endurance.basis.prior_share <= _TELLING_ENDURANCE:
            plan = self._closed_on_both(lift.exercise.body_part) or self._closing.of_lift(
                lift.exercise, "endurance", endurance, sides
            )
            past = self._lookback.of_lifts([lift], "endurance", ENDURANCE_PRIOR)
            gained = repetitions_more(endurance.distribution, lift.strength.repetitions, self.question.mass)
            more = {**more, "repetitions_more": estimate_document(gained)}
            yield ToldGap("endurance", place, endurance, sides, past, plan, more)

    def _endurance(self, pooled: Sequence[LiftGaps]) -> SidePosterior:
        return side_posterior(
            [lift.reading(lift.endurance) for lift in pooled],
            prior=ENDURANCE_PRIOR,
            smallest_worthwhile=SMALLEST_WORTHWHILE_ENDURANCE,
            mass=self.question.mass,
        )

    def _closed_on_both(self, part: BodyPart | None) -> Reason | None:
        """No side is a measure for the other where both were operated on."""
        both = operated_on_both(self.situation.screening, part)
        return Reason("closing.clinicians_target_needed", {"side": "both"}) if both else None

    def _of_muscles(self, told: Sequence[ToldGap]) -> list[ToldGap]:
        """Pool the lifts that train a muscle directly; one lift alone speaks for itself only."""
        wanted = self.question.muscle_id
        asked = None if wanted is None else set(self.book.catalogue.parts(wanted))
        planned = {gap.place["exercise_id"] for gap in told if isinstance(gap.plan, ClosingPlan)}
        items: list[ToldGap] = []
        for muscle, pooled in by_muscle(self._asked_lifts).items():
            if len(pooled) > 1 and (asked is None or muscle in asked):
                items += self._of_muscle(muscle, pooled, planned)
        return items

    def _of_muscle(self, muscle: str, pooled: Sequence[LiftGaps], planned: set[str]) -> Iterator[ToldGap]:
        part = pooled[0].exercise.body_part
        sides = self._sides(part)
        names = [lift.exercise.exercise_id for lift in pooled]
        place: Document = {"scope": "muscle", "muscle_id": muscle, "exercise_ids": names}
        refused = self._closed_on_both(part)
        if refused is None and planned & set(names):
            refused = Reason("closing.in_its_lifts")
        found = self._strength(pooled, sides)
        past = self._lookback.of_lifts(pooled, "strength", sides.prior)
        plan = refused or self._closing.of_muscle(muscle, "strength", found, sides)
        yield ToldGap("strength", place, found, sides, past, plan)
        endurance = self._endurance(pooled)
        if endurance.basis.prior_share <= _TELLING_ENDURANCE:
            past = self._lookback.of_lifts(pooled, "endurance", ENDURANCE_PRIOR)
            plan = refused or self._closing.of_muscle(muscle, "endurance", endurance, sides)
            yield ToldGap("endurance", place, endurance, sides, past, plan)

    def _size(self, gap: MeasuredGap, sides: Sides) -> SidePosterior:
        return side_posterior([gap.now(self.situation.now_day)], prior=sides.prior, mass=self.question.mass)

    def _of_sites(self) -> list[ToldGap]:
        items = []
        for gap in self.measured.girths:
            part = part_of_region(gap.place)
            sides = self._sides(part)
            found = self._size(gap, sides)
            plan = self._closed_on_both(part) or self._closing.of_site(gap.place, found, sides)
            place: Document = {"scope": "site", "site": gap.place, "corrected": gap.corrected}
            more = {"technical_error": round(gap.technical_error or 0.0, 5)}
            past = self._lookback.of_measured(gap, sides.prior)
            items.append(ToldGap("size", place, found, sides, past, plan, more))
        for site in self.measured.unusable_sites:
            self._tell_missing({"site": site}, Reason("sides.one_side_measured"))
        return items

    def _of_tests(self) -> list[ToldGap]:
        items = []
        for gap in self.measured.motions:
            sides = self._sides(part_of_region(gap.place))
            prior = MOTION_PRIOR if sides.involved is None else MOTION_PRIOR_AFTER_INJURY
            found = side_posterior(
                [gap.now(self.situation.now_day)],
                prior=prior,
                smallest_worthwhile=SMALLEST_WORTHWHILE_MOTION,
                mass=self.question.mass,
                unit="deg",
            )
            past = self._lookback.of_measured(gap, prior, "deg")
            place: Document = {"scope": "test", "test": gap.place}
            plan = Reason("closing.not_by_sets")
            items.append(ToldGap("joint_motion", place, found, sides, past, plan))
        for test in self.measured.unusable_tests:
            self._tell_missing({"test": test}, Reason("sides.one_side_measured"))
        return items

    def ask(self) -> Reason | None:
        """Return the one missing fact worth most: effort of the side that copies, else which side, else a girth again."""
        silent = [lift for lift in self._asked_lifts if not lift.effort_known]
        if silent:
            return _ask_of_effort(max(silent, key=lambda one: (one.visit_count, one.exercise.exercise_id)))
        nameless = [
            history.exercise.name
            for _, history in sorted(self.histories.by_exercise.items())
            if _one_sided(history.exercise)
            and self._is_asked(history.exercise)
            and any(seen.side == "unspecified" for seen in history.work_sets())
        ]
        if nameless:
            return Reason("sides.ask_side", {"exercise": nameless[0]})
        if (
            self.question.exercise_id is None
            and self.question.muscle_id is None
            and self.measured.unusable_sites
        ):
            return Reason("sides.ask_girth_again", {"site": self.measured.unusable_sites[0]})
        return None

    def _tell_missing(self, place: Document, reason: Reason) -> None:
        self.not_computed.append({**place, "reason": documents([self.teller.reason(reason)])[0]})


def _ask_of_effort(lift: LiftGaps) -> Reason:
    """Ask for sets of both sides to the same reserve, or of the side that told none, and say what must be left of them; where
    no such set may be asked for, only to be told of those that were done."""
    code, params = "sides.ask_reserve", dict[str, Param](exercise=lift.exercise.name)
    if lift.least_left is None:
        return Reason("sides.ask_told_reserve", params)
    if lift.silent_side is not None:
        code, params = "sides.ask_effort_check", {**params, "side": lift.silent_side}
    if lift.least_left:
        code, params = f"{code}_leaving", {**params, "left": lift.least_left}
    return Reason(code, params)


def _one_sided(exercise: Exercise) -> bool:
    return exercise.laterality == "one_sided"


def _with_checks(readings: Sequence[SideReading], lifts: Sequence[LiftGaps]) -> list[SideReading]:
    """Say with a reading that an effort check is due."""
    return [
        reading
        if lift.check_due is None
        else _with_reason(reading, Reason("sides.effort_check_due", {"days": lift.check_due}))
        for reading, lift in zip(readings, lifts, strict=True)
    ]


def _with_reason(reading: SideReading, reason: Reason) -> SideReading:
    return SideReading(
        reading.key, reading.kind, reading.t, reading.variance, reading.visit_count, reading.newest_day,
        reading.effort_known, (*reading.reasons, reason), reading.visit_variance,
    )  # fmt: skip


def _refuse_unknown(book: ExerciseBook, question: ImbalanceQuestion) -> None:
    if question.exercise_id is not None and book.find(question.exercise_id) is None:
        raise UnknownReference(faults=[_unknown("exercise_id", "an id of GET /v1/exercises")])
    if question.muscle_id is not None and not book.knows_muscle(question.muscle_id):
        raise UnknownReference(faults=[_unknown("muscle_id", "an id of GET /v1/muscles")])


def _unknown(parameter: str, expected: str) -> FieldFault:
    return FieldFault(f"?{parameter}", "unknown_reference", "there is no such thing here", expected)
