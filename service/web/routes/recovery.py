"""Which muscles are ready."""

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import AfterValidator

from service.core.estimates import DEFAULT_MASS
from service.reports.recovery_chart import draw_recovery
from service.usecases import errors as refused
from service.usecases.answers.recovery import RecoveryQuestion, answer_recovery
from service.web.charts import JSON, SVG, AcceptHeader, FormatAsked, chart_if_asked, chart_success
from service.web.operation import Operation, Success, declare
from service.web.parameters import (
    AcceptLanguage,
    AsOf,
    AthleteId,
    CallerOf,
    IfNoneMatchHeader,
    IntervalMass,
    MinPosition,
    ServicesOf,
    within_calendars,
)
from service.web.rendering import answer_response
from service.web.routes.recovery_examples import LEARNED, NEW_ATHLETE
from service.web.schemas.base import Instant, Slug
from service.web.schemas.recovery import RecoveryAnswer

At = Annotated[
    Instant | None,
    AfterValidator(within_calendars),
    Query(
        description="The instant to answer for, with nothing more trained until then; `as_of` unless given. Instants more "
        "than 14 days after `as_of` are taken as that end; one before `as_of` is answered from what was known at it."
    ),
]
MuscleIds = Annotated[
    list[Slug] | None,
    Query(
        alias="muscle_id",
        max_length=100,
        description="Only these muscles, also where they were not trained of late; a muscle in parts stands for its parts.",
    ),
]
_OPERATION = Operation(
    id="getRecovery",
    method="GET",
    path="/athletes/{athlete_id}/recovery",
    tag="Session",
    summary="Which muscles are ready, and when will the rest be?",
    description=(
        "The probability that each muscle and side trained within two weeks, or sore now, is within one repetition of its "
        "usual, hours until it is, and how many hard sets it is ready after by its usual next session. The trunk under axial "
        "load and the whole body stand beside the muscles, for the trunk can end a set first. What a session costs and how fast "
        "that fades is learned from the gap between foretold and seen repetitions of next sessions, shared over muscles; days' "
        "ups and downs are noise. `sets_ready_by_next` is left out, with the reason, until it is learned. Soreness counts a "
        "little, also where nothing was logged that explains it. "
        "As a chart (`format=svg`) the chance of being ready against the hours to come. Reads 182 days. Safe to repeat; "
        "revalidate with If-None-Match."
    ),
    scope="answer:read",
    errors=(
        refused.ConsentRequired,
        refused.Deleted,
        refused.UnknownReference,
        refused.BehindPosition,
    ),
    produces=(JSON, SVG),
    successes=(
        Success(
            200,
            "What is ready.",
            RecoveryAnswer,
            examples={"learned": {"value": LEARNED}, "new_athlete": {"value": NEW_ATHLETE}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The chance of being ready against the hours to come.", draw_recovery(LEARNED)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation on recovery."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_recovery(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        at: At = None,
        muscle_id: MuscleIds = None,
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        format: FormatAsked = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        accept: AcceptHeader = None,
    ) -> Response:
        asked: dict[str, object] = {"at": at, "muscle_id": muscle_id, "as_of": as_of, "mass": mass}
        question = RecoveryQuestion(at, muscle_id or (), as_of, mass, min_position)
        with services.read(caller) as (work, book):
            answer = answer_recovery(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_recovery)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
