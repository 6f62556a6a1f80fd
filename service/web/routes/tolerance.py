"""What a body tolerates now."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from service.reports.tolerance_chart import draw_tolerance
from service.usecases import errors as refused
from service.usecases.answers.tolerance import (
    MOST_WEEKS,
    USUAL_WEEKS,
    ToleranceQuestion,
    answer_tolerance,
)
from service.web.charts import JSON, SVG, AcceptHeader, FormatAsked, chart_if_asked, chart_success
from service.web.operation import Operation, Success, declare
from service.web.parameters import (
    AcceptLanguage,
    AsOf,
    AthleteId,
    CallerOf,
    IfNoneMatchHeader,
    MinPosition,
    ServicesOf,
)
from service.web.rendering import answer_response
from service.web.routes.tolerance_examples import LOCKING, PAINFUL_ARC
from service.web.schemas.tolerance import ToleranceAnswer

_OPERATION = Operation(
    id="getTolerance",
    method="GET",
    path="/athletes/{athlete_id}/tolerance",
    tag="Session",
    summary="What does pain ask for, and how much was trained?",
    description=(
        "Pain of the last three weeks by region, side and the lift that brings it on, with its angles and phases: carry on, "
        "hold, reduce and watch the next morning, swap, or stop. The zones are those of the published pain-monitoring model as "
        "remembered; `zones` says which version. After pain a morning that nobody told allows no increase; one that was told is "
        "held against the last one told before the session. Load comes off the load at which it hurt, once. Warning signs say whom "
        "to see and how soon, and stand until they are answered; nothing here says what causes a pain. Session load, RPE times "
        "minutes, is described by week. Free text is never read. As a chart (`format=svg`) the pain of each session by place, "
        "zones in words. Safe to repeat; revalidate with If-None-Match."
    ),
    scope="answer:read",
    errors=(refused.ConsentRequired, refused.Deleted, refused.BehindPosition),
    produces=(JSON, SVG),
    successes=(
        Success(
            200,
            "What is tolerated.",
            ToleranceAnswer,
            examples={"painful_arc": {"value": PAINFUL_ARC}, "locking": {"value": LOCKING}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("Pain by session.", draw_tolerance(PAINFUL_ARC)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation on tolerance."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_tolerance(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        weeks: Annotated[
            int, Query(ge=1, le=MOST_WEEKS, description="How many weeks of load, up to this one.")
        ] = USUAL_WEEKS,
        as_of: AsOf = None,
        format: FormatAsked = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        accept: AcceptHeader = None,
    ) -> Response:
        asked: dict[str, object] = {"weeks": weeks, "as_of": as_of}
        question = ToleranceQuestion(weeks, as_of, min_position)
        with services.read(caller) as (work, book):
            answer = answer_tolerance(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_tolerance)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
