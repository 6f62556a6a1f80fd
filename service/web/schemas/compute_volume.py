"""Counting sets from a body alone, on the wire."""

from typing import Annotated, Literal

from pydantic import Field

from service.usecases.records.base import Side
from service.web.schemas.answers import Basis, Estimate, Quantity, Reason, SourceKeys
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, Flag, Name, Reserve, Schema, Share, Slug
from service.web.schemas.compute import Asked, ComputedAnswer, LiftedMass
from service.web.schemas.quantities import Mass
from service.web.schemas.volume import Count


class InvolvementSaid(Schema):
    """The share of a lift's hard set that a muscle receives."""

    muscle_id: Slug
    """The muscle; see `GET /v1/muscles`."""
    share: Annotated[float, Field(gt=0, le=1), A_NUMBER]
    """1 where the lift trains it directly, about 0.5 where it only helps."""


class CountedSetSaid(Schema):
    """A set, with the drops that followed it; by repetitions, seconds held or metres carried."""

    exercise_id: Slug
    """The lift, from the reference list; any name of your own where `involvement` is given."""
    involvement: Annotated[list[InvolvementSaid], Field(max_length=30)] = []
    """What the lift trains, each muscle once, where the reference list does not know it or is to be overruled."""
    one_sided: Flag = False
    """Whether a lift of your own loads one limb at a time."""
    load: Mass | None = None
    """The load. Very light ones fade, and light early sets of a lift in one session are taken for warm-ups, as in a log.
    A belt or an assistance says that only beside `body_mass`."""
    reps: Annotated[int, Field(ge=0, le=500), A_WHOLE_NUMBER] | None = None
    """Repetitions done; a lift of the reference list that is repeated needs them. Beside what was held or carried of such a lift
    they count nothing."""
    hold_s: Annotated[float, Field(gt=0, le=3600), A_NUMBER] | None = None
    """Seconds held, where nothing was repeated; a hold of the reference list needs them."""
    distance_m: Annotated[float, Field(gt=0, le=10000), A_NUMBER] | None = None
    """Metres carried; a carry of the reference list needs them or seconds, and goes by the metres where both are told, all
    else by the seconds."""
    reps_in_reserve: Reserve | None = None
    """Repetitions that were left undone; without it the effort is assumed, and the answer says so."""
    to_failure: Flag | None = None
    """Whether no further repetition was possible."""
    share_of_one_rep_max: Annotated[float, Field(gt=0, le=1.2), A_NUMBER] | None = None
    """The load as a share of the one-repetition maximum; very light loads fade."""
    side: Side = "unspecified"
    """The side, for a lift that loads one limb; without it a set is halved between them."""
    drops: Annotated[int, Field(ge=0, le=10), A_WHOLE_NUMBER] = 0
    """Drops that followed it at once: half a set each, the cluster 2.5 at most, times what the set counts."""
    purpose: Literal["warm_up", "work", "reduced", "test", "technique", "rehab", "unknown"] = "unknown"
    """What it was for."""
    session: Annotated[str, Field(min_length=1, max_length=64)] | None = None
    """Any name that the sets of one session share; without it no set is taken for another's warm-up."""


class VolumeQuestion(Asked):
    """One week's sets."""

    sets: Annotated[list[CountedSetSaid], Field(min_length=1, max_length=500)]
    """The sets; those of one lift and session in the order done, by which light early ones are known for warm-ups."""
    training: Literal["novice", "trained", "unknown"] = "unknown"
    """Training age: it tells the reserve that is usual where none was told."""
    body_mass: LiftedMass | None = None
    """Body mass, where the body is part of the load."""
    mass: Annotated[float, Field(ge=0.5, le=0.99), A_NUMBER] = 0.8
    """Mass of the intervals."""


class StageThatCounted(Schema):
    """What the first load or one drop of a set gave."""

    stage: Count
    """0 for the first load, 1 for the first drop."""
    dose: Quantity
    """Hard sets that it adds here."""
    reason: Reason
    """Why it adds that much."""


class SetThatCounted(Schema):
    """What one set gave to this muscle and side."""

    index: Count
    """The place of the set in the body, counted from 0."""
    dose: Quantity
    """Hard sets that it counts for here."""
    reason: Reason
    """Why it counts for that much."""
    stages: Annotated[list[StageThatCounted], Field(max_length=11)] | None = None
    """Of a set with drops its first load and each drop, which together come to `dose`; absent where there was none."""


class SetLeftOut(Schema):
    """A set that counts nothing."""

    index: Count
    """The place of the set in the body, counted from 0."""
    reason: Reason
    """Why it does not count."""


class SessionCounted(Schema):
    """What one session gave."""

    session: Name
    """The name that its sets share; `one` where none was given."""
    dose: Quantity
    """Hard sets."""


class MuscleCounted(Schema):
    """What the sets come to for one muscle on one side."""

    muscle_id: Slug
    """The muscle."""
    side: Literal["left", "right", "both"]
    """The side; `both` is the mean of the two."""
    hard_sets: Estimate
    """Hard sets: each counts from 0 to 1 by how near it came to failure, times the muscle's involvement."""
    direct: Quantity
    """The part from lifts that train the muscle directly."""
    indirect: Quantity
    """The part from lifts in which it only helps."""
    session_count: Count
    """Sessions that trained it."""
    for_strength: Quantity
    """The same count where drops add nothing: for strength a drop set is one set."""
    per_session_max: Quantity
    """The most hard sets in one session."""
    sessions: Annotated[list[SessionCounted], Field(max_length=500)]
    """What each session gave."""
    assumed_effort_share: Share
    """Share of `hard_sets` whose effort had to be assumed."""
    unspecified_side_share: Share
    """Share of `hard_sets` from one-sided lifts without a side."""
    basis: Basis
    """What it rests on; `prior_share` is the share whose effort had to be assumed."""
    sets: Annotated[list[SetThatCounted], Field(max_length=500)]
    """Every set that counted here."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class VolumeComputed(ComputedAnswer):
    """What the sets come to, by muscle and side."""

    items: Annotated[list[MuscleCounted], Field(max_length=300)]
    """By muscle, then side: both, left, right."""
    not_counted: Annotated[list[SetLeftOut], Field(max_length=500)] = []
    """Sets that count nothing, with why."""
