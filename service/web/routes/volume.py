"""How many hard sets each muscle got."""

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Body, Query, Response
from pydantic import AfterValidator

from service.core.estimates import DEFAULT_MASS
from service.reports.volume_chart import draw_volume
from service.usecases import errors as refused
from service.usecases.answers.compute_volume import compute_volume
from service.usecases.answers.volume import (
    FULL_MUSCLES,
    FULL_SESSIONS,
    FULL_SETS,
    FULL_STAGES,
    FULL_WEEKS,
    VolumeQuestion,
    answer_volume,
)
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
from service.web.routes.volume_examples import VOLUME
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
_OPERATION = Operation(
    id="getVolume",
    method="GET",
    path="/athletes/{athlete_id}/volume",
    tag="Volume landmarks",
    summary="How many hard sets did each muscle get?",
    description=(
        "Hard sets by week, muscle and side, direct and indirect, against thresholds of weekly volume with stated "
        "criteria. A set counts from 0 to 1 by how near it came to failure and by its load, times the muscle's "
        "involvement; drops add half of what their first load counts, a cluster is 2.5 times that at most; drops whose "
        "first load has not arrived wait for it and say so. Weeks are the athlete's own: a set's local date comes from the "
        "offset entered with it (a time in UTC is read in the athlete's zone), and sets take the date on which their session "
        "began; each week is judged by the strength known at its end. As a chart "
        "(`format=svg`) the newest week by muscle, or the weeks of one muscle against the thresholds. Safe to "
        "repeat; revalidate with If-None-Match."
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
            "The weeks, oldest first.",
            VolumeAnswer,
            examples={"one_muscle": {"value": VOLUME}},
            headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
        ),
        chart_success("The newest week by muscle, or the weeks of one muscle.", draw_volume(VOLUME)),
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
            Literal["summary", "full"],
            Query(
                description=(
                    f"`full` adds what was counted, set by set: of up to {FULL_WEEKS} weeks at once, or of up to "
                    f"{FULL_MUSCLES} muscles named by `muscle_id` (a muscle in parts counts by its parts) as many weeks as "
                    f"there may be. More is refused with 409 `not_possible`, and so is a week with more than {FULL_SETS} sets of "
                    f"one muscle, {FULL_SESSIONS} sessions or {FULL_STAGES} stages of one drop set. A "
                    "chart draws no sets, and is the same with either."
                )
            ),
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
        chart = chart_if_asked(format, accept, draw_volume)
        # A chart draws sums: no set of them is told, so that no more is asked for than can be told at once.
        full = detail == "full" and chart is None
        question = VolumeQuestion(week_of, weeks, muscle_id or (), as_of, mass, full, min_position)
        with services.read(caller) as (work, book):
            answer = answer_volume(work, book, services.texts, athlete_id, question)
        return answer_response(answer, if_none_match=if_none_match, asked=asked, chart=chart)

    return made
