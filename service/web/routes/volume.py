"""How many hard sets each muscle got."""

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Body, Query, Response
from pydantic import AfterValidator

from service.core.estimates import DEFAULT_MASS
from service.reports.volume_chart import draw_volume
from service.usecases import errors as refused
from service.usecases.answers.compute_volume import compute_volume
from service.usecases.answers.volume import VolumeQuestion, answer_volume
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
from service.web.routes.compute_examples import volume_example
from service.web.schemas.base import Day, Slug
from service.web.schemas.compute_volume import VolumeComputed
from service.web.schemas.compute_volume import VolumeQuestion as VolumeCounted
from service.web.schemas.volume import VolumeAnswer

#: Far beyond these days, calendars overflow.
_FIRST_DAY, _LAST_DAY = date(1930, 1, 1), date(2199, 12, 31)


def _within_calendars(day: date | None) -> date | None:
    return None if day is None else min(max(day, _FIRST_DAY), _LAST_DAY)


LocalDay = Annotated[Day | None, AfterValidator(_within_calendars)]
WeekOf = Annotated[
    LocalDay,
    Query(
        description="A local date in the last week asked for; the present week unless given. Dates before 1930 or after "
        "2199 are taken as those ends."
    ),
]
MuscleIds = Annotated[
    list[Slug] | None,
    Query(
        alias="muscle_id",
        max_length=100,
        description="Only these muscles, also in weeks without a set; a muscle in parts stands for its parts.",
    ),
]
_REASON = {
    "code": "volume_effort_partly_assumed",
    "text": "The effort was assumed for 25 % of this: no repetitions in reserve were given.",
    "params": {"percent": 25.0},
}
_SHOWN = {
    "position": "42",
    "model_version": "volume/1",
    "as_of": "2026-11-25T09:00:00+00:00",
    "valid_until": "2026-11-25T10:00:00+00:00",
    "items": [
        {
            "week": {
                "first_day": "2026-11-23",
                "start": "2026-11-23T00:00:00+02:00",
                "end": "2026-11-30T00:00:00+02:00",
                "time_zone": "Europe/Riga",
            },
            "muscle_id": "triceps-lateral-head",
            "side": "both",
            "hard_sets": {
                "value": 5.3, "unit": "{sets}", "sd": 0.7, "statistic": "mean",
                "interval": {"lower": 4.4, "upper": 6.2, "mass": 0.8, "kind": "credible"},
            },
            "direct": 3.0, "indirect": 2.3, "session_count": 2, "per_session_max": 3.1,
            "assumed_effort_share": 0.25, "unspecified_side_share": 0.0,
            "basis": {"observation_count": 7, "newest_at": "2026-11-24T17:40:00+00:00", "prior_share": 0.25},
            "reasons": [_REASON],
            "sources": ["Pelland2025"],
        }
    ],
    "thresholds": [
        {
            "criterion": "keeps_size",
            "weekly_hard_sets": {
                "value": 1.1, "unit": "{sets}", "sd": 0.3, "statistic": "median",
                "interval": {"lower": 1.0, "upper": 1.9, "mass": 0.8, "kind": "credible"},
            },
            "prior_share": 1.0,
            "model_version": "dose-response/2",
            "reasons": [
                {
                    "code": "volume_threshold_keeps_size",
                    "text": "About 1.1 hard sets a week should hold what is there, a share of what built it.",
                    "params": {"sets": 1.1},
                }
            ],
            "sources": ["Bickel2011"],
        }
    ],
    "cautions": [
        {
            "code": "guidance_not_diagnosis", "urgency": "heed", "params": {},
            "text": "Guidance, not a diagnosis: stop on sharp, rising or unfamiliar pain.",
        }
    ],
}  # fmt: skip
_OPERATION = Operation(
    id="getVolume",
    method="GET",
    path="/athletes/{athlete_id}/volume",
    tag="Volume landmarks",
    summary="How many hard sets did each muscle get?",
    description=(
        "Hard sets by week, muscle and side, direct and indirect, against thresholds of weekly volume with stated "
        "criteria. A set counts from 0 to 1 by how near it came to failure and by its load, times the muscle's "
        "involvement; drops add half a set each, a cluster counts 2.5 at most; drops whose first load has not arrived "
        "wait for it and say so. Weeks are the athlete's own: a set's local date comes from the offset entered with "
        "it (a time in UTC is read in the athlete's zone), and sets take the date on which their session began. As a chart "
        "(`format=svg`) the newest week by muscle, or the weeks of one muscle against the thresholds. Safe to "
        "repeat; revalidate with If-None-Match."
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
            "The weeks, oldest first.",
            VolumeAnswer,
            examples={"one_muscle": {"value": _SHOWN}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The newest week by muscle, or the weeks of one muscle.", draw_volume(_SHOWN)),
        Success(304, "The answer that the client holds still stands.", headers=("ETag",)),
    ),
)
_COMPUTE = operation_on_body(
    "computeVolume", "/compute/volume", "Volume landmarks", "Hard sets of one week, from sets that are sent along",
    "The same counting as for a stored log: hard sets by muscle and side, direct and indirect, every set that counted with "
    "why, and how much of it rests on an assumed effort. The sets of a body are one week's; a set that tells no work is named "
    "by its place.",
    VolumeComputed, volume_example(), (refused.UnknownReference, refused.NotPossible),
)  # fmt: skip


def router() -> APIRouter:
    """Return the operations on volume."""
    made = APIRouter()

    @declare(made, _COMPUTE)
    def compute_sets(
        body: Annotated[VolumeCounted, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute_volume, body, computations.VolumeQuestion, services)
        return json_response(told, headers={"Content-Language": "en"})

    @declare(made, _OPERATION)
    def get_volume(
        caller: CallerOf,
        services: ServicesOf,
        athlete_id: AthleteId,
        week_of: WeekOf = None,
        weeks: Annotated[int, Query(ge=1, le=16, description="How many weeks, up to that one.")] = 1,
        muscle_id: MuscleIds = None,
        detail: Annotated[
            Literal["summary", "full"], Query(description="`full` adds what was counted, set by set.")
        ] = "summary",
        as_of: AsOf = None,
        mass: IntervalMass = DEFAULT_MASS,
        min_position: MinPosition = None,
        if_none_match: IfNoneMatchHeader = None,
        accept_language: AcceptLanguage = None,
        format: FormatAsked = None,
        accept: AcceptHeader = None,
    ) -> Response:
        asked: dict[str, object] = {
            "week_of": week_of, "weeks": weeks, "muscle_id": muscle_id, "detail": detail, "as_of": as_of, "mass": mass,
        }  # fmt: skip
        question = VolumeQuestion(
            week_of, weeks, muscle_id or (), as_of, mass, detail == "full", min_position
        )
        with services.read(caller) as (work, book):
            answer = answer_volume(work, book, services.texts, athlete_id, question)
        chart = chart_if_asked(format, accept, draw_volume)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
