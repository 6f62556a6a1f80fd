"""Side-to-side differences on the wire."""

from typing import Annotated, Literal

from pydantic import Field

from service.web.schemas.answers import (
    Answer,
    Cautions,
    Estimate,
    Interval,
    Number,
    Quantity,
    Reason,
    Reasons,
    SourceKeys,
    WithReasons,
)
from service.web.schemas.base import (
    A_WHOLE_NUMBER,
    Day,
    Flag,
    Instant,
    Name,
    Schema,
    Share,
    Slug,
)
from service.web.schemas.plans import DueCheck

Sentence = Annotated[str, Field(max_length=200)]
BodySide = Literal["left", "right"]
SetCount = Annotated[int, Field(ge=0, le=200), A_WHOLE_NUMBER]


class ImbalanceIndex(Schema):
    """One published index of the difference."""

    id: Name
    """The index; names in print collide, these ids do not."""
    unit: Name
    """Unit of `value`."""
    reference_limb: Sentence
    """The limb that stands below the line."""
    sign_convention: Sentence
    """What its sign, or its distance from 100, says."""
    definition: Name = "model_of_the_log"
    """What stood for each side before the index was taken: the model of the log, not single trials."""
    value: Number | None = None
    """The index; absent where the side that it needs is not known."""
    interval: Interval | None = None
    """Where the index lies, carried over from `t`."""
    reason: Reason | None = None
    """Why it has no value."""
    title: Sentence | None = None
    """Its name, with `detail=full`."""
    expression: Sentence | None = None
    """Its formula, with `detail=full`."""
    source: Name | None = None
    """Key of the work that prints it, with `detail=full`."""
    form_seen: Name | None = None
    """How its form came to us, with `detail=full`: `read`, from a `secondary_source`, or `from_memory`."""


class GapThen(Schema):
    """The gap on an earlier day, as it is known today."""

    at: Instant
    """The instant."""
    t: Estimate
    """ln(right / left) then; of joint motion right less left."""


class GapForecast(Schema):
    """The gap six weeks on."""

    on: Day
    """The athlete's own date."""
    with_plan: Flag
    """Whether the closing plan is followed; else training goes on as it is."""
    t: Estimate
    """ln(right / left) then. With a plan it holds what equal sets close, what more sets add, and what crosses over."""


class SidedSets(Schema):
    """Weekly working sets of one lift, by side."""

    exercise_id: Name
    """The lift."""
    left_sets: SetCount
    """Sets a week on the left."""
    right_sets: SetCount
    """Sets a week on the right."""


class ClosingPlan(Schema):
    """What closes the gap: sets per side and week, in which order, and when to stop. Common practice without a source."""

    quality: str = Field(json_schema_extra={"x-extensible-enum": ["strength", "endurance", "size"]})
    """What is to become equal."""
    lagging_side: BodySide
    """The side that is behind."""
    first_side: BodySide
    """The side that begins; the other one stops at its repetitions."""
    lifts: Annotated[list[SidedSets], Field(max_length=100)]
    """Sets by lift and side; none works, with more than a quarter, a muscle whose gap runs the other way."""
    extra_sets: SetCount
    """Sets that the lagging side gets beyond the leading one's, the leading side never below what keeps its size."""
    recheck_on: Day
    """When to look again, on the athlete's own calendar."""
    stop_on: Day
    """When the extra sets stop whatever was found."""
    stop_below: Share
    """They stop sooner once `p_beyond` falls below this, or the other side is ahead."""
    target_ratio: Quantity
    """right / left at which it is done: 1, or what a clinician wants of an operated side."""
    least_reserve: Quantity | None = None
    """The repetitions in reserve that a clearance demands."""
    reasons: Reasons
    """How to train by it and when to stop."""
    cautions: Cautions = []
    """What to heed."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class Imbalance(WithReasons):
    """How the sides compare in one lift, in the lifts of one muscle, or at one girth site."""

    kind: str = Field(
        json_schema_extra={"x-extensible-enum": ["strength", "endurance", "size", "joint_motion"]}
    )
    """What is compared; the kinds are never mixed. Strength: at the repetitions that are trained, not the 1RM."""
    scope: str = Field(json_schema_extra={"x-extensible-enum": ["exercise", "muscle", "site", "test"]})
    """What it speaks of: a lift, the pooled lifts that train a muscle directly, the place of a tape, a joint's test."""
    exercise_id: Name | None = None
    """The lift."""
    muscle_id: Slug | None = None
    """The muscle whose lifts are pooled."""
    exercise_ids: Annotated[list[Name], Field(max_length=200)] | None = None
    """The lifts that are pooled."""
    site: Slug | None = None
    """Where the tape lay; it is a place on the limb and not a muscle."""
    corrected: Flag | None = None
    """For a girth: whether skin and fat are taken off by the skinfolds; never mixed with plain girths."""
    test: Slug | None = None
    """The joint-motion test."""
    repetitions: Quantity | None = None
    """For a lift: the repetitions at which the sides' loads are compared."""
    repetitions_more: Estimate | None = None
    """For endurance: how many more the right side does where the left does `repetitions`, at equal shares of strength."""
    state: str = Field(
        json_schema_extra={
            "x-extensible-enum": [
                "right_ahead", "left_ahead", "too_small_to_matter", "not_decided", "undetermined",
            ]
        }
    )  # fmt: skip
    """What can be said. `undetermined`: one side's reserve is missing, so that equal repetitions may hide a gap."""
    t: Estimate | None = None
    """ln(right / left): positive where the right is ahead; of the load for strength, of the repetitions beyond the first at
    an equal share for endurance, of the cross-section for size. Absent for joint motion."""
    difference: Estimate | None = None
    """For joint motion: right less left, in degrees; a ratio of angles has no meaning, so it has no indices."""
    p_right_ahead: Share
    """Probability that the right side is ahead."""
    p_left_ahead: Share
    """Probability that the left side is ahead."""
    p_beyond: Share
    """Probability that the difference is larger than `smallest_worthwhile`, either way."""
    smallest_worthwhile: Quantity
    """|t| below which a difference is not worth acting on; degrees for joint motion."""
    minimal_detectable_change: Quantity
    """Change of t between two visits that error alone exceeds once in twenty."""
    visits_needed: Estimate | None = None
    """Further visits that would decide it; absent where it is decided, or visits alone cannot decide."""
    expected_next_reading: Estimate
    """What another visit should read with no training between: extreme readings are part luck."""
    between_exercises_sd: Quantity | None = None
    """Spread of t between the lifts that are pooled."""
    dominant_side: BodySide | None = None
    """The dominant side that the indices use."""
    involved_side: BodySide | None = None
    """The side that was hurt or operated on, which the indices and the prior use."""
    indices: Annotated[list[ImbalanceIndex], Field(max_length=40)]
    """Every published index, all functions of `t`."""
    technical_error: Quantity | None = None
    """For a girth: error of one reading as a share of the girth, learned from the repeats."""
    history: Annotated[list[GapThen], Field(max_length=26)] = []
    """The gap a week apart, oldest first, as it is known today; with `weeks`."""
    forecast: GapForecast | None = None
    """The gap six weeks on; absent where it is undetermined."""
    closing_plan: ClosingPlan | None = None
    """What closes the gap; where there is none, `no_closing_plan` says why."""
    no_closing_plan: Reason | None = None
    """Why there is no closing plan."""


class NotCompared(Schema):
    """Something whose sides cannot be compared yet."""

    exercise_id: Name | None = None
    """The lift."""
    site: Slug | None = None
    """The place of the tape."""
    test: Slug | None = None
    """The joint-motion test."""
    reason: Reason
    """Why not."""


class ImbalanceAnswer(Answer):
    """How an athlete's sides compare."""

    items: Annotated[list[Imbalance], Field(max_length=1000)]
    """Lifts, then muscles, girth sites and joint-motion tests, each by id."""
    not_computed: Annotated[list[NotCompared], Field(max_length=1000)] = []
    """What was logged or measured on one side only."""
    ask: Reason | None = None
    """The one missing fact that would help most, such as an effort check of the side that only copies."""
    due_checks: Annotated[list[DueCheck], Field(max_length=200)] = []
    """What is due by a week from now that tells more of the sides, the earliest first: a girth, the effort of both sides,
    a joint's test."""
    cautions: Cautions = []
    """What to heed."""
