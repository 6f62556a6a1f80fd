"""How well an athlete's own sets were foretold."""

from typing import Annotated

from fastapi import APIRouter, Query, Response

from service.usecases import errors as refused
from service.usecases.answers.calibration import (
    MOST_WEEKS,
    USUAL_WEEKS,
    CalibrationQuestion,
    answer_calibration,
)
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
from service.web.routes.calibration_examples import CALIBRATION
from service.web.routes.capability import ExerciseWanted
from service.web.schemas.calibration import Calibration

_HEADERS = ("ETag", "Content-Language", "Cache-Control", "Vary")
_CALIBRATION = Operation(
    id="getCalibration",
    method="GET",
    path="/athletes/{athlete_id}/calibration",
    tag="Load progression",
    summary="How good were the predictions for this athlete?",
    description=(
        "Every set of the asked weeks that told its effort is predicted from what came before it and compared: how often the "
        "80 % interval held, and the bias, over all, by effort, exercise and foretold repetitions. A reported reserve is "
        "itself a guess, so sets to failure weigh more. Issued plans are judged by the first working set of each exercise and "
        "side that names their item. Stores nothing and may be repeated; with `as_of` only what had "
        "happened by then is used. Needs the consent `process_health`, now. Cost grows with the weeks, at most 104."
    ),
    scope="answer:read",
    errors=(refused.Deleted, refused.ConsentRequired, refused.BehindPosition, refused.UnknownReference),
    successes=(
        Success(
            200, "The answer.", Calibration, examples={"answer": {"value": CALIBRATION}}, headers=_HEADERS
        ),
        Success(304, "The answer that the client holds still stands.", headers=_HEADERS),
    ),
)
WeeksWanted = Annotated[
    int, Query(ge=1, le=MOST_WEEKS, description=f"Weeks to look back on; {USUAL_WEEKS} unless given.")
]


def router() -> APIRouter:
    """Return the operation on calibration."""
    made = APIRouter()

    @declare(made, _CALIBRATION)
    def get_calibration(
        athlete_id: AthleteId,
        caller: CallerOf,
        services: ServicesOf,
        exercise_id: ExerciseWanted = None,
        weeks: WeeksWanted = USUAL_WEEKS,
        as_of: AsOf = None,
        mass: IntervalMass = 0.8,
        accept_language: AcceptLanguage = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
    ) -> Response:
        question = CalibrationQuestion(athlete_id, exercise_id, weeks, as_of, mass, min_position)
        with services.read(caller) as (work, book):
            answer = answer_calibration(work, book, services.texts, question)
        asked = {"exercise_id": exercise_id, "weeks": weeks, "as_of": as_of, "mass": mass}
        return answer_response(answer, if_none_match=if_none_match, asked=asked)

    return made
