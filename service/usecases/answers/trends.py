"""Whether strength rises, stands or falls: per lift and side, pooled per muscle, and whether fewer sets may pay for a week."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import exp
from typing import Final, Literal
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.capability import Side
from service.core.estimates import DEFAULT_MASS, Basis, Reason
from service.core.trend import (
    MODEL_VERSION,
    WORTHWHILE,
    EasierWeek,
    Trend,
    change_between,
    decide_trend,
    settled,
    suggest_easier_week,
)
from service.core.trend.stretch import break_limit
from service.core.units import Days, Share
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.answers.due_checks import due_checks
from service.usecases.answers.history import ExerciseHistory, read_histories
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    instant_of_day,
)
from service.usecases.answers.trend_lines import TrendLog
from service.usecases.answers.trend_of_lift import LiftTrend
from service.usecases.answers.trend_pooling import USUAL_WEEKS, basis_of, pooled, prior_share
from service.usecases.answers.trend_strain import strain_of
from service.usecases.documents import Document, without_nulls
from service.usecases.errors import FieldFault, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import ConsentPurpose

_SOURCES = ("Rauch1965", "Littell1996")
_EASIER_SOURCES = ("Bell2023", "Coleman2024", "ReducedWeeks2026", "Spiering2021")
#: A lift that was logged for longer is no longer being learnt from its start (judgement).
_LEARNING_WEEKS: Final = 16.0


@dataclass(frozen=True, slots=True)
class TrendQuestion:
    """What is asked: how many weeks back, of which lift, muscle or side; all unless named."""

    weeks: int = USUAL_WEEKS
    exercise_id: str | None = None
    muscle_id: str | None = None
    side: Literal["left", "right", "both"] | None = None
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    min_position: int | None = None


def answer_trends(
    work: UnitOfWork,
    book: ExerciseBook,
    texts: Texts,
    athlete_id: UUID,
    question: TrendQuestion,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
) -> Document:
    """Return how an athlete's strength changed over some weeks, beyond noise.

    Raises what ``read_situation`` raises, and ``UnknownReference`` for a lift or muscle that does not exist.
    """
    _refuse_unknown(book, question)
    # Without a book no state is read: looking back begins with the window's first set, however long the log is.
    situation = read_situation(
        work,
        athlete_id,
        as_of=question.as_of,
        purposes=purposes,
        min_position=question.min_position,
    )
    log = TrendLog(situation, read_histories(situation, book), situation.now_day - 7.0 * question.weeks)
    telling = _Telling(Teller(texts), question, log)
    easier = suggest_easier_week(strain_of(work, log), question.mass)
    items = [*telling.lifts(), *telling.muscles()]
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
        "weeks": question.weeks,
        "items": items,
        "reasons": [] if items else documents(telling.teller.reasons((telling.why_nothing(),))),
        "easier_week": telling.easier_week(easier),
        "due_checks": due_checks(situation, log.histories, telling.teller),
        "cautions": documents(telling.teller.cautions(situation.cautions)),
    }


def _refuse_unknown(book: ExerciseBook, question: TrendQuestion) -> None:
    faults = []
    if question.exercise_id is not None and book.find(question.exercise_id) is None:
        faults.append(_unknown("exercise_id", "an id of GET /v1/exercises"))
    if question.muscle_id is not None and not book.knows_muscle(question.muscle_id):
        faults.append(_unknown("muscle_id", "an id of GET /v1/muscles"))
    if faults:
        raise UnknownReference(faults=faults)


def _unknown(parameter: str, expected: str) -> FieldFault:
    return FieldFault(f"?{parameter}", "unknown_reference", "there is no such thing here", expected)


@dataclass(frozen=True)
class _Telling:
    """Turns trends into documents."""

    teller: Teller
    question: TrendQuestion
    log: TrendLog

    @property
    def situation(self) -> Situation:
        return self.log.situation

    def lifts(self) -> list[Document]:
        """Return one item for each lift and side that was asked for."""
        return [self._lift(one) for one in self.log.trends(self._asked(), self.question.side)]

    def _asked(self) -> list[str]:
        """Return the lifts asked for: the one named, those of the muscle named, or all trained in the window."""
        if self.question.exercise_id is not None:
            return [self.question.exercise_id]
        wanted = self._wanted_muscles()
        return [
            exercise_id
            for exercise_id, history in self.log.histories.by_exercise.items()
            if self.log.was_done(history) and (wanted is None or wanted & directly_trained(history))
        ]

    def _wanted_muscles(self) -> frozenset[str] | None:
        muscle_id = self.question.muscle_id
        return None if muscle_id is None else frozenset(self.log.histories.book.catalogue.parts(muscle_id))

    def _lift(self, trend: LiftTrend) -> Document:
        exercise = trend.history.exercise
        place: Document = {
            "scope": "exercise",
            "exercise_id": exercise.exercise_id,
            "exercise_name": exercise.name,
            "side": trend.side,
            "repetitions": _repetitions(trend),
            "points": self._points(trend),
        }
        reasons = (*trend.stretch.reasons, *trend.notes, *_of_effort(trend), *self._away())
        basis = _basis(trend)
        if trend.change is None:
            return self._undecided(place, trend.stretch.days, basis, reasons)
        decided = decide_trend(
            trend.change,
            trend.weeks,
            basis,
            measured=trend.measured,
            novice=self._novice(trend),
            reasons=reasons,
            mass=self.question.mass,
        )
        return self._decided(place, trend.stretch.days, decided)

    def _novice(self, trend: LiftTrend) -> Share:
        """Return the weight of the hypothesis that a lift is still being learnt, 0 for the trained and for long logs."""
        if trend.line is None or self.situation.training == "trained" or trend.weeks_logged > _LEARNING_WEEKS:
            return 0.0
        return trend.line.novice

    def why_nothing(self) -> Reason:
        """Return why there is nothing to tell."""
        days, weeks = self.log.athlete_days, self.question.weeks
        if not days:
            return Reason("trend.nothing_logged")
        if days[-1] < self.log.since:
            return Reason("trend.none_in_window", {"weeks": weeks, "days": self.situation.now_day - days[-1]})
        return Reason("trend.nothing_told", {"weeks": weeks})

    def _points(self, trend: LiftTrend) -> list[Document] | None:
        """Return the line where one lift with a mass is asked for: against its first comparable session. [%]"""
        line = trend.line
        if self.question.exercise_id is None or line is None or trend.change is None:
            return None
        if trend.measured == "level":
            return None
        first = line.days.index(trend.stretch.days[0])
        points = []
        for day in trend.stretch.days:
            change = change_between(line, first, line.days.index(day))
            moved = change if day == trend.stretch.days[0] else settled(change, trend.log_age)
            told = estimate_document(moved.percent(self.question.mass))
            points.append({"at": instant_of_day(self.log.began(day)), "change": told})
        return points

    def _away(self) -> tuple[Reason, ...]:
        """Say where the newest session of all lies so far back that a break is on."""
        days = self.log.athlete_days
        away = self.situation.now_day - days[-1] if days else 0.0
        return (Reason("trend.away", {"days": away}),) if days and away > break_limit(days) else ()

    def muscles(self) -> list[Document]:
        """Return one item for each muscle that lifts train directly, and for its sides where lifts load them singly."""
        if self.question.exercise_id is not None:
            return []
        found = []
        for side in ("both", "left", "right"):
            if self.question.side in {None, side}:
                for muscle, lifts in sorted(self._by_muscle(side).items()):
                    found.append(self._muscle(muscle, side, lifts))
        return sorted(
            found, key=lambda item: (item["muscle_id"], ("both", "left", "right").index(item["side"]))
        )

    def _by_muscle(self, side: Side) -> Mapping[str, list[LiftTrend]]:
        wanted = self._wanted_muscles()
        by_muscle: dict[str, list[LiftTrend]] = defaultdict(list)
        for exercise_id in self._asked():
            history = self.log.histories.by_exercise[exercise_id]
            if side == "both" or side in history.sides():
                trend = self.log.trend_of(history, side)
                for muscle in directly_trained(history):
                    if wanted is None or muscle in wanted:
                        by_muscle[muscle].append(trend)
        return by_muscle

    def _muscle(self, muscle: str, side: Side, lifts: Sequence[LiftTrend]) -> Document:
        together = pooled(lifts)
        place: Document = {
            "scope": "muscle",
            "muscle_id": muscle,
            "exercise_ids": [
                one.history.exercise.exercise_id for one in (lifts if together is None else together.lifts)
            ],
            "side": side,
        }
        if together is None:
            days = sorted({day for one in lifts for day in one.stretch.days})
            reasons = tuple(reason for one in lifts for reason in (*one.stretch.reasons, *one.notes))
            return self._undecided(place, days, basis_of(lifts, 1.0), reasons)
        decided = decide_trend(
            together.change,
            together.weeks,
            together.basis,
            measured=together.measured,
            novice=max(map(self._novice, together.lifts)),
            reasons=together.reasons,
            mass=self.question.mass,
        )
        return self._decided(place, together.days, decided)

    def _decided(self, place: Document, days: Sequence[Days], trend: Trend) -> Document:
        return self._item(
            {
                **place,
                "state": trend.state,
                "change": None if trend.change is None else estimate_document(trend.change),
                "weekly_change": None if trend.weekly is None else estimate_document(trend.weekly),
                "p_progress": round(trend.p_progress, 4),
                "p_regression": round(trend.p_regression, 4),
                "p_stall": round(trend.p_stall, 4),
            },
            days,
            trend.basis,
            trend.reasons,
        )

    def _undecided(
        self, place: Document, days: Sequence[Days], basis: Basis, reasons: Iterable[Reason]
    ) -> Document:
        return self._item({**place, "state": "not_decided"}, days, basis, reasons)

    def _item(
        self, told: Document, days: Sequence[Days], basis: Basis, reasons: Iterable[Reason]
    ) -> Document:
        document: Document = {
            **told,
            "smallest_worthwhile": round(100.0 * (exp(WORTHWHILE) - 1.0), 4),
            "sessions": len(days),
            "from": instant_of_day(self.log.began(days[0])) if days else None,
            "to": instant_of_day(self.log.began(days[-1])) if days else None,
            "basis": basis_document(self._dated(basis)),
            "reasons": documents(self.teller.reasons(reasons)),
            "cautions": [],
            "sources": list(_SOURCES),
        }
        kept: Document = without_nulls(document)
        return kept

    def _dated(self, basis: Basis) -> Basis:
        newest = basis.newest_day
        return basis if newest is None else replace(basis, newest_day=self.log.began(newest))

    def easier_week(self, found: EasierWeek) -> Document:
        """Return the suggestion on a week of fewer sets as a document."""
        document: Document = {
            "suggestion": found.suggestion,
            "p_tired": None if found.p_tired is None else round(found.p_tired, 4),
            "in_weeks": None if found.in_weeks is None else estimate_document(found.in_weeks),
            "lasts": estimate_document(found.lasts),
            "sets_share": estimate_document(found.sets_share),
            "least_reserve": found.least_reserve,
            "weeks_in_a_row": found.weeks_in_a_row,
            "reasons": documents(self.teller.reasons(found.reasons)),
            "sources": list(_EASIER_SOURCES),
        }
        kept: Document = without_nulls(document)
        return kept


def directly_trained(history: ExerciseHistory) -> frozenset[str]:
    """Return the muscles that a lift trains directly."""
    return frozenset(part.muscle_id for part in history.exercise.involvement if part.share >= DIRECT_SHARE)


def _of_effort(trend: LiftTrend) -> tuple[Reason, ...]:
    """Say where the sets that a trend rests on, of its own weeks and side, mostly tell no effort."""
    silent = sum(one.evidence.reps_in_reserve is None and not one.evidence.to_failure for one in trend.sets)
    if silent * 2 <= len(trend.sets):
        return ()
    return (Reason("trend.effort_assumed", {"sets": silent}),)


def _repetitions(trend: LiftTrend) -> float | None:
    """Return the repetitions whose load is followed, None of a hold or a carry, whose pieces are no repetitions."""
    if trend.line is None or trend.history.exercise.work != "repetitions":
        return None
    return round(trend.line.repetitions, 1)


def _basis(trend: LiftTrend) -> Basis:
    share = 1.0 if trend.change is None else prior_share(trend.change, trend, trend.weeks)
    return basis_of([trend], share)
