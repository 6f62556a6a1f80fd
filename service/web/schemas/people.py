"""Athletes, groups, consents and screenings on the wire."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from service.usecases.records.base import BodySide, MassUnit
from service.usecases.records.people import (
    ClearedByRole,
    Condition,
    ConsentPurpose,
    Laterality,
    ScreeningOutcome,
    Weekday,
)
from service.web.schemas.base import (
    A_NUMBER,
    A_WHOLE_NUMBER,
    THREE_DECIMALS,
    Day,
    Degrees,
    Flag,
    Instant,
    Label,
    Name,
    Reserve,
    Schema,
    read_only,
)
from service.web.schemas.quantities import Mass
from service.web.schemas.resources import AthleteResource, TenantResource


class Dominance(Schema):
    """Preferred hand and leg: metadata, never the key of a side."""

    hand: Laterality | None = None
    """The preferred hand."""
    leg: Laterality | None = None
    """The preferred leg."""


class Athlete(TenantResource):
    """The person whose training is logged."""

    display_name: Name | None = None
    """How to address the athlete; never needed for an answer."""
    external_ref: Name | None = None
    """The id that the caller's own system has for this person."""
    time_zone: Name
    """IANA time zone, such as `Europe/Riga`; decides on which day and in which week a session falls."""
    week_starts_on: Weekday = "monday"
    """The first day of this athlete's training week."""
    unit: MassUnit = "kg"
    """The unit in which answers are given unless a request asks for the other."""
    birth_year: Annotated[int, Field(ge=1900, le=2100), A_WHOLE_NUMBER] | None = None
    """Year of birth; minors and people of 60 and over get their own cautions."""
    training_years: Annotated[float, Field(ge=0, le=90), A_NUMBER] | None = None
    """Years of regular resistance training; below half a year counts as a novice, absent is unknown."""
    dominance: Dominance | None = None
    """Preferred hand and leg."""
    home_site_id: UUID | None = None
    """The site where the athlete usually trains."""


class Group(TenantResource):
    """A roster: a name and the athletes on it."""

    name: Name
    """What the group is called."""
    athlete_ids: Annotated[list[UUID], Field(max_length=10_000)] = []
    """The athletes on the roster; a new list replaces the old."""


class ConsentInput(Schema):
    """A decision of the athlete about one purpose. Decisions are appended; the newest of a purpose counts."""

    purpose: ConsentPurpose
    """What for: computing on health data, showing to a coach, showing to a site, anonymous pooled priors."""
    granted: Flag
    """Whether the athlete agrees; false withdraws, and computing stops at once."""
    text_version: Label
    """Which version of the consent text the athlete saw."""


class Consent(AthleteResource, ConsentInput):
    """A recorded decision."""

    recorded_at: Instant | None = read_only("When the decision was recorded.")


class JointLimit(Schema):
    """The range within which a joint motion is allowed."""

    motion: Annotated[str, Field(min_length=2, max_length=64, pattern=r"^[a-z][a-z_]{1,63}$")]
    """The motion, such as `knee_flexion` or `wrist_extension`."""
    from_deg: Degrees
    """Where the allowed range begins. [degrees]"""
    to_deg: Degrees
    """Where the allowed range ends. [degrees]"""
    side: BodySide = "both"
    """Which side it holds for."""


class Procedure(Schema):
    """An operation: where and when."""

    region: Label
    """The region, such as `knee`."""
    performed_on: Day
    """The day of the operation."""
    side: BodySide = "both"
    """Which side."""


class SideTarget(Schema):
    """What a clinician wants of an operated side."""

    region: Label
    """The region, as the procedure names it."""
    side: Literal["left", "right"]
    """The operated side."""
    percent_of_other_side: Annotated[float, Field(ge=10, le=200), A_NUMBER, THREE_DECIMALS]
    """How strong it is to be, of the other side. [%]"""


class Clearance(Schema):
    """A licensed clinician's word that opens closed plans, with its limits."""

    by: Name
    """Who gave it."""
    role: ClearedByRole
    """The licensed role in which it was given; a coach cannot clear."""
    given_on: Day
    """The day it was given."""
    review_on: Day | None = None
    """The day on which it must be reviewed; past that day plans are closed again."""
    joint_limits: Annotated[list[JointLimit], Field(max_length=20)] = []
    """Joint ranges within which training is allowed."""
    min_reps_in_reserve: Reserve | None = None
    """The least repetitions in reserve that every set must keep."""
    load_cap: Mass | None = None
    """The greatest load of any set."""
    side_targets: Annotated[list[SideTarget], Field(max_length=20)] = []
    """What the clinician wants of operated sides; without one for each operated region no gap there gets a closing plan."""


class ScreeningInput(Schema):
    """The outcome of a screening before training: never its questions or answers."""

    instrument: Name
    """The name of the instrument, in the tenant's own words."""
    instrument_version: Label
    """Its version."""
    performed_on: Day
    """The day it was done."""
    outcome: ScreeningOutcome
    """`clear`, `referred` (plans close), or `cleared` (with a clearance, plans open within its limits)."""
    conditions: Annotated[list[Condition], Field(max_length=20)] = []
    """What calls for cautions of its own."""
    procedures: Annotated[list[Procedure], Field(max_length=20)] = []
    """Operations; plans stay closed for 12 weeks after one unless a clearance is recorded."""
    clearance: Clearance | None = None
    """The clinician's clearance; required to open plans after `referred`."""


class Screening(AthleteResource, ScreeningInput):
    """A recorded screening."""

    recorded_at: Instant | None = read_only("When the outcome was recorded.")
