"""Volume and its thresholds on the wire."""

from datetime import date
from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from service.usecases.answers.volume import FULL_SESSIONS, FULL_SETS, FULL_STAGES
from service.web.schemas.answers import (
    Answer,
    Basis,
    Cautions,
    Estimate,
    Quantity,
    Reason,
    Reasons,
    SourceKeys,
)
from service.web.schemas.base import A_WHOLE_NUMBER, Instant, Name, Schema, Share, Slug

Count = Annotated[int, Field(ge=0), A_WHOLE_NUMBER]


class TrainingWeek(Schema):
    """A training week: half-open, from the athlete's first day of the week to the next."""

    first_day: date
    """The local date on which it begins."""
    start: Instant
    """Its first instant."""
    end: Instant
    """The first instant after it."""
    time_zone: Name
    """The IANA time zone in which it is told: the athlete's present one."""


class CountedStage(Schema):
    """The first load or one drop of a drop set, and what it gave to this muscle and side."""

    set_id: UUID
    """The set."""
    dose: Quantity
    """Hard sets that it adds here."""
    reason: Reason
    """Why it adds that much."""


class CountedSet(Schema):
    """One set, or one set with its drops, and what it gave to this muscle and side."""

    set_id: UUID
    """The set; for a drop set its first load."""
    dose: Quantity
    """Hard sets that it counts for here."""
    reason: Reason
    """Why it counts for that much."""
    stages: Annotated[list[CountedStage], Field(max_length=FULL_STAGES)] | None = None
    """Of a drop set its first load and each drop, which together come to `dose`; absent where there was no drop."""


class SetLeftOut(Schema):
    """A set that counts nothing here."""

    set_id: UUID
    """The set."""
    reason: Reason
    """Why it does not count."""


class SessionDose(Schema):
    """What one session gave to this muscle and side."""

    session_id: UUID | None = None
    """The session; left out for sets that name none."""
    began_at: Instant
    """When its first counted set was done."""
    dose: Quantity
    """Hard sets."""


class MuscleVolume(Schema):
    """The week of one muscle on one side."""

    week: TrainingWeek
    """The week."""
    muscle_id: Slug
    """The muscle."""
    side: Literal["left", "right", "both"]
    """The side; `both` is the athlete's own number, the mean of the two sides."""
    hard_sets: Estimate
    """Hard sets: each counts from 0 to 1 by how near it came to failure, times the muscle's involvement."""
    direct: Quantity
    """The part from lifts that train the muscle directly."""
    indirect: Quantity
    """The part from lifts in which it only helps."""
    session_count: Count
    """Sessions that trained it."""
    for_strength: Quantity
    """The same count where drops add nothing: for strength a drop set is one set."""
    per_session_max: Quantity
    """The most hard sets in one session."""
    assumed_effort_share: Share
    """Share of `hard_sets` whose effort had to be assumed."""
    unspecified_side_share: Share
    """Share of `hard_sets` from one-sided lifts without a side, halved between left and right."""
    basis: Basis
    """What it rests on; `prior_share` is the share whose effort had to be assumed."""
    reasons: Reasons = []
    """What to know of how it was counted."""
    sets: Annotated[list[CountedSet], Field(max_length=FULL_SETS)] | None = None
    """Every set that was counted, with `detail=full`."""
    sessions: Annotated[list[SessionDose], Field(max_length=FULL_SESSIONS)] | None = None
    """What each session gave, with `detail=full`."""
    not_counted: Annotated[list[SetLeftOut], Field(max_length=FULL_SETS)] | None = None
    """Sets of lifts that train it and that count nothing, with `detail=full`: warm-ups, practice, nothing done."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class Threshold(Schema):
    """A weekly number of hard sets at which a stated criterion is met."""

    criterion: str = Field(
        json_schema_extra={"x-extensible-enum": ["keeps_size", "detectable_gain", "small_next_gain"]}
    )
    """The criterion: size is held, a gain over 12 weeks is likely (probability 0.8), one more weekly set adds little."""
    weekly_hard_sets: Estimate
    """Weekly hard sets of one muscle and side; 52 is the largest dose studied, and an end of the interval there may lie beyond.
    The interval holds what one athlete needs; the value is its middle (`median`), of `detectable_gain` what suffices with
    probability 0.8 (`criterion`), whatever the interval's `mass`."""
    reached: bool
    """False where the criterion is met at no number up to 52, which then stands as the value."""
    prior_share: Share
    """Share that comes from other people's data; 1 here. What this athlete's own log tells is `GET .../dose-response`."""
    model_version: Name
    """The model that made it."""
    reasons: Reasons = []
    """What the number means."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class VolumeAnswer(Answer):
    """Hard sets by week, muscle and side, and the thresholds of weekly volume."""

    items: Annotated[list[MuscleVolume], Field(max_length=4000)]
    """By week, oldest first, then muscle, then side: left, right, both."""
    thresholds: Annotated[list[Threshold], Field(max_length=10)]
    """The thresholds of people like this one, fewest sets first, the same for every muscle; the athlete's own, muscle by
    muscle, are `GET .../dose-response`."""
    cautions: Cautions = []
    """What to heed."""
