"""What constrains and what is wanted: limits, aims, the frame of a week."""

from datetime import date
from typing import Literal
from uuid import UUID

from service.usecases.records.base import BodySide, Mass, Record, Side
from service.usecases.records.people import JointLimit, Weekday

LimitMode = Literal["improve", "replace"]
LimitKind = Literal["pain", "range_of_motion", "technique", "clinician", "preference"]
AimKind = Literal["grow_muscle", "raise_lift", "close_gap", "hold"]


class Limit(Record, frozen=True, kw_only=True):
    """A present constraint, to improve or to replace."""

    kind: LimitKind
    mode: LimitMode
    region: str | None = None
    side: BodySide | None = None
    score: float | None = None
    joint_limit: JointLimit | None = None
    exercise_ids: list[str] = []
    min_reps_in_reserve: float | None = None
    load_cap: Mass | None = None
    starts_on: date | None = None
    ends_on: date | None = None
    reviewed_on: date | None = None
    note: str | None = None


class Aim(Record, frozen=True, kw_only=True):
    """What the athlete wants."""

    kind: AimKind
    muscle_id: str | None = None
    exercise_id: str | None = None
    side: Side | None = None
    target: Mass | None = None
    priority: int = 2
    by: date | None = None


class Frame(Record, frozen=True, kw_only=True):
    """The week that life allows."""

    days: list[Weekday]
    minutes: int
    site_id: UUID | None = None
