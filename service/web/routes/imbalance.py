"""Which side is ahead."""

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.reports.imbalance_chart import draw_imbalance
from service.usecases import errors as refused
from service.usecases.answers.imbalance import ImbalanceQuestion, answer_imbalance
from service.usecases.answers.imbalance_history import MOST_WEEKS
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
from service.web.routes.imbalance_examples import IMBALANCE
from service.web.schemas.base import Name, Slug
from service.web.schemas.imbalance import BodySide, ImbalanceAnswer

#: Weeks looked back on unless asked otherwise.
USUAL_WEEKS = 12
WeeksWanted = Annotated[
    int,
    Query(
        ge=0,
        le=MOST_WEEKS,
        description=f"Weeks of history to tell, a point a week; {USUAL_WEEKS} unless given, 0 for none.",
    ),
]
_OPERATION = Operation(
    id="getImbalanceIndices",
    method="GET",
    path="/athletes/{athlete_id}/imbalance-indices",
    tag="Imbalance indices",
    summary="Which side is ahead, by how much, and is it real?",
    description=(
        "The log ratio t = ln(right/left) with its interval, and every published index as a function of it, per "
        "one-sided lift (strength at the trained repetitions, and endurance), pooled over the lifts that train a muscle "
        "directly, and per girth site; joint motion in degrees. Kinds are never mixed, nor two sites, and a girth is never "
        "told as a muscle. Where one side's reserve was not told within three weeks, the state is `undetermined`: equal "
        "repetitions may hide a gap, and `ask` names the effort check. With `weeks` each gap has its history; a decided gap "
        "worth it has a closing plan, an operated side only with a clinician's target. A difference is a measurement with "
        "uncertainty and says nothing about injury. As a chart (`format=svg`) the comparisons are balance beams: left side "
        "left, right side right, the pivot at equality. Safe to repeat; revalidate with If-None-Match."
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
            "How the sides compare.",
            ImbalanceAnswer,
            examples={"arm_and_press": {"value": IMBALANCE}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The comparisons as balance beams.", draw_imbalance(IMBALANCE)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation on side-to-side differences."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_imbalance_indices(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        exercise_id: Annotated[Name | None, Query(description="Only this lift.")] = None,
        muscle_id: Annotated[
            Slug | None,
            Query(description="Only the lifts that train this muscle directly, alone and pooled."),
        ] = None,
        dominant_side: Annotated[
            BodySide | None, Query(description="The dominant side; the athlete's own unless given.")
        ] = None,
        involved_side: Annotated[
            BodySide | None,
            Query(description="The side hurt or operated on; from the screening unless given."),
        ] = None,
        detail: Annotated[
            Literal["summary", "full"],
            Query(description="`full` adds each index's title, formula and source."),
        ] = "summary",
        weeks: WeeksWanted = USUAL_WEEKS,
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        question = ImbalanceQuestion(
            exercise_id,
            muscle_id,
            dominant_side,
            involved_side,
            as_of,
            mass,
            detail == "full",
            min_position,
            weeks,
        )
        asked = {
            "exercise_id": exercise_id, "muscle_id": muscle_id, "dominant_side": dominant_side, "detail": detail,
            "involved_side": involved_side, "as_of": as_of, "mass": mass, "weeks": weeks,
        }  # fmt: skip
        with services.read(caller) as (work, book):
            answer = answer_imbalance(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_imbalance)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
