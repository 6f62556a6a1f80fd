"""Recovery on the wire: which muscles are ready, and when the rest will be."""

from typing import Annotated, Literal

from pydantic import Field

from service.web.schemas.answers import (
    Answer,
    Basis,
    Cautions,
    Estimate,
    Interval,
    Quantity,
    Reason,
    Reasons,
    SourceKeys,
)
from service.web.schemas.base import Instant, Schema, Share, Slug


class SetsReady(Schema):
    """The largest dose after which the muscle is back by its next session."""

    hard_sets: Quantity
    """Hard sets in one session, as this muscle is usually trained."""
    interval: Interval | None = None
    """Where that dose lies, seeing what is known of how this athlete recovers; left out where that is all beyond what was
    logged, of which nothing is claimed."""
    p_ready: Share
    """The chance of being ready that it is reckoned with."""
    hours_to_next: Quantity
    """The usual time to this muscle's next session. [h]"""
    reason: Reason
    """What it means; it never claims more than a quarter beyond the largest logged dose."""


class ReadyAhead(Schema):
    """The chance of being ready some hours from now, if nothing more is trained until then."""

    hours: Quantity
    """Hours after `at`. [h]"""
    p_ready: Share
    """Probability of being within one repetition of the usual then."""


class ChannelRecovery(Schema):
    """How far one muscle on one side, the trunk, or the whole body has recovered."""

    kind: str = Field(json_schema_extra={"x-extensible-enum": ["muscle", "trunk", "systemic"]})
    """A muscle; the trunk under axial load and bending moment, which may end a set first; the whole body."""
    muscle_id: Slug | None = None
    """The muscle."""
    side: Literal["left", "right", "both"]
    """The side; `both` for the trunk and the whole body."""
    p_ready: Share
    """Probability of being within one repetition of the usual at `at`."""
    ready_ahead: Annotated[list[ReadyAhead], Field(max_length=20)]
    """The same at some hours after `at`, soonest first."""
    hours_until_ready: Estimate
    """Hours from `at` until that is so, 0 where it is; 336 is the most that is followed."""
    residual_fatigue: Estimate
    """Repetitions that are still lost at `at`, as a log-normal loss decaying exponentially."""
    decay_time: Estimate
    """Time in which what is lost falls to a third (1/e), after a middling session of multi-joint lifts."""
    sets_ready_by_next: SetsReady | None = None
    """How many sets it is ready after by its next session; left out until this athlete's next sessions have taught it."""
    sets_not_known: Reason | None = None
    """Why that is left out."""
    basis: Basis
    """Sessions that weigh on it and next sessions it was learned from; `prior_share` is what people in general tell."""
    reasons: Reasons = []
    """Why, the weightiest first."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class RecoveryAnswer(Answer):
    """What is ready at an instant, and when the rest will be."""

    at: Instant
    """The instant that is answered for."""
    items: Annotated[list[ChannelRecovery], Field(max_length=400)]
    """The least ready first."""
    reasons: Reasons = []
    """Why there is no item, where there is none."""
    cautions: Cautions = []
    """What to heed."""
