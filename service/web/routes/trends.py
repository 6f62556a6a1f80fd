"""Whether strength rises, stands or falls."""

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.reports.trends_chart import draw_trends
from service.usecases import errors as refused
from service.usecases.answers.trend_pooling import USUAL_WEEKS
from service.usecases.answers.trends import TrendQuestion, answer_trends
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
)
from service.web.rendering import answer_response
from service.web.routes.trends_examples import AFTER_A_BREAK, LEG_PRESS
from service.web.schemas.base import Name, Slug
from service.web.schemas.trends import TrendAnswer

_OPERATION = Operation(
    id="getTrends",
    method="GET",
    path="/athletes/{athlete_id}/trends",
    tag="Load progression",
    summary="Does strength rise, stand or fall, beyond noise?",
    description=(
        "Change of the load for the repetitions trained over the last `weeks`, per lift and side, and pooled over the "
        "lifts that train a muscle directly. It is read off a smoother that knows how the errors of different days hang "
        "together; the three probabilities add up to 1. A stall must be shown like progress or regression: the absence "
        "of a record is `not_decided`. Sessions before a break, under another range or at another station are never "
        "joined; where too few remain, or sets are too rare, nothing is told and the reasons say why. `easier_week` says "
        "whether a week of fewer sets may pay: a suggestion, no measure of risk. `due_checks` tells what is due between "
        "sessions. As a chart (`format=svg`) one interval an item, or the line of one lift. The last 182 days are read. "
        "Safe to repeat; revalidate with If-None-Match."
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
            "How strength changed.",
            TrendAnswer,
            examples={"leg_press": {"value": LEG_PRESS}, "after_a_break": {"value": AFTER_A_BREAK}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("One interval an item, or the line of one lift.", draw_trends(LEG_PRESS)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation on trends."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_trends(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        weeks: Annotated[
            int, Query(ge=4, le=24, description="How many weeks to look back over.")
        ] = USUAL_WEEKS,
        exercise_id: Annotated[
            Name | None, Query(description="Only this lift, with its line session by session.")
        ] = None,
        muscle_id: Annotated[
            Slug | None,
            Query(description="Only the lifts that train this muscle directly, alone and pooled."),
        ] = None,
        side: Annotated[Literal["left", "right", "both"] | None, Query(description="Only this side.")] = None,
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        question = TrendQuestion(weeks, exercise_id, muscle_id, side, as_of, mass, min_position)
        asked = {
            "weeks": weeks, "exercise_id": exercise_id, "muscle_id": muscle_id, "side": side, "as_of": as_of,
            "mass": mass,
        }  # fmt: skip
        with services.read(caller) as (work, book):
            answer = answer_trends(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_trends)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
