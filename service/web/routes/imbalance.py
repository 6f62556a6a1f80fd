"""Which side is ahead."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.reports.imbalance_chart import draw_imbalance
from service.usecases import errors as refused
from service.usecases.answers.imbalance import ImbalanceQuestion, answer_imbalance
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
from service.web.schemas.base import Name, Slug
from service.web.schemas.imbalance import BodySide, ImbalanceAnswer

_CAUTION = {
    "code": "imbalance_is_measurement_not_risk",
    "urgency": "heed",
    "text": "A difference between sides is a measurement with uncertainty. It does not say that you will get hurt.",
    "params": {},
}


def _estimate(value: float, sd: float, low: float, high: float, kind: str = "credible") -> dict[str, Any]:
    interval = {"lower": low, "upper": high, "mass": 0.8, "kind": kind}
    return {"value": value, "unit": "1", "sd": sd, "interval": interval, "statistic": "mean"}


_SHOWN = {
    "position": "42",
    "model_version": "imbalance/0",
    "as_of": "2026-11-25T09:00:00+00:00",
    "valid_until": "2026-11-25T10:00:00+00:00",
    "items": [
        {
            "kind": "strength", "scope": "exercise", "exercise_id": "one-arm-overhead-press", "state": "left_ahead",
            "t": _estimate(-0.09, 0.023, -0.12, -0.06),
            "p_right_ahead": 0.0001, "p_beyond": 0.96, "smallest_worthwhile": 0.05, "minimal_detectable_change": 0.12,
            "expected_next_reading": _estimate(-0.09, 0.05, -0.154, -0.026, "prediction"),
            "dominant_side": "right",
            "indices": [
                {
                    "id": "symmetry_right_left", "unit": "%", "reference_limb": "mean of both",
                    "sign_convention": "positive where the right limb is stronger", "value": -8.994,
                    "interval": {"lower": -11.99, "upper": -6.0, "mass": 0.8, "kind": "credible"},
                },
                {
                    "id": "limb_symmetry_of_uninvolved", "unit": "%", "reference_limb": "uninvolved",
                    "sign_convention": "100 is equality, less where the uninvolved limb is stronger",
                    "reason": {
                        "code": "indices_needs_involved_side",
                        "text": "Limb symmetry index, involved over uninvolved is reckoned from the side that was hurt or "
                        "operated; say which side that is.",
                        "params": {"index": "Limb symmetry index, involved over uninvolved"},
                    },
                },
            ],
            "basis": {"observation_count": 6, "newest_at": "2026-11-24T17:40:00+00:00", "prior_share": 0.21},
            "reasons": [
                {
                    "code": "sides_left_ahead",
                    "text": "The left side is ahead, with a chance of 100 %; a chance of 96 % that the gap is larger than 5 %.",
                    "params": {"probability": 99.99, "beyond": 96.0, "smallest": 5.0},
                }
            ],
            "cautions": [_CAUTION],
            "sources": ["Baroni2016", "Weir2005"],
        }
    ],
    "not_computed": [],
    "cautions": [_CAUTION],
}  # fmt: skip
_OPERATION = Operation(
    id="getImbalanceIndices",
    method="GET",
    path="/athletes/{athlete_id}/imbalance-indices",
    tag="Imbalance indices",
    summary="Which side is ahead, by how much, and is it real?",
    description=(
        "The log ratio t = ln(right/left) with its interval, and every published index as a function of it, per "
        "one-sided lift, pooled over the lifts that train a muscle directly, and per girth site. Strength and size are "
        "never mixed, nor two girth sites, and a girth is never told as a muscle. Where one side's reserve was not told "
        "within three weeks, the state is `undetermined`: equal repetitions may hide a gap. A difference is a "
        "measurement with uncertainty and says nothing about injury. Dominant and involved side come from the athlete's "
        "record unless given. As a chart (`format=svg`) the comparisons are balance beams: left side left, right "
        "side right, the pivot at equality. Safe to repeat; revalidate with If-None-Match."
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
            examples={"press": {"value": _SHOWN}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The comparisons as balance beams.", draw_imbalance(_SHOWN)),
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
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        question = ImbalanceQuestion(
            exercise_id, muscle_id, dominant_side, involved_side, as_of, mass, detail == "full", min_position
        )
        asked = {
            "exercise_id": exercise_id, "muscle_id": muscle_id, "dominant_side": dominant_side, "detail": detail,
            "involved_side": involved_side, "as_of": as_of, "mass": mass,
        }  # fmt: skip
        with services.read(caller) as (work, book):
            answer = answer_imbalance(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_imbalance)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
