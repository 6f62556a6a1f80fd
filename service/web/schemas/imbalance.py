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
    WithReasons,
)
from service.web.schemas.base import Name, Schema, Share, Slug

Sentence = Annotated[str, Field(max_length=200)]
BodySide = Literal["left", "right"]


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


class Imbalance(WithReasons):
    """How the sides compare in one lift, in the lifts of one muscle, or at one girth site."""

    kind: str = Field(json_schema_extra={"x-extensible-enum": ["strength", "size"]})
    """What is compared; strength and size are never mixed."""
    scope: str = Field(json_schema_extra={"x-extensible-enum": ["exercise", "muscle", "site"]})
    """What it speaks of: one lift, the pooled lifts that train a muscle directly, or the place of the tape."""
    exercise_id: Name | None = None
    """The lift."""
    muscle_id: Slug | None = None
    """The muscle whose lifts are pooled."""
    exercise_ids: Annotated[list[Name], Field(max_length=200)] | None = None
    """The lifts that are pooled."""
    site: Slug | None = None
    """Where the tape lay; it is a place on the limb and not a muscle."""
    state: str = Field(
        json_schema_extra={
            "x-extensible-enum": [
                "right_ahead", "left_ahead", "too_small_to_matter", "not_decided", "undetermined",
            ]
        }
    )  # fmt: skip
    """What can be said. `undetermined`: one side's reserve is missing, so that equal repetitions may hide a gap."""
    t: Estimate
    """ln(right / left): positive where the right is ahead; of the load for strength, of the cross-section for size."""
    p_right_ahead: Share
    """Probability that the right side is ahead."""
    p_beyond: Share
    """Probability that the difference is larger than `smallest_worthwhile`, either way."""
    smallest_worthwhile: Quantity
    """|t| below which a difference is not worth acting on."""
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


class NotCompared(Schema):
    """Something whose sides cannot be compared yet."""

    exercise_id: Name | None = None
    """The lift."""
    site: Slug | None = None
    """The place of the tape."""
    reason: Reason
    """Why not."""


class ImbalanceAnswer(Answer):
    """How an athlete's sides compare."""

    items: Annotated[list[Imbalance], Field(max_length=1000)]
    """Lifts, then muscles, then girth sites, each by id."""
    not_computed: Annotated[list[NotCompared], Field(max_length=1000)] = []
    """What was logged or measured on one side only."""
    cautions: Cautions = []
    """What to heed."""
