"""Limits, aims and the frame of a week, on the wire."""

from typing import Annotated
from uuid import UUID

from pydantic import Field

from service.usecases.records.base import BodySide, Side
from service.usecases.records.people import Weekday
from service.usecases.records.wants import AimKind, LimitKind, LimitMode
from service.web.schemas.base import A_WHOLE_NUMBER, Day, Label, Note, Reserve, Score, Slug
from service.web.schemas.people import JointLimit
from service.web.schemas.quantities import Mass
from service.web.schemas.resources import AthleteResource


class Limit(AthleteResource):
    """A present constraint: pain, range of motion, technique, a clinician's word, or a preference."""

    kind: LimitKind
    """What it is; a clinician's word, pain above 5 and joint ranges beside any kind are vetoes. A preference or lesser pain to
    `improve` that names exercises, and neither a reserve, a load nor a range for them, is a penalty: a plan takes others, on
    its side, where they serve about as well."""
    mode: LimitMode
    """`improve`: work on it; `replace`: plan around it, which leaves out the exercises it names whatever its kind, and a
    region that a clinician names, whatever reserve or load is allowed."""
    region: Label | None = None
    """Where. The reserve and the load that it allows bind the lifts that load a joint of this region (that stress it,
    move it, or hold or carry through it) and those that nobody rated; all lifts where it is absent, or a region that is not
    known. Where `exercise_ids` are named they bind those alone."""
    side: BodySide | None = None
    """Which side; absent is both. It binds that side's sets and those of both limbs at once; the other side alone is free,
    and does not copy the bound one."""
    score: Score | None = None
    """How much it hurts, 0 to 10."""
    joint_limit: JointLimit | None = None
    """The joint range that is possible or allowed; lifts that may leave it are left out of plans and loads, whatever the
    kind and mode."""
    exercise_ids: Annotated[list[Slug], Field(max_length=100)] = []
    """Exercises that it rules out or is about."""
    min_reps_in_reserve: Reserve | None = None
    """The least repetitions in reserve that it allows."""
    load_cap: Mass | None = None
    """The greatest load that it allows: external, both hands together; assistance is none, and under a cap no level is named,
    for what it weighs is not known."""
    starts_on: Day | None = None
    """The first day it holds; absent means it holds already."""
    ends_on: Day | None = None
    """The last day it holds; absent means until it is deleted."""
    reviewed_on: Day | None = None
    """The day on which it was last looked at again. A limit to `improve` is due to be tested again (`due_checks`) four weeks
    after that or after its newest test: a technique, which nothing in the log tells of, is answered by this day alone."""
    note: Note | None = None
    """Free text; never read by a rule."""


class Aim(AthleteResource):
    """What the athlete wants: grow a muscle or one side of it, raise a lift, close a gap, or hold."""

    kind: AimKind
    """What is wanted."""
    muscle_id: Slug | None = None
    """The muscle, for `grow_muscle` and `close_gap`."""
    exercise_id: Slug | None = None
    """The lift, for `raise_lift` and `close_gap`."""
    side: Side | None = None
    """Which side, where only one is meant."""
    target: Mass | None = None
    """The load to reach."""
    priority: Annotated[int, Field(ge=1, le=3), A_WHOLE_NUMBER] = 2
    """1 comes first."""
    by: Day | None = None
    """By when."""


class Frame(AthleteResource):
    """The week that life allows."""

    days: Annotated[list[Weekday], Field(min_length=1, max_length=7)]
    """The days on which a session fits."""
    minutes: Annotated[int, Field(ge=10, le=240), A_WHOLE_NUMBER]
    """How long a session may be. [min]"""
    site_id: UUID | None = None
    """Where, if other than the athlete's home site."""
