"""Sessions, sets, check-ins and measurements on the wire."""

from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import Field, RootModel

from service.usecases.records.base import BodySide, LengthUnit, Side
from service.usecases.records.log import LimitedBy, LoadBasis, Phase, Purpose, RangeName
from service.web.schemas.base import (
    A_NUMBER,
    A_WHOLE_NUMBER,
    THREE_DECIMALS,
    Code,
    Degrees,
    Flag,
    Instant,
    Label,
    Note,
    Reserve,
    Schema,
    Score,
    Seconds,
    Slug,
)
from service.web.schemas.quantities import AngleBand, Length, Mass
from service.web.schemas.resources import AthleteResource

Stage = Annotated[int, Field(ge=0, le=20), A_WHOLE_NUMBER]
Repetitions = Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER]


class Session(AthleteResource):
    """One visit: when it began and where."""

    started_at: Instant
    """When it began, with the offset of the place; its sets take this date."""
    ended_at: Instant | None = None
    """When it ended."""
    site_id: UUID | None = None
    """Where it was."""
    plan_id: UUID | None = None
    """The issued plan that it followed."""
    session_rpe: Score | None = None
    """How hard the whole session felt, 0 to 10 (session RPE)."""
    note: Note | None = None
    """Free text; never read by a rule."""


class Pain(Schema):
    """Pain of 0 to 10 in a region. Without any number it is unknown, not 0: it counts as 3 to 5 at least until one is told."""

    region: Label
    """Where, such as `shoulder`, `knee` or `lower back`; what a region that is not known here loads is every joint."""
    side: BodySide | None = None
    """Which side."""
    during: Score | None = None
    """While lifting."""
    after: Score | None = None
    """Right after."""
    next_morning: Score | None = None
    """The next morning; a missing morning is unknown, and nothing is raised."""
    angle_band: AngleBand | None = None
    """Between which angles it hurts."""
    phase: Phase | None = None
    """In which phase it hurts."""
    exercise_id: Slug | None = None
    """The exercise that brings it on; without one it counts for every exercise that loads the region."""


class PlatesPerSide(Schema):
    """A load as it is said: plates on each end of a bar."""

    bar: Label
    """The bar's name in the site's inventory."""
    plates: Annotated[list[Mass], Field(max_length=20)]
    """The plates on one end."""


class SetUp(Schema):
    """How the lift was set up; set-ups of one exercise share strength."""

    station: Slug | None = None
    """The station."""
    grip: Label | None = None
    """The grip, such as `wide`."""
    stance: Label | None = None
    """The stance."""
    bench_angle_deg: Degrees | None = None
    """The angle of the bench. [degrees]"""


class Set(AthleteResource):
    """One bout of repetitions, a hold or a carry.

    Only exercise, time and what was done are needed. What is missing widens intervals; nothing blocks logging.
    """

    exercise_id: Slug
    """An exercise of `GET /v1/exercises`, or the id of one of the tenant's own."""
    performed_at: Instant
    """When it was done, with the offset of the place; at most 24 hours ahead of the server's clock."""
    session_id: UUID | None = None
    """The session it belongs to; the session may arrive later."""
    ordinal: Annotated[int, Field(ge=0, le=10_000), A_WHOLE_NUMBER] = 0
    """Its place in the session; decides the order, whatever the clocks say."""
    side: Side = "unspecified"
    """`left`, `right`, `both` for one load moved by two limbs, or `unspecified`."""
    load: Mass | None = None
    """The external load, meant as the exercise's `load_basis` says (per hand, added, assistance ...)."""
    level: Label | None = None
    """The label of a station without masses, such as `7`."""
    load_basis: LoadBasis | None = None
    """What the load means, if other than the exercise's own basis."""
    implement_mass: Mass | None = None
    """The implement's own mass where `load` leaves it out."""
    plates_per_side: PlatesPerSide | None = None
    """The load as plates on each end of a bar; `load` may then be left out."""
    about: Flag | None = None
    """A remembered or guessed load: it counts, with more doubt."""
    reps: Repetitions | None = None
    """Whole repetitions done. A hold is counted by `hold_s` and a carry by `distance_m` alone: what else is told beside them,
    repetitions too, is kept and counts in no answer, but for the other measure where its own is 0."""
    hold_s: Seconds | None = None
    """For a hold: how long. [s]"""
    distance_m: Annotated[float, Field(ge=0, le=10_000), A_NUMBER, THREE_DECIMALS] | None = None
    """For a carry: how far. [m]"""
    reps_in_reserve: Reserve | None = None
    """Repetitions that could still have been done, as felt, of a hold or a carry pieces of about four seconds; missing is
    unknown, never failure."""
    to_failure: Flag | None = None
    """Whether another repetition was tried and failed."""
    purpose: Purpose = "unknown"
    """What the set was for; warm-ups sent without it are inferred."""
    stage: Stage = 0
    """Place within a drop set: 0 for the first load, 1 and up for each drop."""
    stage_of: UUID | None = None
    """For a drop: the id of the first set; it may arrive later, and the drop counts when it does."""
    range: RangeName | None = None
    """The range of motion in words."""
    range_deg: AngleBand | None = None
    """The range of motion in angles."""
    pain: Annotated[list[Pain], Field(max_length=10)] = []
    """Pain felt with this set."""
    rest_same_exercise_s: Seconds | None = None
    """Rest since the last set of the same exercise. [s]"""
    rest_any_s: Seconds | None = None
    """Rest since the last set of any exercise. [s]"""
    tempo_s: Annotated[list[Seconds], Field(max_length=4)] | None = None
    """Lowering, pause, lifting, pause. [s each]"""
    alternating: Flag | None = None
    """Whether the sides took turns by repetition."""
    pair_id: UUID | None = None
    """What ties paired sets of two exercises together."""
    pair_order: Annotated[int, Field(ge=0, le=20), A_WHOLE_NUMBER] | None = None
    """Place within the pair."""
    limited_by: LimitedBy | None = None
    """What ended the set."""
    felt_in: Annotated[list[Slug], Field(max_length=10)] = []
    """Muscles in which it was felt."""
    set_up: SetUp | None = None
    """How the lift was set up."""
    plan_id: UUID | None = None
    """The issued plan that this follows."""
    plan_item_id: UUID | None = None
    """The item of that plan."""


class Soreness(Schema):
    """Soreness of 0 to 10 in a muscle."""

    muscle_id: Slug
    """A muscle of `GET /v1/muscles`."""
    score: Score
    """How sore."""
    side: BodySide | None = None
    """Which side."""


class Checkin(AthleteResource):
    """How the body is: soreness, pain, warning signs, sleep."""

    at: Instant
    """When it was asked."""
    soreness: Annotated[list[Soreness], Field(max_length=60)] = []
    """Soreness by muscle and side."""
    pain: Annotated[list[Pain], Field(max_length=20)] = []
    """Pain by region and side."""
    flags: Annotated[list[Code], Field(max_length=20)] = []
    """Warning signs, such as `locking`; some mean stop and see someone. Unknown codes are kept and refer to a clinician."""
    sleep_h: Annotated[float, Field(ge=0, le=24), A_NUMBER, THREE_DECIMALS] | None = None
    """Hours slept. [h]"""
    note: Note | None = None
    """Free text; never read by a rule."""


class MeasurementFields(AthleteResource):
    """What every measurement has."""

    at: Instant
    """When it was taken."""


GirthReading = Annotated[float, Field(ge=0.001, le=300), A_NUMBER, THREE_DECIMALS]


class Girth(MeasurementFields):
    """Repeated readings of one girth on one side."""

    kind: Literal["girth"]
    """The kind of measurement."""
    site: Slug
    """Where the tape lies, such as `upper-arm-relaxed`; readings of different sites are never compared."""
    side: BodySide
    """Which side."""
    readings: Annotated[list[GirthReading], Field(min_length=1, max_length=10)]
    """The readings, in the order they were taken."""
    unit: LengthUnit
    """The unit of the readings."""
    skinfold: Length | None = None
    """The skinfold at the same place."""


class BodyMass(MeasurementFields):
    """Body mass."""

    kind: Literal["body_mass"]
    """The kind of measurement."""
    mass: Mass
    """The body mass."""


class JointMotion(MeasurementFields):
    """Repeated readings of a joint-motion test."""

    kind: Literal["joint_motion"]
    """The kind of measurement."""
    test: Slug
    """The test, such as `weight-bearing-lunge`."""
    side: BodySide
    """Which side."""
    readings_deg: Annotated[list[Degrees], Field(min_length=1, max_length=10)]
    """The readings. [degrees]"""


class TestedMaximum(MeasurementFields):
    """A tested maximum load for a number of repetitions."""

    __test__ = False

    kind: Literal["tested_maximum"]
    """The kind of measurement."""
    exercise_id: Slug
    """The exercise."""
    load: Mass
    """The greatest load that was lifted."""
    reps: Annotated[int, Field(ge=1, le=50), A_WHOLE_NUMBER] = 1
    """For how many repetitions."""
    side: Side = "both"
    """On which side."""


class Measurement(
    RootModel[Annotated[Girth | BodyMass | JointMotion | TestedMaximum, Field(discriminator="kind")]]
):
    """A measurement of one of four kinds."""


Body = dict[str, Any]
