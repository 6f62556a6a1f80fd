"""What happened: sessions, sets, check-ins, measurements."""

from datetime import datetime
from typing import Literal
from uuid import UUID

from service.usecases.records.base import BodySide, Length, LengthUnit, Mass, MassUnit, Record, Side

Purpose = Literal["warm_up", "work", "reduced", "test", "technique", "rehab", "unknown"]
RangeName = Literal["full", "bottom_half", "top_half", "unknown"]
LimitedBy = Literal["target", "other_muscle", "trunk", "grip", "balance", "breath", "pain", "time"]
LoadBasis = Literal["total", "per_hand", "added", "assistance", "level", "none"]
Phase = Literal["lifting", "lowering", "holding", "all"]


class Session(Record, frozen=True, kw_only=True):
    """One visit: when it began and where."""

    started_at: datetime
    ended_at: datetime | None = None
    site_id: UUID | None = None
    plan_id: UUID | None = None
    session_rpe: float | None = None
    note: str | None = None


class AngleBand(Record, frozen=True, kw_only=True):
    """A band of a joint's motion. [degrees]"""

    from_deg: float
    to_deg: float


class Pain(Record, frozen=True, kw_only=True):
    """Pain of 0 to 10 in a region: during, after, and the next morning."""

    region: str
    side: BodySide | None = None
    during: float | None = None
    after: float | None = None
    next_morning: float | None = None
    angle_band: AngleBand | None = None
    phase: Phase | None = None
    exercise_id: str | None = None

    @property
    def worst(self) -> float | None:
        """The worst of what was told. [0-10]"""
        told = [score for score in (self.during, self.after, self.next_morning) if score is not None]
        return max(told, default=None)


class PlatesPerSide(Record, frozen=True, kw_only=True):
    """A load as it is said: plates on each end of a bar."""

    bar: str
    plates: list[Mass]


class SetUp(Record, frozen=True, kw_only=True):
    """How the lift was set up: what shares strength with other set-ups of the same lift."""

    station: str | None = None
    grip: str | None = None
    stance: str | None = None
    bench_angle_deg: float | None = None


class LoggedSet(Record, frozen=True, kw_only=True):
    """One bout of repetitions, a hold or a carry."""

    exercise_id: str
    performed_at: datetime
    session_id: UUID | None = None
    ordinal: int = 0
    side: Side = "unspecified"
    load: Mass | None = None
    level: str | None = None
    load_basis: LoadBasis | None = None
    implement_mass: Mass | None = None
    plates_per_side: PlatesPerSide | None = None
    about: bool | None = None
    reps: int | None = None
    hold_s: float | None = None
    distance_m: float | None = None
    reps_in_reserve: float | None = None
    to_failure: bool | None = None
    purpose: Purpose = "unknown"
    stage: int = 0
    stage_of: UUID | None = None
    range: RangeName | None = None
    range_deg: AngleBand | None = None
    pain: list[Pain] = []
    rest_same_exercise_s: float | None = None
    rest_any_s: float | None = None
    tempo_s: list[float] | None = None
    alternating: bool | None = None
    pair_id: UUID | None = None
    pair_order: int | None = None
    limited_by: LimitedBy | None = None
    felt_in: list[str] = []
    set_up: SetUp | None = None
    plan_id: UUID | None = None
    plan_item_id: UUID | None = None


class Soreness(Record, frozen=True, kw_only=True):
    """Soreness of 0 to 10 in a muscle, by side."""

    muscle_id: str
    score: float
    side: BodySide | None = None


class Checkin(Record, frozen=True, kw_only=True):
    """How the body is: soreness, pain, warning signs, sleep."""

    at: datetime
    soreness: list[Soreness] = []
    pain: list[Pain] = []
    flags: list[str] = []
    sleep_h: float | None = None
    note: str | None = None


class MeasurementBase(Record, tag_field="kind", frozen=True, kw_only=True):
    """What every measurement has."""

    at: datetime


class Girth(MeasurementBase, tag="girth", frozen=True, kw_only=True):
    """Repeated readings of one girth on one side, and the skinfold there if it was taken."""

    site: str
    side: BodySide
    readings: list[float]
    unit: LengthUnit
    skinfold: Length | None = None


class BodyMass(MeasurementBase, tag="body_mass", frozen=True, kw_only=True):
    """Body mass."""

    mass: Mass


class JointMotion(MeasurementBase, tag="joint_motion", frozen=True, kw_only=True):
    """Repeated readings of a joint-motion test. [degrees]"""

    test: str
    side: BodySide
    readings_deg: list[float]


class TestedMaximum(MeasurementBase, tag="tested_maximum", frozen=True, kw_only=True):
    """A tested maximum load for a number of repetitions."""

    exercise_id: str
    load: Mass
    reps: int = 1
    side: Side = "both"


Measurement = Girth | BodyMass | JointMotion | TestedMaximum
MeasurementKind = Literal["girth", "body_mass", "joint_motion", "tested_maximum"]
Unit = MassUnit | LengthUnit
