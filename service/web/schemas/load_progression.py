"""What an athlete can lift, and the next load, on the wire."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from service.catalogue.records import LoadBasis
from service.core.capability import Side
from service.usecases.answers.progression_telling import ACTIONS
from service.web.schemas.answers import (
    Answer,
    Estimate,
    LoadThatCanBeMade,
    Quantity,
    Reason,
    Sentence,
    WithReasons,
)
from service.web.schemas.base import A_WHOLE_NUMBER, Flag, Name, Schema, Share
from service.web.schemas.drops import DropsAfterSet

Repetitions = Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER]
ExerciseKey = Annotated[str, Field(max_length=64)]
POLICIES = ["add_repetitions_then_load", "two_for_two", "hold_load", "return_after_break", "reduce_load"]
DECISIONS = ["do", "enough", "stop", "swap", "leave_out", "not_here"]
ActionCode = Annotated[str, Field(max_length=64, json_schema_extra={"x-extensible-enum": list(ACTIONS)})]
Policy = Annotated[str, Field(max_length=64, json_schema_extra={"x-extensible-enum": POLICIES})]
LengthUnit = Literal["s", "m"]
Decision = Annotated[str, Field(max_length=64, json_schema_extra={"x-extensible-enum": DECISIONS})]


class LoadForRepetitions(Schema):
    """The load with which so many repetitions can be done to failure."""

    reps: Repetitions
    """Repetitions to failure."""
    load: Estimate
    """The external load, the day's ups and downs averaged out; an end below 0 lies on the other side of the body alone."""
    load_basis: LoadBasis
    """How the load is counted; a lift of the body is answered as `added` or as `assistance`."""
    extrapolated: Flag
    """Whether so many repetitions lie far from what is trained."""


class Length(Schema):
    """How long a hold or how far a carry."""

    value: Quantity
    """The length, in `unit`."""
    unit: LengthUnit
    """`s` for a hold, `m` for a carry."""


class LoadForLength(Schema):
    """The load that can be held so long, or carried so far, to failure."""

    length: Length
    """The time or the way."""
    load: Estimate
    """The external load, the day's ups and downs averaged out; an end below 0 lies on the other side of the body alone."""
    load_basis: LoadBasis
    """How the load is counted; a lift of the body is answered as `added` or as `assistance`."""
    extrapolated: Flag
    """Whether that lies far from what is trained."""


class CapabilityItem(WithReasons):
    """What can be lifted in one exercise on one side."""

    exercise_id: ExerciseKey
    """The exercise."""
    exercise_name: Name
    """What it is called."""
    side: Side
    """The side; `both` where one load is moved with both limbs."""
    loads: Annotated[list[LoadForRepetitions], Field(max_length=20)]
    """Loads, by repetitions as asked; none for a hold or a carry."""
    trained_repetitions: Quantity | None = None
    """Repetitions that are usually trained, where the answer is surest; left out for a hold or a carry."""
    loads_by_length: Annotated[list[LoadForLength], Field(max_length=20)] | None = None
    """For a hold or a carry: loads, by time or way."""
    trained_length: Length | None = None
    """For a hold or a carry: the length that is usually trained, where the answer is surest."""
    repetitions_without_load: Estimate | None = None
    """For a lift of the body: repetitions to failure with the body alone."""
    length_without_load: Estimate | None = None
    """For a hold or a carry of the body: how long or how far with the body alone, to failure. `s` or `m`"""


class Capability(Answer):
    """What an athlete can lift, by exercise and side."""

    items: Annotated[list[CapabilityItem], Field(max_length=1000)]
    """One for each exercise and side of which something is known."""


class Action(Schema):
    """The one thing to do."""

    code: ActionCode
    """What changes against the last time; the list may grow."""
    text: Sentence
    """A plain sentence, in the language of Content-Language."""


class RampSet(Schema):
    """One warm-up set on the way to the load."""

    load: LoadThatCanBeMade
    """The load."""
    reps: Repetitions
    """Repetitions."""


class LoadAlternative(Schema):
    """A neighbouring load, with the repetitions that suit it best."""

    load: LoadThatCanBeMade
    """The load."""
    reps: Repetitions
    """Repetitions."""
    expected_reserve: Quantity
    """Repetitions likely left undone (median)."""
    p_wanted: Share
    """Probability that the set ends with the wanted reserve."""
    p_too_hard: Share
    """Probability that none is left, or that the repetitions are missed."""


class NextLoad(WithReasons):
    """The next load and repetitions in one exercise on one side, or why none is given."""

    action: Action
    """The one thing to do: a code that says how it differs from the last time, and a plain sentence."""
    exercise_id: ExerciseKey
    """The exercise."""
    exercise_name: Name
    """What it is called."""
    side: Side
    """The side; of two, the one that goes first comes first."""
    decision: Decision
    """`do` comes with a load; every other one says why there is none."""
    load_basis: LoadBasis
    """How the load is counted."""
    load: LoadThatCanBeMade | None = None
    """A load that the site can make, and how."""
    sets: Repetitions | None = None
    """Working sets."""
    reps: Repetitions | None = None
    """Repetitions of the next set."""
    hold_s: Quantity | None = None
    """For a hold: how long the next one is. [s]"""
    distance_m: Quantity | None = None
    """For a carry: how far the next one goes. [m]"""
    reps_low: Repetitions | None = None
    """Where the range begins that the coming sessions work in at this load."""
    reps_high: Repetitions | None = None
    """Where it ends."""
    reserve_low: Quantity | None = None
    """The fewest repetitions to leave undone."""
    reserve_high: Quantity | None = None
    """The most; left out where more is no fault, as after a break or the first time."""
    expected_reserve: Quantity | None = None
    """Repetitions likely left undone after `reps` (median)."""
    p_wanted: Share | None = None
    """Probability that the set ends with the wanted reserve; of a hold or a carry, that its length is reached with it."""
    p_too_hard: Share | None = None
    """Probability that none is left, or that the repetitions or the length are missed."""
    expected_reps: Estimate | None = None
    """Repetitions to failure at this load."""
    expected_length: Estimate | None = None
    """For a hold or a carry: how long or how far to failure with this load. `s` or `m`"""
    fitting_load: Estimate | None = None
    """The load that fits `reps` and the wanted reserve, whether or not it can be made; counted as `load_basis` says, and
    negative on the other side of the body alone."""
    policy: Policy | None = None
    """The rule by which the load was chosen."""
    warm_up: Annotated[list[RampSet], Field(max_length=5)] = []
    """Warm-up sets on the way to the load, none heavier than common practice has it."""
    alternatives: Annotated[list[LoadAlternative], Field(max_length=3)] = []
    """Neighbouring loads."""


class LoadProgression(Answer):
    """The next load and repetitions, by exercise and side."""

    items: Annotated[list[NextLoad], Field(max_length=1000)]
    """One for each exercise and side of which something is known; of two sides the lagging one first."""
    ask: Reason | None = None
    """The one question whose answer would help most."""
    site_id: UUID
    """The site whose loads these are."""
    inventory_etag: Annotated[str, Field(max_length=40)] | None = None
    """The version of the site's list of implements; left out where it has none."""


class NextSet(NextLoad):
    """What comes next of one lift on one side in a session that is on; `sets` are those left, this one among them."""

    sets_done: Repetitions
    """Working sets of it that are done in this session."""
    drop_set: DropsAfterSet | None = None
    """With `drops`: how to end the lift with a drop set, or why not."""


class LiftInstead(Schema):
    """A lift of the athlete's own that can be done now."""

    exercise_id: ExerciseKey
    """The exercise."""
    exercise_name: Name
    """What it is called."""
    involvement_overlap: Share
    """The share of what the asked lift trains that this one trains too."""


class NextSetAnswer(Answer):
    """The next set of one lift, by side."""

    items: Annotated[list[NextSet], Field(max_length=2)]
    """One for each side; the one whose turn it is comes first."""
    instead: Annotated[list[LiftInstead], Field(max_length=5)] | None = None
    """Where what is `unavailable` leaves no load: other lifts that get one now, the likest first; may be empty."""
    ask: Reason | None = None
    """The one question whose answer would help most."""
    session_id: UUID | None = None
    """The session; left out where none is on."""
    site_id: UUID
    """The site whose loads these are."""
