"""The difference between sides, computed from trials."""

from typing import Annotated, Literal

from pydantic import Field

from service.core.symmetry.index_catalogue import Side as LimbSide
from service.web.schemas.answers import Estimate, Interval, Quantity, Reason, UnitCode
from service.web.schemas.base import A_NUMBER, Code, Name, Schema, Share, Slug
from service.web.schemas.compute import Asked, ComputedAnswer, LogRatio, Text

TrialValue = Annotated[float, Field(ge=0, le=1_000_000), A_NUMBER]
SdOfLn = Annotated[float, Field(gt=0, le=2), A_NUMBER]
TrialSummary = Literal["geometric_mean_of_trials", "mean_of_trials", "best_of_trials"]
Definition = Annotated[
    str,
    Field(
        max_length=64,
        json_schema_extra={
            "x-extensible-enum": [
                "one_trial", "mean_of_trials", "geometric_mean_of_trials", "best_of_trials", "log_ratio_given",
                "model_of_the_log",
            ]
        },
    ),
]  # fmt: skip
FormSeen = Annotated[
    str,
    Field(
        max_length=64,
        json_schema_extra={"x-extensible-enum": ["read", "secondary_source", "from_memory"]},
    ),
]


class Trials(Schema):
    """The trials of one side, or of both limbs together, and how they were measured."""

    trials: Annotated[list[TrialValue], Field(min_length=1, max_length=200)]
    """What each trial measured, in the order in which they were done; leave failed trials out."""
    unit: UnitCode = "1"
    """`kg`, `lb`, `cm`, `in`, `N`, `[lbf_av]` or any other; units of one quantity are converted, others must be the same."""
    trial_sd: SdOfLn | None = None
    """Known standard deviation of ln of one trial, near its coefficient of variation; without it the trials tell it."""
    exercise: Slug | None = None
    """What was done; must be the same everywhere."""
    mode: Slug | None = None
    """How it was measured, such as `isometric` or `isokinetic-60`; must be the same everywhere."""
    reps: Annotated[float, Field(ge=1, le=200), A_NUMBER] | None = None
    """Repetitions that the values belong to; must be the same everywhere."""


class PriorOfSides(Schema):
    """What is believed of t = ln(right / left) before any trial: a normal distribution."""

    sd: SdOfLn
    """Its standard deviation; 0.05 is usual for trained people, 0.2 after an injury (judgement)."""
    mean: LogRatio = 0.0
    """Its mean."""


class IndicesQuestion(Asked):
    """The trials of each side, or the log ratio t = ln(right / left)."""

    left: Trials | None = None
    """The left side's trials."""
    right: Trials | None = None
    """The right side's trials."""
    both: Trials | None = None
    """Trials of both limbs together, for the bilateral index."""
    summary: TrialSummary = "geometric_mean_of_trials"
    """What the test takes of a side's trials; the best needs as many on each side, for more trials have a better best."""
    paired: bool = False
    """Whether the n-th left and the n-th right trial were done together: their errors then go together."""
    trial_covariance: Annotated[float, Field(ge=-4, le=4), A_NUMBER] | None = None
    """Known covariance of ln of the two trials of a pair, beside `trial_sd`."""
    visit_sd: SdOfLn | None = None
    """Known standard deviation of t from visit to visit, which the trials of one visit cannot show."""
    log_ratio: LogRatio | None = None
    """t = ln(right / left), instead of trials."""
    log_ratio_sd: SdOfLn | None = None
    """Standard error of that t; without it no interval can be told."""
    prior: PriorOfSides | None = None
    """Adds `posterior` to the answer; the indices themselves have no prior in them."""
    smallest_worthwhile: Annotated[float, Field(gt=0, le=1), A_NUMBER] = 0.05
    """|t| below which a difference is not worth acting on: a choice."""
    mass: Annotated[float, Field(ge=0.5, le=0.99), A_NUMBER] = 0.8
    """Probability that each interval holds its value."""
    dominant_side: LimbSide | None = None
    """The preferred limb; some indices are reckoned from it."""
    involved_side: LimbSide | None = None
    """The limb that was hurt or operated; some indices are reckoned from the other one."""


class PublishedIndex(Schema):
    """One published index, with all that its name leaves open."""

    id: Code
    """Its own id here: the same name stands in print for different formulas."""
    title: Text
    """What it is called in print."""
    formula: Text
    """The equation."""
    reference_limb: Text
    """What stands for the whole."""
    sign: Text
    """What its sign says."""
    value: Annotated[float, A_NUMBER] | None = None
    """The index; left out where it is not defined."""
    unit: UnitCode
    """Its unit."""
    interval: Interval | None = None
    """Where it lies, with the asked probability: the ends of t's interval carried over, exact for a form that only rises."""
    source: Name
    """Key of the work that it comes from."""
    form_seen: FormSeen
    """How its form came to us: `read` in print, from a `secondary_source` that repeats it, or `from_memory`."""


class SideIndex(PublishedIndex):
    """One published index of the difference between sides."""

    definition: Definition
    """What stood for each side before the index was taken."""
    reason: Reason | None = None
    """Why it has no value."""


class BilateralIndex(PublishedIndex):
    """The bilateral index in one of its two conventions."""


class ChancesOfSides(Schema):
    """Where t lies and on which side of which line."""

    interval: Interval | None = None
    """Where it lies, with the asked probability."""
    p_right_ahead: Share | None = None
    """Probability that the right side is ahead."""
    p_beyond: Share | None = None
    """Probability that the difference is larger than `smallest_worthwhile`, either way."""


class LogRatioOfSides(ChancesOfSides):
    """t = ln(right / left): the one quantity of which every index is a function; no prior in it."""

    value: Annotated[float, A_NUMBER]
    """t; positive where the right side is ahead."""
    definition: Definition
    """What stood for each side."""
    sd: Quantity | None = None
    """Its standard error; left out where nothing tells it."""
    degrees_of_freedom: Annotated[float, Field(ge=1), A_NUMBER] | None = None
    """Of the spread that gave the standard error; left out where it was given. Few make the interval wide (Student)."""
    pair_covariance: Annotated[float, A_NUMBER] | None = None
    """Covariance of ln of two trials done as a pair: given, or told by the trials."""


class PosteriorOfSides(ChancesOfSides):
    """t with the asked prior in it."""

    value: Annotated[float, A_NUMBER]
    """Its mean."""
    sd: Quantity
    """Its standard deviation."""


class IndicesAnswer(ComputedAnswer):
    """Every published index of one difference between sides."""

    log_ratio: LogRatioOfSides | None = None
    """The log ratio; left out where one side measured zero."""
    posterior: PosteriorOfSides | None = None
    """The log ratio under the asked prior."""
    indices: Annotated[list[SideIndex], Field(max_length=60)]
    """Every index."""
    bilateral: Annotated[list[BilateralIndex], Field(max_length=4)] = []
    """The bilateral index, where both limbs were also measured together."""
    smallest_worthwhile: Quantity | None = None
    """As asked."""
    minimal_detectable_change: Quantity | None = None
    """Change of t between two such visits that error alone exceeds once in twenty."""
    visits_needed: Estimate | None = None
    """Further visits like this one that would decide it; left out where it is decided or they would be too many."""


class MuscleTrials(Schema):
    """The trials of one of two opposing muscle groups, and how they were measured."""

    trials: Annotated[list[TrialValue], Field(min_length=1, max_length=200)]
    """What each trial measured; leave failed trials out."""
    unit: UnitCode = "1"
    """Unit of the trials; units of one quantity are converted."""
    device: Name
    """What measured it: one device for both."""
    mode: Name
    """How it was measured, with the velocity or angle, such as `isokinetic-60`: one mode for both."""
    side: Literal["left", "right", "both"] = "both"
    """The side of the body: one side for both."""
    reps: Annotated[float, Field(ge=1, le=200), A_NUMBER] | None = None
    """Repetitions that the values belong to: the same for both."""
    trial_sd: SdOfLn | None = None
    """Known standard deviation of ln of one trial."""


class RatioQuestion(Asked):
    """Two opposing muscle groups, measured alike."""

    over: MuscleTrials
    """The muscle group above the line."""
    under: MuscleTrials
    """The muscle group below the line."""
    summary: TrialSummary = "geometric_mean_of_trials"
    """What the test takes of the trials."""
    mass: Annotated[float, Field(ge=0.5, le=0.99), A_NUMBER] = 0.8
    """Probability that the interval holds the ratio."""


class RatioOfMuscles(Schema):
    """A ratio with what is known of its error."""

    value: Annotated[float, Field(ge=0), A_NUMBER]
    """`over` divided by `under`."""
    definition: Definition
    """What stood for each."""
    ln_sd: Quantity | None = None
    """Standard error of its logarithm; left out where nothing tells it."""
    interval: Interval | None = None
    """Where it lies, with the asked probability and no prior."""
    degrees_of_freedom: Annotated[float, Field(ge=1), A_NUMBER] | None = None
    """Of the spread that gave the standard error; left out where it was given."""


class RatioAnswer(ComputedAnswer):
    """The ratio of two opposing muscle groups."""

    ratio: RatioOfMuscles
    """The ratio."""
    over: Quantity
    """What stood above the line, in `unit`."""
    under: Quantity
    """What stood below the line, in `unit`."""
    unit: UnitCode
    """Unit of both."""
    device: Name
    """The device of both."""
    mode: Name
    """The mode of both."""
    side: str
    """The side of both."""
