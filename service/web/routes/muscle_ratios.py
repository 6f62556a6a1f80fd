"""Ratios of opposing muscles."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.reports.ratios_chart import draw_ratios
from service.usecases import errors as refused
from service.usecases.answers.muscle_ratios import RatiosQuestion, answer_muscle_ratios
from service.web.charts import JSON, SVG, AcceptHeader, FormatAsked, chart_if_asked, chart_success
from service.web.operation import Operation, Success, declare
from service.web.parameters import (
    AcceptLanguage,
    AnswerUnit,
    AsOf,
    AthleteId,
    CallerOf,
    IfNoneMatchHeader,
    IntervalMass,
    MinPosition,
    ServicesOf,
)
from service.web.rendering import answer_response
from service.web.routes.muscle_ratios_examples import MUSCLE_RATIOS
from service.web.schemas.base import Name
from service.web.schemas.muscle_ratios import RatiosAnswer

_OPERATION = Operation(
    id="getMuscleRatios",
    method="GET",
    path="/athletes/{athlete_id}/muscle-ratios",
    tag="Imbalance indices",
    summary="What does one muscle group lift over the opposing one?",
    description=(
        "The ratio of the loads that two opposing single-joint lifts of the log are possible with, at one number of "
        "repetitions, per side, with its interval from what is known of both lifts. Only lifts of one device and mode are "
        "compared: the same station of the same site, or the same free implement, loaded alike, with masses. Everything else "
        "stands in `not_computed` with its reason (`ratios_mixed_devices`, `ratios_mixed_modes`, `ratios_no_masses`, "
        "`ratios_opposite_missing`). Two lifts that are named (`over_exercise_id`, `under_exercise_id`) and must not be "
        "compared answer 409 `not_possible` with the same codes. Tested maxima count where the lift itself was logged, for a "
        "maximum does not tell its device; values of a dynamometer go to `POST /v1/compute/muscle-ratio`. A ratio is a "
        "description: there is no cut, and it says nothing about injury. As a chart with "
        "`format=svg`. Safe to repeat; revalidate with If-None-Match."
    ),
    scope="answer:read",
    errors=(
        refused.ConsentRequired,
        refused.Deleted,
        refused.UnknownReference,
        refused.NotPossible,
        refused.BehindPosition,
    ),
    produces=(JSON, SVG),
    successes=(
        Success(
            200,
            "The ratios.",
            RatiosAnswer,
            examples={"elbow": {"value": MUSCLE_RATIOS}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The ratios as intervals.", draw_ratios(MUSCLE_RATIOS)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation on ratios of opposing muscles."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_muscle_ratios(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        over_exercise_id: Annotated[
            Name | None, Query(description="The lift above the line, with `under_exercise_id`.")
        ] = None,
        under_exercise_id: Annotated[
            Name | None, Query(description="The lift below the line, with `over_exercise_id`.")
        ] = None,
        reps: Annotated[
            int | None,
            Query(ge=1, le=50, description="Repetitions to compare at; about those trained unless given."),
        ] = None,
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        unit: AnswerUnit = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        question = RatiosQuestion(over_exercise_id, under_exercise_id, reps, as_of, mass, unit, min_position)
        asked = {
            "over_exercise_id": over_exercise_id, "under_exercise_id": under_exercise_id, "reps": reps, "as_of": as_of,
            "mass": mass, "unit": unit,
        }  # fmt: skip
        with services.read(caller) as (work, book):
            answer = answer_muscle_ratios(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_ratios)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
