"""A session as it was planned: what previews answer and what issuing keeps."""

from datetime import datetime
from typing import Literal
from uuid import UUID

from service.usecases.records.base import Mass, Record, Side

Role = Literal["main", "second", "accessory"]
Urgency = Literal["emergency", "same_day", "soon", "heed"]
ParamValue = str | float | int | bool | None


class ReasonText(Record, frozen=True, kw_only=True):
    """Why: a stable code, its numbers, and a sentence that can be shown."""

    code: str
    text: str
    params: dict[str, ParamValue] = {}


class CautionText(Record, frozen=True, kw_only=True):
    """What to heed: a stable code, how urgent, and a sentence that can be shown."""

    code: str
    urgency: Urgency
    text: str
    params: dict[str, ParamValue] = {}


class PlannedSet(Record, frozen=True, kw_only=True):
    """One set as planned: side, load, repetitions, effort, and how likely the wanted effort is."""

    side: Side
    ramp: bool = False
    load: Mass | None = None
    level: str | None = None
    made_of: list[str] = []
    reps_low: int | None = None
    reps_high: int | None = None
    hold_s: float | None = None
    distance_m: float | None = None
    reps_in_reserve: float | None = None
    expected_reps: float | None = None
    expected_reps_lower: float | None = None
    expected_reps_upper: float | None = None
    interval_mass: float | None = None
    p_wanted: float | None = None
    p_too_hard: float | None = None
    rest_after_s: float | None = None


class PlanItem(Record, frozen=True, kw_only=True):
    """One exercise of a plan, its sets in order."""

    item_id: UUID
    exercise_id: str
    exercise_name: str
    role: Role
    sets: list[PlannedSet]
    minutes: float
    muscles: list[str] = []
    policy: str | None = None
    reasons: list[ReasonText] = []
    cautions: list[CautionText] = []
    sources: list[str] = []


class Plan(Record, frozen=True, kw_only=True):
    """A whole session: exercises in order, with reasons and cautions."""

    items: list[PlanItem]
    minutes: float
    as_of: datetime
    model_version: str
    action: str | None = None
    site_id: UUID | None = None
    inventory_etag: str | None = None
    reasons: list[ReasonText] = []
    cautions: list[CautionText] = []
    sources: list[str] = []
    ask: ReasonText | None = None
