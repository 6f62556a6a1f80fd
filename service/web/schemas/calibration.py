"""An athlete's own predictions against what happened, on the wire."""

from typing import Annotated

from pydantic import Field

from service.usecases.answers.calibration import ACTIONS
from service.web.schemas.answers import Answer, Estimate, Interval, Quantity, Reasons, Sentence
from service.web.schemas.base import A_WHOLE_NUMBER, Name, Schema, Share

GROUPS = ["all", "effort", "exercise", "repetitions"]
TOLD = ["to_failure", "reported_reserve"]
Count = Annotated[int, Field(ge=0), A_WHOLE_NUMBER]
Repetitions = Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER]


def _code(values: list[str]) -> object:
    return Field(max_length=64, json_schema_extra={"x-extensible-enum": list(values)})


class CalibrationAction(Schema):
    """What to do with the intervals."""

    code: Annotated[str, _code(list(ACTIONS))]
    """A stable code; the list may grow."""
    text: Sentence
    """A plain sentence, in the language of Content-Language."""


class ShareHeld(Schema):
    """How often an interval held."""

    value: Share
    """The share of sets that fell inside."""
    interval: Interval
    """Where that share lies, seeing how few or many sets there are."""


class CalibrationItem(Schema):
    """How well a group of sets was foretold, each from what came before it."""

    by: Annotated[str, _code(GROUPS)]
    """What the group is by: all sets, what they told, the exercise, or the repetitions that were foretold."""
    told: Annotated[str, _code(TOLD)] | None = None
    """For a group by effort: sets to failure, or with a reported reserve of at most 4, which is itself a guess."""
    exercise_id: Annotated[str, Field(max_length=64)] | None = None
    """For a group by exercise: which."""
    exercise_name: Name | None = None
    """What it is called."""
    reps_from: Repetitions | None = None
    """For a group by repetitions: where the foretold number begins."""
    reps_below: Repetitions | None = None
    """And below what it stays; left out where it is open."""
    count: Count
    """Sets in it that told their effort."""
    held_80: ShareHeld | None = None
    """The share of sets inside their 80 % prediction interval: 0.8 where the intervals are right."""
    bias: Estimate | None = None
    """Mean of expected less seen repetitions: above 0 where too much is expected."""
    mean_error: Quantity | None = None
    """Mean distance of the median from what was seen. [repetitions]"""
    mean_width_80: Quantity | None = None
    """Mean width of the 80 % intervals. [repetitions]"""
    reasons: Reasons
    """What that says."""


class StatedAndSeen(Schema):
    """A probability that plans stated, and how often it came true."""

    stated: Share
    """The mean of what was stated."""
    seen: ShareHeld
    """How often it was so."""
    count: Count
    """Sets that tell it."""


class PlansJudged(Schema):
    """Issued plans against the sets that name them: the first working set of each exercise and side."""

    planned: Count
    """Such sets of which a plan foretold something."""
    changed: Count
    """Those done with another load than planned; they are not judged."""
    effort_untold: Count
    """Those done as planned that told no effort."""
    intervals: StatedAndSeen | None = None
    """How often the repetitions to failure lay inside the plan's interval."""
    too_hard: StatedAndSeen | None = None
    """How often a set that told its effort ended in failure, with nothing in reserve, or short of the repetitions."""
    reasons: Reasons
    """What that says."""


class Calibration(Answer):
    """This athlete's own predictions against what happened."""

    action: CalibrationAction
    """The one thing to do with the intervals."""
    items: Annotated[list[CalibrationItem], Field(max_length=1000)]
    """All sets first, then by effort, exercise, and repetitions; empty where none told its effort."""
    plans: PlansJudged
    """Issued plans against what was done of them."""
    weeks: Annotated[int, Field(ge=1, le=104), A_WHOLE_NUMBER]
    """How many weeks were looked back on."""
