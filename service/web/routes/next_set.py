"""The next set of a lift in a session that is on."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Response

from service.usecases import errors as refused
from service.usecases.answers.next_set import NextSetQuestion, answer_next_set
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
from service.web.routes.capability import RepsHigh, RepsLow, ReserveHigh, ReserveLow, SideWanted
from service.web.routes.next_set_drops_example import NEXT_SET_WITH_DROPS
from service.web.routes.next_set_examples import NEXT_SET
from service.web.schemas.base import Name, Slug
from service.web.schemas.load_progression import NextSetAnswer

_HEADERS = ("ETag", "Content-Language", "Cache-Control", "Vary")
_EXAMPLES = {"answer": {"value": NEXT_SET}, "drops": {"value": NEXT_SET_WITH_DROPS}}
_NEXT_SET = Operation(
    id="getNextSet",
    method="GET",
    path="/athletes/{athlete_id}/next-set",
    tag="Session",
    summary="What comes next of this lift, right now?",
    description=(
        "The next set of one lift in a session that is on, after the sets logged so far and with the day's effect in it: "
        "load, repetitions and sets left, or that it is enough. Of two sides the one whose turn it is comes first and does "
        "what the other has just done, unless that is too hard. `minutes_left` bounds the sets; what `unavailable` names is not "
        "loaded, and where nothing is left lifts of the athlete's own come `instead`. "
        "`drops` asks for a drop set to end a single-joint lift on dumbbells or a machine, with what this athlete's own drops "
        "have told. At the session's site unless another "
        "is named. Stores "
        "nothing and may be repeated. Pain may reduce the load or end the movement. Closed with 409 `clearance_required` "
        "while a warning sign or a screening says so; 409 `unknown_reference` for a session of which nothing has arrived. "
        "Guidance, not a diagnosis."
    ),
    scope="answer:read",
    errors=(
        refused.Deleted, refused.ConsentRequired, refused.BehindPosition, refused.UnknownReference,
        refused.NothingToComputeOn, refused.ClearanceRequired, refused.SiteRequired, refused.NotPossible,
    ),
    successes=(
        Success(200, "The answer.", NextSetAnswer, examples=_EXAMPLES, headers=_HEADERS),
        Success(304, "The answer that the client holds still stands.", headers=_HEADERS),
    ),
)  # fmt: skip

SessionWanted = Annotated[
    UUID | None,
    Query(
        description="The session; unless given the newest that began within twelve hours and has not ended."
    ),
]


def router() -> APIRouter:
    """Return the operation on the next set."""
    made = APIRouter()

    @declare(made, _NEXT_SET)
    def get_next_set(
        athlete_id: AthleteId,
        caller: CallerOf,
        services: ServicesOf,
        exercise_id: Annotated[Slug, Query(description="The lift.")],
        session_id: SessionWanted = None,
        side: SideWanted = None,
        site_id: Annotated[UUID | None, Query(description="Where; the session's site unless given.")] = None,
        minutes_left: Annotated[
            float | None,
            Query(gt=0, le=600, description="Minutes left of the session: the sets are bounded by them."),
        ] = None,
        unavailable: Annotated[
            list[Name] | None,
            Query(
                max_length=50,
                description="Names of the site's implements that are taken: loads do without them.",
            ),
        ] = None,
        drops: Annotated[
            int | None,
            Query(
                ge=1,
                le=4,
                description="Ask for so many drops after the last set; `drop_set` has them, or why there are none.",
            ),
        ] = None,
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
        question = NextSetQuestion(
            athlete_id,
            exercise_id,
            session_id,
            side,
            site_id,
            wish,
            minutes_left,
            unavailable or (),
            drops,
            as_of,
            mass,
            unit,
            min_position,
        )
        with services.read(caller) as (work, book):
            answer = answer_next_set(work, book, services.texts, question)
        asked = {
            "exercise_id": exercise_id, "session_id": session_id, "side": side, "site_id": site_id, "wish": wish,
            "minutes_left": minutes_left, "unavailable": unavailable, "drops": drops,
            "as_of": as_of, "mass": mass, "unit": unit,
        }  # fmt: skip
        return answer_response(answer, if_none_match=if_none_match, asked=asked)

    return made
