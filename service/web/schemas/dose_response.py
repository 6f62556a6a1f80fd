"""What weekly volume does, on the wire."""

from typing import Annotated, Literal

from pydantic import Field

from service.web.schemas.answers import Answer, Cautions, Estimate, Quantity, Reasons, SourceKeys, WithReasons
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, Name, Schema, Share, Slug
from service.web.schemas.compute import Asked
from service.web.schemas.load_progression import ExerciseKey


class CriterionMet(Schema):
    """A weekly number of hard sets at which a stated criterion is met."""

    criterion: str = Field(
        json_schema_extra={"x-extensible-enum": ["keeps_size", "detectable_gain", "small_next_gain"]}
    )
    """Size is held; a gain over 12 weeks is as likely as asked for; one more weekly set adds little."""
    weekly_hard_sets: Estimate
    """Weekly hard sets of this muscle; 52 is the largest dose studied, and an end of the interval there may lie beyond. The
    interval holds the sets that this athlete needs. The value is their middle (`median`), but for `detectable_gain` those that
    suffice with probability 0.8 (`criterion`), whatever the interval's `mass`: below a mass of 0.6 that ends at the value, else
    its tails are equal. All of it as far as sets do anything at all: a reason says where that is not told yet."""
    reached: bool
    """False where the criterion is met at no number up to 52, which then stands as the value."""
    prior_share: Share
    """Share of the doubt before any log that is left: 1 where nothing was learned from this athlete."""
    reasons: Reasons = []
    """What the number means."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class CurvePoint(Schema):
    """Growth at some weekly number of hard sets."""

    weekly_hard_sets: Quantity
    """Weekly hard sets."""
    growth: Estimate
    """Growth of the muscle over 12 weeks, in per cent of its size; below nothing it shrinks. Its interval as that of `slope`."""


class Response(WithReasons):
    """How one muscle answers to weekly volume."""

    thresholds: Annotated[list[CriterionMet], Field(max_length=10)]
    """Always all of them; those that are reached rise, fewest sets first."""
    curve: Annotated[list[CurvePoint], Field(max_length=50)]
    """Growth by weekly hard sets, fewest first."""
    slope: Estimate
    """Growth over 12 weeks for each square root of the weekly sets, in per cent of size. Sets are not taken to shrink a muscle;
    an interval begins at 0 until what was seen tells sets that do something from sets that do nothing, and goes over to equal
    tails as it does. Where sets do nothing it holds 0 at least as often as its mass says."""
    peak: Estimate | None = None
    """Weekly sets beyond which growth falls; absent until this athlete's own log shows a downturn."""
    p_downturn: Share
    """How likely there is such a downturn; no published curve of groups has one."""


class Moved(Schema):
    """What one lift, girth or series changed."""

    weeks: Annotated[float, Field(ge=0), A_NUMBER]
    """Weeks over which it was seen, without stretches that are left out."""
    direction: str = Field(json_schema_extra={"x-extensible-enum": ["raised", "lowered", "left"]})
    """Whether the growth that is expected is more, less, or about the same because of it."""
    growth_change: Annotated[float, A_NUMBER]
    """Growth over 12 weeks with everything seen, less that without this one, in per cent of size."""
    at_weekly_hard_sets: Quantity
    """The weekly hard sets at which that holds: the recent ones, or the usual where none are known."""
    reasons: Reasons = []
    """The same in words, and what was left out."""


class MovedBy(Moved):
    """What one lift or one girth of the log changed."""

    kind: str = Field(json_schema_extra={"x-extensible-enum": ["lift", "girth"]})
    """A lift that trains the muscle directly, or a girth that goes round it."""
    exercise_id: ExerciseKey | None = None
    """The lift."""
    site: Slug | None = None
    """The place of the tape."""


class MovedBySeries(Moved):
    """What one of the series told changed."""

    series: Annotated[int, Field(ge=0, le=19), A_WHOLE_NUMBER]
    """Its place among the series, from 0."""


class MuscleResponse(Response):
    """How one of the athlete's muscles answers to weekly volume."""

    muscle_id: Slug
    """The muscle."""
    recent_weekly_hard_sets: Quantity | None = None
    """Mean weekly hard sets of the last whole weeks in which the muscle was trained, twelve at most, single weeks off among
    them; not of a break, nor of the weeks since the last. Of a muscle trained on one side alone, that side's."""
    moved_by: Annotated[list[MovedBy], Field(max_length=200)] = []
    """What each lift and girth changed, one at a time; empty where nothing speaks of the muscle yet."""
    lift_count: Annotated[int, Field(ge=0), A_WHOLE_NUMBER]
    """Lifts whose change of strength moved the numbers; none that is logged in levels of a machine."""
    weeks_seen: Annotated[float, Field(ge=0), A_NUMBER]
    """Weeks of these lifts and of the girth together."""


class DoseResponseAnswer(Answer):
    """How each muscle answers to weekly volume."""

    items: Annotated[list[MuscleResponse], Field(max_length=200)]
    """By muscle."""
    reasons: Reasons = []
    """Why there is no item, where there is none."""
    cautions: Cautions = []
    """What to heed."""


class GrowthSaid(Schema):
    """Changes of one lift's strength or one girth over stretches of weeks, and the weekly hard sets in them."""

    kind: Literal["strength", "girth"]
    """A load for the repetitions trained, or a girth, read as if all that lies under the tape grew like the muscle."""
    changes_percent: Annotated[
        list[Annotated[float, Field(ge=-90, le=900), A_NUMBER]], Field(min_length=1, max_length=26)
    ]
    """Change over each stretch, in per cent of its start."""
    error_percent: Annotated[float, Field(ge=0.01, le=50), A_NUMBER]
    """Standard error of one reading, in per cent; the readings at the ends of a stretch are shared with its neighbours."""
    weeks: Annotated[
        list[Annotated[float, Field(ge=0.1, le=52), A_NUMBER]], Field(min_length=1, max_length=26)
    ]
    """How long each stretch was."""
    weekly_hard_sets: Annotated[
        list[Annotated[float, Field(ge=0, le=100), A_NUMBER]], Field(min_length=1, max_length=26)
    ]
    """Mean weekly hard sets of the muscle in each stretch."""


class DoseResponseQuestion(Asked):
    """One muscle's past, and what is to count as worth it."""

    training: Literal["novice", "trained", "unknown"] = "unknown"
    """Training age."""
    age_years: Annotated[float, Field(ge=10, le=110), A_NUMBER] | None = None
    """From 60 years holding size takes more."""
    recent_weekly_hard_sets: Annotated[float, Field(ge=0, le=100), A_NUMBER] | None = None
    """What the muscle got a week of late, while it grew."""
    series: Annotated[list[GrowthSaid], Field(max_length=20)] = []
    """Lifts and girths that begin together; without any the answer is the population's."""
    worth: Annotated[float, Field(ge=0.0001, le=0.05), A_NUMBER] = 0.002
    """Share of size over 12 weeks below which one more weekly set is a small gain."""
    gain: Annotated[float, Field(ge=0.0005, le=0.2), A_NUMBER] = 0.004
    """Share of size over 12 weeks that a gain must exceed with probability 0.8."""
    mass: Annotated[float, Field(ge=0.5, le=0.99), A_NUMBER] = 0.8
    """Mass of the intervals."""


class DoseResponseComputed(Response):
    """How a muscle with such a past answers to weekly volume."""

    moved_by: Annotated[list[MovedBySeries], Field(max_length=20)] = []
    """What each series changed, one at a time."""

    model_version: Name
    """The model that made it."""
    cautions: Cautions = []
    """What to heed."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""
