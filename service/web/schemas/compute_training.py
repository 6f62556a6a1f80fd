"""Computing what to lift next, and a drop set, from a body alone: nothing is stored."""

from typing import Annotated, Literal

from pydantic import Field

from service.usecases.records.base import MassUnit, Side
from service.usecases.records.log import LoadBasis, Purpose
from service.web.schemas.answers import Estimate, Mass, Quantity, Reason
from service.web.schemas.base import (
    A_NUMBER,
    A_WHOLE_NUMBER,
    Flag,
    Label,
    Reserve,
    Schema,
    Score,
    Slug,
)
from service.web.schemas.compute import Asked, ComputedAnswer, LiftedMass
from service.web.schemas.drops import DropCredit, PlannedDrop
from service.web.schemas.load_progression import Action, Decision, ExerciseKey, NextLoad
from service.web.schemas.places import Implement

TrainingSaid = Literal["novice", "trained", "unknown"]
Implements = Annotated[list[Implement], Field(min_length=1, max_length=200)]
DoneRepetitions = Annotated[int, Field(ge=1, le=500), A_WHOLE_NUMBER]
WantedRepetitions = Annotated[int, Field(ge=1, le=100), A_WHOLE_NUMBER]
WantedReserve = Annotated[float, Field(ge=0, le=10), A_NUMBER]
PauseSeconds = Annotated[float, Field(ge=0, le=120), A_NUMBER]


class SetSaid(Schema):
    """A set of the lift that was done."""

    days_ago: Annotated[float, Field(ge=0, le=180), A_NUMBER]
    """How many days ago; sets of one day are one session, in the order sent."""
    reps: Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER]
    """Repetitions done; 0 with `to_failure` where the load did not go up once."""
    load: LiftedMass | None = None
    """The external load; left out for a level, or where the body alone is the load."""
    level: Label | None = None
    """The level, where the station has labels and no masses."""
    side: Side = "unspecified"
    """The side, for a lift that loads one limb."""
    reps_in_reserve: Reserve | None = None
    """Repetitions that were left undone."""
    to_failure: Flag | None = None
    """Whether no further repetition was possible."""
    purpose: Purpose = "unknown"
    """What it was for; warm-ups are inferred where it is not told."""
    pain: Score | None = None
    """The worst pain during it, 0 to 10."""


class LoadProgressionQuestion(Asked):
    """The last sets of a lift, what is there to load it with, and what is wanted."""

    exercise_id: Slug
    """The lift, from the reference list."""
    sets: Annotated[list[SetSaid], Field(min_length=1, max_length=500)]
    """What was done, in the order done within a day."""
    items: Implements
    """What is there to load it with; benches and racks need not be named."""
    training: TrainingSaid = "unknown"
    """`novice` in the first half year of regular training."""
    reps_low: WantedRepetitions | None = None
    """The fewest repetitions wanted."""
    reps_high: WantedRepetitions | None = None
    """The most wanted; as trained unless given."""
    reserve_low: WantedReserve | None = None
    """The fewest repetitions to leave undone; 1 unless given, and more where nobody was screened."""
    reserve_high: WantedReserve | None = None
    """The most to leave undone; 3 unless given."""
    body_mass: LiftedMass | None = None
    """Body mass, where the body is part of the load."""
    safety_bars: Flag | None = None
    """Whether something catches the load."""
    supervised: Flag | None = None
    """Whether somebody is there; `false` keeps more in reserve."""
    mass: Mass = 0.8
    """Probability that each interval holds its value."""
    unit: MassUnit | None = None
    """Unit of the answer; that of the first set unless given."""


class LoadProgressionComputed(ComputedAnswer):
    """The next load and repetitions of one lift, by side."""

    items: Annotated[list[NextLoad], Field(max_length=2)]
    """One for each side; of two the lagging one comes first and sets the load."""
    ask: Reason | None = None
    """The one question whose answer would help most."""


class DropSaid(Schema):
    """A drop that was done."""

    load: LiftedMass
    """Its load."""
    reps: DoneRepetitions
    """Its repetitions, to failure."""


class DropSetSaid(Schema):
    """A drop set that was done before."""

    load: LiftedMass
    """The load of the opening set."""
    reps: DoneRepetitions
    """Its repetitions, to failure."""
    drops: Annotated[list[DropSaid], Field(min_length=1, max_length=6)]
    """The drops, in order."""
    pause_s: PauseSeconds = 5
    """Seconds before each."""


class DropSetQuestion(Asked):
    """The opening set to failure, what is there to drop to, and what is wanted of each drop."""

    exercise_id: Slug
    """The lift, from the reference list."""
    load: LiftedMass
    """The load of the opening set."""
    reps: WantedRepetitions
    """Its repetitions to failure, done or planned; at most 40 tell enough."""
    items: Implements
    """What is there to load it with; benches and racks need not be named."""
    drops: Annotated[int, Field(ge=1, le=4), A_WHOLE_NUMBER] = 2
    """How many drops."""
    reps_wanted: WantedRepetitions = 10
    """Repetitions wanted in each; 10 or more is common practice, without a source."""
    chance: Annotated[float, Field(ge=0.05, le=0.99), A_NUMBER] = 0.6
    """How surely each drop should reach them."""
    pause_s: PauseSeconds = 5
    """Seconds before each drop."""
    training: TrainingSaid = "unknown"
    """`novice` in the first half year of regular training: then there are no drops."""
    days_since_last: Annotated[float, Field(ge=0, le=20000), A_NUMBER] | None = None
    """Days since the lift was last trained; from 10 on there are no drops in the first session."""
    body_mass: LiftedMass | None = None
    """Body mass, where the body is part of the load."""
    done_before: Annotated[list[DropSetSaid], Field(max_length=100)] = []
    """Drop sets of this lift that were done before: they teach how far this person gets."""
    unit: MassUnit | None = None
    """Unit of the answer; that of the load unless given."""


class DropSetAnswer(ComputedAnswer):
    """A drop set on loads that exist, or why there is none."""

    action: Action
    """The one thing to do."""
    decision: Decision
    """`do`, or `leave_out`: then there are no drops, and the reasons say why."""
    exercise_id: ExerciseKey
    """The lift."""
    load_basis: LoadBasis | None = None
    """How the loads are counted."""
    drops: Annotated[list[PlannedDrop], Field(max_length=4)] = []
    """The stages after the opening set, in order."""
    total_reps: Estimate | None = None
    """Repetitions of all stages, the opening set among them."""
    minutes: Quantity | None = None
    """How long it takes, at a quicker tempo in the drops (common practice, without a source)."""
    hard_sets: DropCredit | None = None
    """What it counts towards the week."""
