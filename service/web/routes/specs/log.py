"""Sessions, sets, check-ins and measurements."""

from typing import Annotated

from fastapi import Query

from service.usecases import errors as refused
from service.usecases import kinds
from service.usecases.records.base import Side
from service.usecases.records.log import MeasurementKind
from service.web.resource_specs import ListFilters, ResourceSpec
from service.web.schemas import log, pages
from service.web.schemas.base import Instant, Slug


class TimedFilters(ListFilters):
    """How a list in time may be narrowed."""

    from_: Annotated[
        Instant | None, Query(alias="from", description="Only what happened at or after this instant.")
    ] = None
    to: Annotated[Instant | None, Query(description="Only what happened before this instant.")] = None


class SetFilters(TimedFilters):
    """How a list of sets may be narrowed."""

    exercise_id: Annotated[Slug | None, Query(description="Only sets of this exercise.")] = None
    side: Annotated[Side | None, Query(description="Only sets of this side.")] = None


class MeasurementFilters(TimedFilters):
    """How a list of measurements may be narrowed."""

    measured: Annotated[
        MeasurementKind | None, Query(alias="kind", description="Only measurements of this kind.")
    ] = None


_SCOPES = ("log:read", "log:write")
_DATED = (refused.PerformedInFuture, refused.NotPossible)

LOG_SPECS = (
    ResourceSpec(
        kind=kinds.SESSION,
        schema=log.Session,
        page_schema=pages.SessionPage,
        path="/athletes/{athlete_id}/sessions",
        id_name="session_id",
        names=("Session", "Sessions"),
        words=("session", "sessions"),
        tag="Log",
        scopes=_SCOPES,
        about="One visit. Its sets may arrive before it; they take its starting date.",
        example={"started_at": "2026-11-23T18:05:00+02:00", "session_rpe": 7},
        patch_example={"ended_at": "2026-11-23T19:10:00+02:00"},
        errors=_DATED,
        filters=TimedFilters,
        cascade=True,
    ),
    ResourceSpec(
        kind=kinds.SET,
        schema=log.Set,
        page_schema=pages.SetPage,
        path="/athletes/{athlete_id}/sets",
        id_name="set_id",
        names=("Set", "Sets"),
        words=("set", "sets"),
        tag="Log",
        scopes=_SCOPES,
        about=(
            "One bout of repetitions. It is checked against its exercise: a load where one is needed, a side that the "
            "exercise has. Order within the session is `ordinal`, whatever the order of arrival."
        ),
        example={
            "exercise_id": "bench-press",
            "performed_at": "2026-11-23T18:20:00+02:00",
            "ordinal": 4,
            "side": "both",
            "load": {"value": 82.5, "unit": "kg"},
            "reps": 6,
            "reps_in_reserve": 2,
            "purpose": "work",
        },
        patch_example={"reps_in_reserve": 1, "purpose": None},
        errors=(refused.UnknownReference, *_DATED),
        filters=SetFilters,
    ),
    ResourceSpec(
        kind=kinds.CHECKIN,
        schema=log.Checkin,
        page_schema=pages.CheckinPage,
        path="/athletes/{athlete_id}/checkins",
        id_name="checkin_id",
        names=("Checkin", "Checkins"),
        words=("check-in", "check-ins"),
        tag="Log",
        scopes=_SCOPES,
        about=(
            "Soreness, pain, warning signs and sleep at one moment. Needs the consent `process_health`. A warning sign "
            "never ends in a diagnosis: it closes plans or refers to a clinician."
        ),
        example={
            "at": "2026-11-24T07:30:00+02:00",
            "soreness": [{"muscle_id": "gluteus-maximus", "score": 3, "side": "both"}],
            "pain": [{"region": "shoulder", "side": "right", "next_morning": 2}],
            "sleep_h": 7.5,
        },
        patch_example={"sleep_h": 7},
        errors=(refused.UnknownReference, *_DATED),
        filters=TimedFilters,
    ),
    ResourceSpec(
        kind=kinds.MEASUREMENT,
        schema=log.Measurement,
        page_schema=pages.MeasurementPage,
        path="/athletes/{athlete_id}/measurements",
        id_name="measurement_id",
        names=("Measurement", "Measurements"),
        words=("measurement", "measurements"),
        tag="Log",
        scopes=_SCOPES,
        about=(
            "A girth with repeated readings, a body mass, a joint-motion test, or a tested maximum. Needs the consent "
            "`process_health`. Take girths before training, sides in turns, two or three readings each."
        ),
        example={
            "kind": "girth",
            "at": "2026-11-22T09:00:00+02:00",
            "site": "upper-arm-relaxed",
            "side": "left",
            "readings": [35.9, 35.8, 36.0],
            "unit": "cm",
        },
        patch_example={"at": "2026-11-22T09:05:00+02:00"},
        errors=(refused.UnknownReference, *_DATED),
        filters=MeasurementFilters,
    ),
)
