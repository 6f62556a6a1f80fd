"""What every computed answer is made of: values with their uncertainty, what they rest on, and how long they stand.

These are bodies of answers only. A member that has nothing to say is left out.
"""

from typing import Annotated

from pydantic import Field

from service.core.estimates import IntervalKind, Statistic
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, Instant, Name, Schema, Share
from service.web.schemas.plans import Caution, Reason, Sentence

__all__ = [
    "Answer",
    "Basis",
    "Caution",
    "Cautions",
    "Estimate",
    "Interval",
    "LoadThatCanBeMade",
    "Quantity",
    "Reason",
    "Reasons",
    "Sentence",
    "SourceKeys",
    "UnitCode",
    "WithReasons",
]

Number = Annotated[float, A_NUMBER]
Quantity = Annotated[float, Field(ge=0, le=1_000_000), A_NUMBER]
Mass = Annotated[float, Field(ge=0.5, le=0.99), A_NUMBER]
UnitCode = Annotated[str, Field(min_length=1, max_length=20)]
Reasons = Annotated[list[Reason], Field(max_length=20)]
Cautions = Annotated[list[Caution], Field(max_length=40)]
SourceKeys = Annotated[list[Name], Field(max_length=100)]


class Interval(Schema):
    """An interval that holds the value with a stated probability, with equal tails unless said otherwise where it stands."""

    lower: Number
    """Its lower end, in the unit of the value."""
    upper: Number
    """Its upper end, in the unit of the value."""
    mass: Mass
    """The probability that it holds the value."""
    kind: IntervalKind
    """`credible` for what is so, `prediction` for what the next set will show."""


class Estimate(Schema):
    """A value with its uncertainty; never a bare number."""

    value: Number
    """The best single value, in `unit`."""
    unit: UnitCode
    """`kg` or `lb`; otherwise a UCUM code: `1` is a bare number, `%` per cent, `h` hours, `{reps}`, `{sets}`, `{level}`."""
    sd: Quantity
    """Standard deviation, in `unit`."""
    interval: Interval
    """Where the value lies, with the asked probability."""
    statistic: Statistic
    """Which summary of the distribution `value` is; `criterion`: where a stated criterion is met, not its middle."""


class Basis(Schema):
    """What an answer rests on."""

    observation_count: Annotated[int, Field(ge=0), A_WHOLE_NUMBER]
    """How many of this athlete's own observations were used."""
    newest_at: Instant | None = None
    """When the newest of them was made."""
    prior_share: Share
    """Share of the answer's precision that comes from other people's data: 1 without own observations, towards 0 with many."""


class LoadThatCanBeMade(Schema):
    """A load that the implements can make, and how."""

    value: Quantity
    """The load, in `unit`; for a station's level its rank, 1 the lightest."""
    unit: UnitCode
    """`kg`, `lb`, or `{level}` for a station that has labels and no masses."""
    label: Annotated[str, Field(max_length=400)] | None = None
    """What to set where that is not the load itself: a pin or a level."""
    made_of: Annotated[list[Name], Field(max_length=60)] = []
    """The implement and what goes on it, on each sleeve and heaviest first."""


class Answer(Schema):
    """What every stored answer says of itself; each answer adds its `items`."""

    position: Annotated[str, Field(max_length=20, pattern=r"^\d+$")]
    """Position of the change feed up to which the answer has read."""
    model_version: Name
    """The model that made it; the same inputs under the same version give the same answer."""
    as_of: Instant
    """The instant up to which the log was used."""
    valid_until: Instant | None = None
    """Until when it stands if nothing more is logged; left out where `as_of` was asked for, for that does not age."""


class WithReasons(Schema):
    """Why an item is what it is, what to heed, and what it rests on."""

    basis: Basis
    """What it rests on."""
    reasons: Reasons = []
    """Why, the weightiest first."""
    cautions: Cautions = []
    """What to heed, the most urgent first."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""
