"""Ratios of opposing muscles on the wire."""

from typing import Annotated
from uuid import UUID

from pydantic import Field

from service.core.symmetry.ratios import OPPOSING
from service.web.schemas.answers import (
    Answer,
    Basis,
    Cautions,
    Estimate,
    Number,
    Reason,
    Reasons,
    SourceKeys,
)
from service.web.schemas.base import A_WHOLE_NUMBER, Name, Schema, Slug

PairCode = Annotated[
    str, Field(max_length=64, json_schema_extra={"x-extensible-enum": [pair.id for pair in OPPOSING]})
]


class OpposingLift(Schema):
    """One of the two lifts of a ratio."""

    action: Name
    """The action of the joint that it trains."""
    exercise_id: Name
    """The lift."""
    exercise_name: Name
    """What it is called."""
    load: Estimate
    """The load that the repetitions are possible with."""
    trained_repetitions: Number
    """Repetitions that it is trained at, where it is known best."""
    basis: Basis
    """What it rests on."""


class Device(Schema):
    """What both lifts were loaded with."""

    name: Name
    """The station, or the implement where that is the same everywhere."""
    site_id: UUID | None = None
    """Where the station stands."""


class MuscleRatio(Schema):
    """What one muscle group can do over what the opposing one can."""

    pair: PairCode
    """The two actions, the one above the line first."""
    joint: Slug
    """The joint."""
    side: str = Field(json_schema_extra={"x-extensible-enum": ["left", "right", "both"]})
    """The side of both lifts."""
    reps: Annotated[int, Field(ge=1, le=100), A_WHOLE_NUMBER]
    """Repetitions at which the loads are compared."""
    device: Device
    """The device of both lifts: others are refused."""
    mode: Name
    """How both are loaded: the kind of work, one limb or both, how the load is counted."""
    ratio: Estimate
    """The load of `over` divided by that of `under`."""
    over: OpposingLift
    """The lift above the line."""
    under: OpposingLift
    """The lift below the line."""
    reasons: Reasons = []
    """What it rests on and what limits it."""
    cautions: Cautions = []
    """What to heed."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class RatioRefused(Schema):
    """Two lifts, or a pair of actions, without a ratio."""

    pair: PairCode
    """The two actions."""
    over_exercise_id: Name | None = None
    """The lift above the line, where there is one."""
    under_exercise_id: Name | None = None
    """The lift below the line, where there is one."""
    reason: Reason
    """Why not: `ratios_mixed_devices`, `ratios_mixed_modes`, `ratios_no_masses`, `ratios_opposite_missing` and others."""


class RatiosAnswer(Answer):
    """The ratios of opposing muscles."""

    items: Annotated[list[MuscleRatio], Field(max_length=1000)]
    """Every ratio, by pair, side by side."""
    not_computed: Annotated[list[RatioRefused], Field(max_length=1000)] = []
    """What was refused, and why."""
    cautions: Cautions = []
    """What to heed."""
