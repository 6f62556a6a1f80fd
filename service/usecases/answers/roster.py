"""The answers of many athletes at once, one athlete at a time, so that neither memory nor a snapshot grows with a roster."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.errors import CoreError
from service.core.estimates import DEFAULT_MASS
from service.core.units import MassUnit, Share
from service.usecases import resources
from service.usecases.answers.capability import CapabilityQuestion, answer_capability
from service.usecases.answers.imbalance import ImbalanceQuestion, answer_imbalance
from service.usecases.answers.load_progression import ProgressionQuestion, answer_load_progression
from service.usecases.answers.next_session import SessionQuestion, preview_session
from service.usecases.answers.roster_trends import trend_summary
from service.usecases.answers.trends import TrendQuestion, answer_trends
from service.usecases.answers.volume import VolumeQuestion, answer_volume
from service.usecases.answers.weeks import calendar_of
from service.usecases.consent import require_consent
from service.usecases.documents import Document
from service.usecases.errors import (
    NotFound,
    NothingToComputeOn,
    OutsideValidRange,
    StoreUnavailable,
    UseCaseError,
)
from service.usecases.exercises import ExerciseBook
from service.usecases.kinds import GROUP, SITE
from service.usecases.ports import Stored, UnitOfWork
from service.usecases.records.people import Athlete

RosterAnswer = Literal[
    "capability", "load-progression", "volume", "imbalance-indices", "next-session", "trends"
]
#: Opens a transaction of its own for each step: a stream that is read slowly holds no snapshot.
Reader = Callable[[], AbstractContextManager[tuple[UnitOfWork, ExerciseBook]]]
#: Athletes looked up at a time.
PAGE = 50
#: What a whole answer says of itself that is repeated with each of its rows.
_TOLD = ("position", "model_version", "as_of", "site_id", "minutes", "cautions")
_NOTHING = "Nothing in the log can be answered with."


@dataclass(frozen=True, slots=True)
class RosterQuestion:
    """Which answer, of whom, as things stood at the end of which week; ``week_of`` None means now."""

    answer: RosterAnswer
    group_id: UUID | None = None
    site_id: UUID | None = None
    week_of: date | None = None
    unit: MassUnit | None = None
    mass: Share = DEFAULT_MASS


@dataclass(frozen=True, slots=True)
class RosterRow:
    """One line of one athlete's answer; ``told`` is what the whole answer says of itself."""

    athlete_id: UUID
    athlete: Athlete
    told: Document
    item: Document


@dataclass(frozen=True, slots=True)
class RosterProblem:
    """Why one athlete has no answer; the stream goes on with the next."""

    athlete_id: UUID
    athlete: Athlete
    refusal: UseCaseError


@dataclass(frozen=True, slots=True)
class RosterEnd:
    """What a whole stream ends with."""

    count: int
    athlete_count: int
    problem_count: int


RosterLine = RosterRow | RosterProblem | RosterEnd


@dataclass(frozen=True, slots=True)
class OneOfRoster:
    """What an answer is made for: one athlete and the instant that the whole roster shares."""

    athlete_id: UUID
    as_of: datetime
    question: RosterQuestion


Make = Callable[[UnitOfWork, ExerciseBook, Texts, OneOfRoster], Document]


def _volume(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    asked = VolumeQuestion(week_of=one.question.week_of, as_of=one.as_of, mass=one.question.mass)
    return answer_volume(work, book, texts, one.athlete_id, asked)


def _imbalance(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    asked = ImbalanceQuestion(as_of=one.as_of, mass=one.question.mass)
    return answer_imbalance(work, book, texts, one.athlete_id, asked)


def _capability(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    asked = one.question
    question = CapabilityQuestion(one.athlete_id, as_of=one.as_of, mass=asked.mass, unit=asked.unit)
    return answer_capability(work, book, texts, question)


def _load_progression(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    asked = one.question
    question = ProgressionQuestion(
        one.athlete_id, site_id=asked.site_id, as_of=one.as_of, mass=asked.mass, unit=asked.unit
    )
    return answer_load_progression(work, book, texts, question)


def _next_session(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    asked = one.question
    question = SessionQuestion(one.athlete_id, site_id=asked.site_id, as_of=one.as_of, unit=asked.unit)
    return preview_session(work, book, texts, question)


def _trends(work: UnitOfWork, book: ExerciseBook, texts: Texts, one: OneOfRoster) -> Document:
    """Return the short state of an athlete's trends as the only item: the whole answer would be dozens of rows."""
    asked = TrendQuestion(side="both", as_of=one.as_of, mass=one.question.mass)
    answer = answer_trends(work, book, texts, one.athlete_id, asked)
    summary = trend_summary(answer)
    return {**answer, "items": [] if summary is None else [summary]}


#: Every answer that a roster can be asked for, and how it is made for one athlete.
ANSWERS: Mapping[RosterAnswer, Make] = {
    "capability": _capability,
    "load-progression": _load_progression,
    "volume": _volume,
    "imbalance-indices": _imbalance,
    "next-session": _next_session,
    "trends": _trends,
}


def open_roster(work: UnitOfWork, question: RosterQuestion) -> datetime:
    """Return the instant that the whole stream shares.

    Raises ``NotFound`` for an answer that there is not, and for a group or site out of reach.
    """
    if question.answer not in ANSWERS:
        raise NotFound
    for kind, id in ((GROUP, question.group_id), (SITE, question.site_id)):
        if id is not None:
            resources.get(work, resources.Target(kind, id))
    return work.now


def stream_roster(
    read: Reader, texts: Texts, question: RosterQuestion, as_of: datetime
) -> Iterator[RosterLine]:
    """Yield the rows or the problem of each athlete in reach, by id, then the end.

    Raises ``StoreUnavailable`` where the store is lost on the way; there is no end then.
    """
    rows = problems = seen = 0
    for stored in _athletes(read, question):
        seen += 1
        lines = _lines_of(read, texts, stored, question, as_of)
        rows += sum(isinstance(line, RosterRow) for line in lines)
        problems += sum(isinstance(line, RosterProblem) for line in lines)
        yield from lines
    yield RosterEnd(rows, seen, problems)


def _athletes(read: Reader, question: RosterQuestion) -> Iterator[Stored]:
    after: UUID | None = None
    while True:
        with read() as (work, _):
            page = work.people.roster(question.group_id, after, PAGE)
        yield from (
            stored
            for stored in page
            if question.site_id is None or stored.record.home_site_id == question.site_id
        )
        if len(page) < PAGE:
            return
        after = page[-1].id


def _lines_of(
    read: Reader, texts: Texts, stored: Stored, question: RosterQuestion, as_of: datetime
) -> list[RosterLine]:
    athlete: Athlete = stored.record
    one = OneOfRoster(stored.id, _instant_for(athlete, question, as_of), question)
    try:
        with read() as (work, book):
            require_consent(work, stored.id, "process_health", "coach")
            answer = ANSWERS[question.answer](work, book, texts, one)
    except StoreUnavailable:
        raise
    except UseCaseError as refusal:
        return [RosterProblem(stored.id, athlete, refusal)]
    except CoreError:
        return [RosterProblem(stored.id, athlete, OutsideValidRange())]
    if not answer["items"]:
        return [RosterProblem(stored.id, athlete, NothingToComputeOn(answer.get("action") or _NOTHING))]
    told = {name: answer[name] for name in _TOLD if name in answer}
    return [RosterRow(stored.id, athlete, told, item) for item in answer["items"]]


def _instant_for(athlete: Athlete, question: RosterQuestion, as_of: datetime) -> datetime:
    """Return the end of the asked week in the athlete's own calendar, or now where that is sooner."""
    if question.week_of is None:
        return as_of
    return min(as_of, calendar_of(athlete).week_of(question.week_of).end)
