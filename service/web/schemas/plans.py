"""Plans on the wire: what a preview answers and what issuing keeps."""

from datetime import date
from typing import Annotated
from uuid import UUID

from pydantic import Field

from service.usecases.records.base import Side
from service.usecases.records.plans import Role, Urgency
from service.web.schemas.base import (
    A_NUMBER,
    A_WHOLE_NUMBER,
    Code,
    Flag,
    Instant,
    Label,
    Name,
    Schema,
    Seconds,
    Share,
    Slug,
    read_only,
)
from service.web.schemas.quantities import Mass
from service.web.schemas.resources import AthleteResource

Param = (
    Annotated[str, Field(max_length=2000)]
    | bool
    | Annotated[float, Field(ge=-1e12, le=1e12), A_NUMBER]
    | None
)
Params = Annotated[dict[str, Param], Field(max_length=40)]
Sentence = Annotated[str, Field(max_length=2000)]
Amount = Annotated[float, Field(ge=0, le=10_000), A_NUMBER]
Repetitions = Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER]


class Reason(Schema):
    """Why: a stable code, its numbers, and a sentence that can be shown."""

    code: Code
    """A stable code; the list may grow."""
    text: Sentence
    """The sentence, in the language of Content-Language."""
    params: Params = {}
    """The numbers behind it."""


class Caution(Schema):
    """What to heed."""

    code: Code
    """A stable code; the list may grow."""
    urgency: Urgency
    """`emergency` and `same_day` come before anything else."""
    text: Sentence
    """The sentence, in the language of Content-Language."""
    params: Params = {}
    """The numbers behind it."""


class DueCheck(Schema):
    """Something to ask, measure or test by a date; nothing depends on it but what can be known afterwards."""

    kind: str = Field(
        json_schema_extra={
            "x-extensible-enum": [
                "pain_number",
                "next_morning_pain",
                "retest",
                "girth",
                "effort_of_sides",
                "test_set",
            ]
        }
    )
    """What is due: the number of a pain that was only named, how pain was the next morning, a limit's or joint's test again,
    a girth, a set that compares the effort of both sides, or one set whose effort is told where it never is."""
    due_on: date
    """The athlete's own date by which it is due; a past one is overdue."""
    exercise_id: Name | None = None
    """The lift that it concerns."""
    region: Name | None = None
    """The region of the body that it concerns."""
    motion: Name | None = None
    """The joint motion to test."""
    test: Slug | None = None
    """The joint-motion test that told of it last, where one did."""
    site: Slug | None = None
    """Where the tape goes."""
    side: Name | None = None
    """The side, where it concerns one."""
    reason: Reason
    """What to do and why."""


class PlannedSet(Schema):
    """One set as planned."""

    side: Side
    """The side that works."""
    ramp: Flag = False
    """Whether it is a warm-up on the way to the first working set."""
    load: Mass | None = None
    """The external load, one that the site can make."""
    level: Label | None = None
    """The station's label, where it has no masses; under a load cap none is issued, for what it weighs is not known."""
    made_of: Annotated[list[Name], Field(max_length=60)] = []
    """How the load is made, such as the plates on each side."""
    reps_low: Repetitions | None = None
    """The fewest repetitions wanted."""
    reps_high: Repetitions | None = None
    """The most wanted."""
    hold_s: Seconds | None = None
    """For a hold: how long. [s]"""
    distance_m: Amount | None = None
    """For a carry: how far. [m]"""
    reps_in_reserve: Annotated[float, Field(ge=0, le=20), A_NUMBER] | None = None
    """Repetitions to leave undone."""
    expected_reps: Amount | None = None
    """Repetitions that could be done to failure at this load (median)."""
    expected_reps_lower: Amount | None = None
    """Lower end of their interval."""
    expected_reps_upper: Amount | None = None
    """Upper end of their interval."""
    interval_mass: Share | None = None
    """Probability that the interval holds."""
    p_wanted: Share | None = None
    """Probability that the set ends with the wanted effort."""
    p_too_hard: Share | None = None
    """Probability that it ends in failure or short of the repetitions."""
    rest_after_s: Seconds | None = None
    """Rest before the next set. [s]"""


class PlanItem(Schema):
    """One exercise of a plan, its sets in order."""

    item_id: UUID
    """Its id; a logged set may name it."""
    exercise_id: Slug
    """The exercise."""
    exercise_name: Name
    """What it is called."""
    role: Role
    """Why it stands where it stands."""
    sets: Annotated[list[PlannedSet], Field(max_length=60)]
    """The sets, in order, the side that goes first before the other."""
    minutes: Amount
    """How long it takes with rests. [min]"""
    muscles: Annotated[list[Slug], Field(max_length=60)] = []
    """Muscles it is there for."""
    policy: Code | None = None
    """The rule by which the load was chosen."""
    reasons: Annotated[list[Reason], Field(max_length=20)] = []
    """Why this exercise, these sets and this load."""
    cautions: Annotated[list[Caution], Field(max_length=40)] = []
    """What to heed."""
    sources: Annotated[list[Name], Field(max_length=60)] = []
    """Keys of the works it rests on."""


class PlanBody(Schema):
    """What a plan says, previewed or issued."""

    items: Annotated[list[PlanItem], Field(max_length=40)]
    """The exercises, in order."""
    minutes: Amount
    """How long all of it takes. [min]"""
    as_of: Instant
    """The instant up to which the log was used."""
    model_version: Name
    """The model that made it."""
    action: Sentence | None = None
    """One plain sentence: what to do."""
    site_id: UUID | None = None
    """Where."""
    inventory_etag: Annotated[str, Field(max_length=40)] | None = None
    """The version of the site's implements that it was made for."""
    reasons: Annotated[list[Reason], Field(max_length=20)] = []
    """Why the session looks like this."""
    cautions: Annotated[list[Caution], Field(max_length=40)] = []
    """What to heed in all of it."""
    sources: Annotated[list[Name], Field(max_length=100)] = []
    """Keys of the works it rests on."""
    ask: Reason | None = None
    """The one question whose answer would help most."""
    position: str | None = read_only(
        "In a preview: position of the change feed up to which it has read.", maxLength=20, pattern=r"^\d+$"
    )
    valid_until: Instant | None = read_only(
        "In a preview as of now: until when it stands if nothing more is logged."
    )
    due_checks: list[DueCheck] | None = read_only(
        "In a preview: what is due by a week from now, the earliest first.", maxItems=200
    )


class Plan(PlanBody, AthleteResource):
    """A whole session: exercises in order, loads that the site can make, how sure, and why."""


class PreviewedPlan(PlanBody):
    """A whole session as it would be planned now; nothing is stored until it is put as a plan."""

    @classmethod
    def always_told(cls) -> frozenset[str]:
        """Names of read-only members that every preview holds."""
        return frozenset({"position"})
