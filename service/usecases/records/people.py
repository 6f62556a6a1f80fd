"""Who trains: athletes, groups, their consents and screenings."""

from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.usecases.records.base import BodySide, Mass, MassUnit, Record

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
Laterality = Literal["left", "right", "mixed"]
ConsentPurpose = Literal["process_health", "coach", "site", "pooled_priors"]
ScreeningOutcome = Literal["clear", "referred", "cleared"]
ClearedByRole = Literal["physician", "physiotherapist", "other_licensed_clinician"]
Condition = Literal[
    "hypertension",
    "cardiac_history",
    "eye_surgery",
    "hernia_surgery",
    "pregnancy",
    "later_pregnancy",
    "osteoporosis",
    "illness",
]


class Dominance(Record, frozen=True, kw_only=True):
    """Preferred hand and leg: metadata, never the key of a side."""

    hand: Laterality | None = None
    leg: Laterality | None = None


class Athlete(Record, frozen=True, kw_only=True):
    """The person whose training is logged."""

    time_zone: str
    display_name: str | None = None
    external_ref: str | None = None
    week_starts_on: Weekday = "monday"
    unit: MassUnit = "kg"
    birth_year: int | None = None
    training_years: float | None = None
    dominance: Dominance | None = None
    home_site_id: UUID | None = None


class Group(Record, frozen=True, kw_only=True):
    """A roster: a name and the athletes on it."""

    name: str
    athlete_ids: list[UUID] = []


class Consent(Record, frozen=True, kw_only=True):
    """One decision about one purpose; the newest decides."""

    purpose: ConsentPurpose
    granted: bool
    text_version: str
    recorded_at: datetime | None = None


class JointLimit(Record, frozen=True, kw_only=True):
    """The range within which a joint motion is allowed."""

    motion: str
    from_deg: float
    to_deg: float
    side: BodySide = "both"


class Procedure(Record, frozen=True, kw_only=True):
    """An operation: where and when."""

    region: str
    performed_on: date
    side: BodySide = "both"


class SideTarget(Record, frozen=True, kw_only=True):
    """What a clinician wants of an operated side: so many per cent of the other side. [%]"""

    region: str
    side: Literal["left", "right"]
    percent_of_other_side: float


class Clearance(Record, frozen=True, kw_only=True):
    """A licensed clinician's word that opens a closed plan, with its limits."""

    by: str
    role: ClearedByRole
    given_on: date
    review_on: date | None = None
    joint_limits: list[JointLimit] = []
    min_reps_in_reserve: float | None = None
    load_cap: Mass | None = None
    side_targets: list[SideTarget] = []


class Screening(Record, frozen=True, kw_only=True):
    """The outcome of a screening: never its questions or answers."""

    instrument: str
    instrument_version: str
    performed_on: date
    outcome: ScreeningOutcome
    conditions: list[Condition] = []
    procedures: list[Procedure] = []
    clearance: Clearance | None = None
    recorded_at: datetime | None = None
