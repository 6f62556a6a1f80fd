"""Drop sets on the wire."""

from typing import Annotated, Literal

from pydantic import Field

from service.web.schemas.answers import Cautions, Estimate, LoadThatCanBeMade, Quantity, Reasons, Sentence
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, Schema, Share


class PlannedDrop(Schema):
    """One stage after the opening set."""

    load: LoadThatCanBeMade
    """A load that can be made: the heaviest that is likely enough to reach the wanted repetitions."""
    drop_percent: Annotated[float, Field(ge=0, le=100), A_NUMBER]
    """How much lighter than the stage before."""
    expected_reps: Estimate
    """Repetitions until no further one would go."""
    p_reached: Share
    """Probability of reaching the wanted repetitions."""
    curve_alone_reps: Quantity
    """What the load-repetition curve alone would say: a bound that is seldom reached."""


class DropCredit(Schema):
    """What the whole cluster counts."""

    value: Quantity
    """Hard sets for size: 1 and half a set a drop, at most 2.5; for strength it is one set."""
    sd: Quantity
    """Its standard deviation."""


class OwnDropFactor(Schema):
    """How much of what is usual this athlete's drops give."""

    value: Quantity
    """The median: 1 is what is usual."""
    ln_sd: Quantity
    """Standard deviation of its logarithm."""
    prior_share: Share
    """Share that is owed to other people's drops; 1 where none of this athlete's are in the log."""


class DropsAfterSet(Schema):
    """Drops to end a lift with, or why there are none."""

    decision: Literal["do", "leave_out"]
    """`leave_out`: there are no drops, and the reasons say why."""
    text: Sentence
    """The one thing to do, in words."""
    opening_reps: Annotated[int, Field(ge=1, le=40), A_WHOLE_NUMBER] | None = None
    """Repetitions of the opening set, which is this one taken to failure: the median, rounded down."""
    drops: Annotated[list[PlannedDrop], Field(max_length=4)] = []
    """The stages after it, in order."""
    total_reps: Estimate | None = None
    """Repetitions of all stages, the opening set among them."""
    minutes: Quantity | None = None
    """How long it takes, at a quicker tempo in the drops (common practice, without a source)."""
    hard_sets: DropCredit | None = None
    """What it counts towards the week."""
    own_factor: OwnDropFactor | None = None
    """What the log's drops have told."""
    reasons: Reasons
    """Why."""
    cautions: Cautions
    """What to heed."""
