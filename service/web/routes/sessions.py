"""The next session, previewed: nothing is stored until it is issued as a plan."""

from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Query, Response

from service.usecases import errors as refused
from service.usecases.answers.next_session import SessionQuestion, preview_session
from service.web.operation import Operation, Success, declare
from service.web.parameters import (
    AcceptLanguage,
    AnswerUnit,
    AsOf,
    AthleteId,
    CallerOf,
    IfNoneMatchHeader,
    MinPosition,
    ServicesOf,
)
from service.web.rendering import answer_response
from service.web.routes.specs.plans import ITEM_EXAMPLE
from service.web.schemas.plans import PreviewedPlan

_SHOWN = {
    "position": "42",
    "model_version": "next-session/2",
    "as_of": "2026-11-23T15:00:00+00:00",
    "valid_until": "2026-11-23T16:00:00+00:00",
    "action": "Do Bench press: 1 set of 6 to 8 repetitions at 82.5 kg with 3 left in reserve.",
    "site_id": "01937b5c-7a00-7000-8000-0000000000b2",
    "inventory_etag": '"1"',
    "minutes": 9.5,
    "items": [ITEM_EXAMPLE],
    "reasons": [
        {
            "code": "planning_session",
            "text": "Exercises: 1, sets: 1, planned for 15 minutes.",
            "params": {"exercises": 1, "sets": 1, "minutes": 15.0},
        }
    ],
    "cautions": [
        {
            "code": "training_guidance", "urgency": "heed", "params": {},
            "text": "This is training guidance, not medical advice and not a diagnosis. Stop on sharp, rising or unfamiliar "
            "pain. Licensed practice, local codes and the supervision at your site come first.",
        }
    ],
    "sources": ["Nunes2021", "Pelland2025"],
}  # fmt: skip
_PREVIEW = Operation(
    id="previewSession",
    method="GET",
    path="/athletes/{athlete_id}/next-session",
    tag="Session",
    summary="What should the whole next session be?",
    description=(
        "Exercises in order, sets by side, loads that the site can make, reserve, rests, reasons and cautions, within limits, "
        "pain, readiness, clearance and minutes. Nothing is stored: issue it by putting the same body under a plan's id. "
        "Where a constraint leaves nothing, `items` is empty and `action` names the one that binds. Closed (409 "
        "`clearance_required`, with cautions) while a referral, an operation within 12 weeks, a clinician's hold or a "
        "warning sign stands; not screened is open but gentle. Safe to repeat; revalidate with If-None-Match."
    ),
    scope="answer:read",
    errors=(
        refused.ConsentRequired,
        refused.Deleted,
        refused.ClearanceRequired,
        refused.SiteRequired,
        refused.BehindPosition,
    ),
    successes=(
        Success(
            200,
            "The session, not stored.",
            PreviewedPlan,
            examples={"preview": {"value": _SHOWN}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        Success(304, "The preview that the client holds still stands.", headers=("ETag",)),
    ),
)


def router() -> APIRouter:
    """Return the operation that previews a session."""
    made = APIRouter()

    @declare(made, _PREVIEW)
    def preview(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        site_id: Annotated[
            UUID | None, Query(description="Where; the frame's or the athlete's home site unless given.")
        ] = None,
        minutes: Annotated[
            float | None,
            Query(ge=5, le=240, description="How long it may take; the frame's or 60 unless given. [min]"),
        ] = None,
        as_of: AsOf = None,
        unit: AnswerUnit = None,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        asked = {"site_id": site_id, "minutes": minutes, "as_of": as_of, "unit": unit}
        question = SessionQuestion(athlete_id, site_id, minutes, as_of, unit, min_position)
        with services.read(caller) as (work, book):
            answer = preview_session(work, book, services.texts, question)
        return answer_response(answer, if_none_match=if_none_match, asked=asked)

    return made
