"""Trends on the wire."""

from typing import Annotated

from pydantic import Field

from service.web.schemas.answers import (
    Answer,
    Cautions,
    Estimate,
    Quantity,
    Reasons,
    SourceKeys,
    WithReasons,
)
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, Instant, Name, Schema, Share, Slug
from service.web.schemas.plans import DueCheck


class TrendPoint(Schema):
    """Strength on one session, looked back on from the end."""

    at: Instant
    """When the session began."""
    change: Estimate
    """Change of the load since the first comparable session, in per cent; its interval is that of the difference."""


class TrendItem(WithReasons):
    """How strength changed in one lift and side, or in the lifts that train one muscle directly."""

    scope: str = Field(json_schema_extra={"x-extensible-enum": ["exercise", "muscle"]})
    """What it speaks of."""
    exercise_id: Name | None = None
    """The lift."""
    exercise_name: Name | None = None
    """What it is called."""
    muscle_id: Slug | None = None
    """The muscle whose lifts are pooled."""
    exercise_ids: Annotated[list[Name], Field(max_length=200)] | None = None
    """The lifts that are pooled, over the same days: those from `from` to `to`."""
    side: str = Field(json_schema_extra={"x-extensible-enum": ["left", "right", "both"]})
    """The side; `both` is the mean of the limbs, or a lift that moves one load with both."""
    state: str = Field(
        json_schema_extra={"x-extensible-enum": ["progress", "stall", "regression", "not_decided"]}
    )
    """What the log shows. A stall has to be shown like the others: the absence of a record is `not_decided`."""
    change: Estimate | None = None
    """Change of the load for the repetitions trained, between `from` and `to`, the first and last comparable session, in per
    cent; of a muscle, over days on which all its lifts were followed; where the body is the load, its share included. Absent
    where too few sessions can be compared, and on levels, whose numbers are no masses: there the state and its chances tell
    the direction. The reasons say which."""
    weekly_change: Estimate | None = None
    """The same for a week, compounded, in per cent; absent over less than a week."""
    p_progress: Share | None = None
    """Probability that it rose by more than `smallest_worthwhile`; on levels their numbers stand in, with much doubt added."""
    p_regression: Share | None = None
    """Probability that it fell by more than `smallest_worthwhile`: beyond noise."""
    p_stall: Share | None = None
    """Probability that it changed by less; the three add up to 1."""
    smallest_worthwhile: Quantity
    """Change over the whole time below which nothing need follow from it, in per cent."""
    repetitions: Annotated[float, Field(ge=0, le=100), A_NUMBER] | None = None
    """The repetitions whose load is followed: those trained of late; absent for holds and carries."""
    sessions: Annotated[int, Field(ge=0), A_WHOLE_NUMBER]
    """Sessions that are compared."""
    from_: Instant | None = Field(None, alias="from")
    """When the first of them began, by its first set where no session says so."""
    to: Instant | None = None
    """When the last of them began."""
    points: Annotated[list[TrendPoint], Field(max_length=200)] | None = None
    """The line, session by session, where one lift is asked for whose loads have a mass."""


class EasierWeek(Schema):
    """Whether a week of fewer sets may pay, and how it is taken: a suggestion, never a command and no measure of risk."""

    suggestion: str = Field(
        json_schema_extra={"x-extensible-enum": ["consider_now", "watch", "no_need", "not_decided"]}
    )
    """What the log suggests."""
    p_tired: Share | None = None
    """Probability that strength falls beyond noise or that sets end short too often; absent where neither is known."""
    in_weeks: Estimate | None = None
    """In how many weeks one may come, by what coaches do and how long the last one is past."""
    lasts: Estimate
    """How long coaches take it, in days."""
    sets_share: Estimate
    """Share of the usual sets to keep, at the usual loads."""
    least_reserve: Annotated[float, Field(ge=0, le=20), A_NUMBER]
    """Repetitions to keep in reserve in such a week."""
    weeks_in_a_row: Annotated[int, Field(ge=0), A_WHOLE_NUMBER]
    """Whole weeks since the last easier one; sixteen stands for more where the reasons say so."""
    reasons: Reasons = []
    """Why, the suggestion first."""
    sources: SourceKeys = []
    """Keys of the works it rests on."""


class TrendAnswer(Answer):
    """Whether an athlete's strength rises, stands or falls."""

    weeks: Annotated[int, Field(ge=1), A_WHOLE_NUMBER]
    """How many weeks were looked back over."""
    items: Annotated[list[TrendItem], Field(max_length=2000)]
    """Lifts in the order of the log with their sides, then muscles by id."""
    reasons: Reasons = []
    """Why there is no item, where there is none."""
    easier_week: EasierWeek
    """Whether fewer sets for a week may pay."""
    due_checks: Annotated[list[DueCheck], Field(max_length=200)] = []
    """What is due by a week from now, the earliest first."""
    cautions: Cautions = []
    """What to heed."""
