"""What an athlete can lift, and the next load and repetitions."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Response

from service.core.capability import Side
from service.usecases import errors as refused
from service.usecases.answers.capability import USUAL_REPETITIONS, CapabilityQuestion, answer_capability
from service.usecases.answers.load_progression import ProgressionQuestion, answer_load_progression
from service.usecases.answers.progression_case import Wish
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
from service.web.routes.capability_examples import CAPABILITY, LOAD_PROGRESSION
from service.web.routes.hold_examples import CAPABILITY_OF_CARRY, NEXT_CARRY
from service.web.schemas.base import Slug
from service.web.schemas.load_progression import Capability, LoadProgression

_HEADERS = ("ETag", "Content-Language", "Cache-Control", "Vary")
_UNCHANGED = Success(304, "The answer that the client holds still stands.", headers=_HEADERS)
_ERRORS = (
    refused.Deleted, refused.ConsentRequired, refused.BehindPosition, refused.UnknownReference, refused.NothingToComputeOn,
)  # fmt: skip
_AGAIN = (
    "Stores nothing. The ETag stands until something is written for the tenant or, without `as_of`, until the next full "
    "hour. Needs the consent `process_health`, now, whatever `as_of` is."
)
_CAPABILITIES = {"answer": {"value": CAPABILITY}, "carry": {"value": CAPABILITY_OF_CARRY}}
_NEXT_LOADS = {"answer": {"value": LOAD_PROGRESSION}, "carry": {"value": NEXT_CARRY}}

_CAPABILITY = Operation(
    id="getCapability",
    method="GET",
    path="/athletes/{athlete_id}/capability",
    tag="Load progression",
    summary="What can this athlete lift?",
    description=(
        "Loads for repetitions to failure, by exercise and side, each with its interval; surest at the repetitions that "
        "are trained, an extrapolation far from them; holds and carries are answered by length. Lifts of the body are "
        "answered in added load or assistance. "
        f"{_AGAIN} 409 `nothing_to_compute_on` only where the asked exercise has no set and no known lift to start from."
    ),
    scope="answer:read",
    errors=_ERRORS,
    successes=(
        Success(200, "The answer.", Capability, examples=_CAPABILITIES, headers=_HEADERS),
        _UNCHANGED,
    ),
)
_LOAD_PROGRESSION = Operation(
    id="getLoadProgression",
    method="GET",
    path="/athletes/{athlete_id}/load-progression",
    tag="Load progression",
    summary="Which load and repetitions come next?",
    description=(
        "One plain action for each exercise and side, on a load that the site can make: the asked site, else that of the "
        "frame, else the athlete's own. Of two sides the lagging one comes first and sets the load. Pain may reduce the "
        f"load or end the movement; then there is none. {_AGAIN} Closed with 409 `clearance_required` while a warning "
        "sign or a screening says so. Guidance, not a diagnosis."
    ),
    scope="answer:read",
    errors=(*_ERRORS, refused.ClearanceRequired, refused.SiteRequired, refused.NotPossible),
    successes=(
        Success(
            200, "The answer.", LoadProgression, examples=_NEXT_LOADS, headers=_HEADERS
        ),
        _UNCHANGED,
    ),
)  # fmt: skip

ExerciseWanted = Annotated[Slug | None, Query(description="Only this exercise; all in the log unless given.")]
SideWanted = Annotated[Side | None, Query(description="Only this side.")]
RepsWanted = Annotated[
    list[Annotated[int, Query(ge=1, le=100)]] | None,
    Query(
        max_length=20,
        description="Repetitions to answer for; may be repeated. 1, 5, 8, 10, 12, 15, 20, 25 unless given.",
    ),
]
SiteWanted = Annotated[
    UUID | None, Query(description="Where; the frame's or the athlete's own site unless given.")
]
RepsLow = Annotated[int | None, Query(ge=1, le=100, description="The fewest repetitions wanted.")]
RepsHigh = Annotated[int | None, Query(ge=1, le=100, description="The most wanted; as trained unless given.")]
ReserveLow = Annotated[
    float | None, Query(ge=0, le=10, description="The fewest repetitions to leave undone; 1.")
]
ReserveHigh = Annotated[
    float | None, Query(ge=0, le=10, description="The most to leave undone; 3 unless given.")
]


def router() -> APIRouter:
    """Return the operations on capability and load progression."""
    made = APIRouter()

    @declare(made, _CAPABILITY)
    def get_capability(
        athlete_id: AthleteId,
        caller: CallerOf,
        services: ServicesOf,
        exercise_id: ExerciseWanted = None,
        side: SideWanted = None,
        reps: RepsWanted = None,
        as_of: AsOf = None,
        mass: IntervalMass = 0.8,
        unit: AnswerUnit = None,
        accept_language: AcceptLanguage = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
    ) -> Response:
        wanted = tuple(dict.fromkeys(reps or USUAL_REPETITIONS))
        question = CapabilityQuestion(athlete_id, exercise_id, side, wanted, as_of, mass, unit, min_position)
        with services.read(caller) as (work, book):
            answer = answer_capability(work, book, services.texts, question)
        asked = {
            "exercise_id": exercise_id,
            "side": side,
            "reps": wanted,
            "as_of": as_of,
            "mass": mass,
            "unit": unit,
        }
        return answer_response(answer, if_none_match=if_none_match, asked=asked)

    @declare(made, _LOAD_PROGRESSION)
    def get_load_progression(
        athlete_id: AthleteId,
        caller: CallerOf,
        services: ServicesOf,
        exercise_id: ExerciseWanted = None,
        site_id: SiteWanted = None,
        reps_low: RepsLow = None,
        reps_high: RepsHigh = None,
        reserve_low: ReserveLow = None,
        reserve_high: ReserveHigh = None,
        as_of: AsOf = None,
        mass: IntervalMass = 0.8,
        unit: AnswerUnit = None,
        accept_language: AcceptLanguage = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
    ) -> Response:
        wish = Wish(reps_low, reps_high, reserve_low, reserve_high)
        question = ProgressionQuestion(
            athlete_id, exercise_id, site_id, wish, as_of, mass, unit, min_position
        )
        with services.read(caller) as (work, book):
            answer = answer_load_progression(work, book, services.texts, question)
        asked = {
            "exercise_id": exercise_id, "site_id": site_id, "wish": wish, "as_of": as_of, "mass": mass, "unit": unit,
        }  # fmt: skip
        return answer_response(answer, if_none_match=if_none_match, asked=asked)

    return made
