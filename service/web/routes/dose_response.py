"""What weekly volume does to a muscle, and where it meets a stated criterion."""

from typing import Annotated

from fastapi import APIRouter, Body, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.core.volume.thresholds import DETECTABLE_GAIN, SMALL_NEXT_GAIN
from service.reports.dose_response_chart import draw_dose_response
from service.usecases import errors as refused
from service.usecases.answers.compute_dose_response import compute_dose_response
from service.usecases.answers.dose_response import DoseResponseQuestion, answer_dose_response
from service.usecases.documents import Document
from service.usecases.records import computations
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
from service.web.rendering import answer_response, json_response
from service.web.routes.compute import computed, operation_on_body
from service.web.routes.compute_examples import dose_response_example
from service.web.schemas import dose_response as schema
from service.web.schemas.base import Slug


def _shown() -> Document:
    """Return an answer for an invented athlete: the computed example, as one muscle's."""
    _, told = dose_response_example()
    kept = {name: told[name] for name in ("thresholds", "curve", "slope", "p_downturn", "reasons", "sources")}
    basis = {**told["basis"], "newest_at": "2026-11-24T17:40:00+00:00"}
    said = "Leg press, 21 weeks: because of it 0.31 % of size more are expected over 12 weeks at 11.0 weekly hard sets."
    params = {"name": "Leg press", "weeks": 21.0, "points": 0.31, "sets": 11.0}
    leg_press = {
        "kind": "lift", "exercise_id": "leg-press", "weeks": 21.0, "direction": "raised", "growth_change": 0.31,
        "at_weekly_hard_sets": 11.0,
        "reasons": [{"code": "dose_response_lift_raised", "text": said, "params": params}],
    }  # fmt: skip
    item = {
        "muscle_id": "vastus-lateralis", **kept, "moved_by": [leg_press], "basis": basis,
        "recent_weekly_hard_sets": 11.0, "lift_count": 1, "weeks_seen": 21.0,
    }  # fmt: skip
    return {
        "position": "42",
        "model_version": told["model_version"],
        "as_of": "2026-11-25T09:00:00+00:00",
        "valid_until": "2026-11-25T10:00:00+00:00",
        "items": [item],
        "cautions": told["cautions"],
    }


_SHOWN = _shown()
_OPERATION = Operation(
    id="getDoseResponse",
    method="GET",
    path="/athletes/{athlete_id}/dose-response",
    tag="Volume landmarks",
    summary="What does weekly volume do for each muscle?",
    description=(
        "Growth of each trained muscle by weekly hard sets, and the weekly sets at which a stated criterion is met: size is "
        "held, a gain over 12 weeks is likely, one more weekly set adds little. The population's curve, moved by how the "
        "strength of this athlete's lifts changed with the sets done (a stated share of such a change is taken for size), by "
        "the girth that goes round most of the muscle where visits lie at least four weeks apart, and, part of the way, by "
        "other muscles. `moved_by` says what each lift and the girth changed. A girth is heard softly: muscles share it with "
        "each other, with fat and with bone; changes of body mass are allowed for, and a stretch in which it changed much is "
        "left out unless skinfolds were measured. Places are known by the words arm, forearm, thigh (also proximal or "
        "distal), calf, chest and shoulder; waist, hips and neck tell nothing here. Thresholds are always there; one "
        "that is met at no number of sets studied says so (`reached`), and the others are in order; `prior_share` says how "
        "much of the doubt before any log is left. Sets are not taken to shrink a muscle: a log in which less came of more "
        "counts as little growth or a downturn, and says so. A break is left out, and the time after it in which strength comes "
        "back; what was before it counts. A peak is told only where this log shows a downturn. As a chart "
        "(`format=svg`) the curve of one muscle, or the thresholds of all. The last 182 days "
        "are read. Safe to repeat; revalidate with If-None-Match."
    ),
    scope="answer:read",
    errors=(refused.ConsentRequired, refused.Deleted, refused.UnknownReference, refused.BehindPosition),
    produces=(JSON, SVG),
    successes=(
        Success(
            200,
            "The muscles.",
            schema.DoseResponseAnswer,
            examples={"one_muscle": {"value": _SHOWN}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The curve of one muscle.", draw_dose_response(_SHOWN)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)
_COMPUTE = operation_on_body(
    "computeDoseResponse", "/compute/dose-response", "Volume landmarks", "What weekly volume does, from one muscle's past",
    "Curve and thresholds of one muscle from changes of strength or girth over stretches of weeks and the weekly hard sets in "
    "them; without any, the population's. Readings at the ends of a stretch are shared with its neighbours, and what else "
    "moves strength and girths is counted as a walk.",
    schema.DoseResponseComputed, dose_response_example(), (refused.NotPossible,),
)  # fmt: skip
MuscleWanted = Annotated[
    Slug | None,
    Query(description="Only this muscle; one in parts stands for its parts. All trained ones unless given."),
]
Worth = Annotated[
    float,
    Query(
        ge=0.0001,
        le=0.05,
        description="Share of size over 12 weeks below which one more weekly set is a small gain.",
    ),
]
Gain = Annotated[
    float,
    Query(
        ge=0.0005,
        le=0.2,
        description="Share of size over 12 weeks that a gain must exceed with probability 0.8.",
    ),
]


def router() -> APIRouter:
    """Return the operations on what weekly volume does."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def get_dose_response(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        muscle_id: MuscleWanted = None,
        worth: Worth = SMALL_NEXT_GAIN,
        gain: Gain = DETECTABLE_GAIN,
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        question = DoseResponseQuestion(muscle_id, worth, gain, as_of, mass, min_position)
        asked = {"muscle_id": muscle_id, "worth": worth, "gain": gain, "as_of": as_of, "mass": mass}
        with services.read(caller) as (work, book):
            answer = answer_dose_response(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_dose_response)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    @declare(made, _COMPUTE)
    def compute_response(
        body: Annotated[schema.DoseResponseQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute_dose_response, body, computations.DoseResponseQuestion, services)
        return json_response(told, headers={"Content-Language": "en"})

    return made
