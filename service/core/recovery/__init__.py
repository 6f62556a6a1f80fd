"""What a body has not yet recovered from: muscle by muscle, in the trunk, and as a whole; learned from next sessions."""

from typing import Final

from service.core.recovery.fatigue import (
    PRIOR_BELIEF,
    FatigueBelief,
    MuscleSession,
    decay_factor,
    expected_loss,
    mean_loss,
)
from service.core.recovery.gaps import gap_of, next_sessions
from service.core.recovery.learning import (
    SYSTEMIC,
    TRUNK,
    WHOLE,
    Asked,
    ChannelSide,
    NextSeen,
    alike,
    learn,
)
from service.core.recovery.readiness import (
    READY_CHANCE,
    Readiness,
    SetsReady,
    chances_ahead,
    decay_time,
    is_learned,
    p_ready_in,
    readiness,
    sets_ready_by_next,
    why_not_learned,
)
from service.core.recovery.soreness import SORENESS_USUAL
from service.core.recovery.trunk import (
    TRUNK_WEIGHT,
    TrunkToll,
    loads_trunk,
    trunk_limits,
    trunk_share,
)

__all__ = [
    "MODEL_VERSION",
    "PRIOR_BELIEF",
    "READY_CHANCE",
    "SORENESS_USUAL",
    "SYSTEMIC",
    "TRUNK",
    "TRUNK_WEIGHT",
    "WHOLE",
    "Asked",
    "ChannelSide",
    "FatigueBelief",
    "MuscleSession",
    "NextSeen",
    "Readiness",
    "SetsReady",
    "TrunkToll",
    "alike",
    "chances_ahead",
    "decay_factor",
    "decay_time",
    "expected_loss",
    "gap_of",
    "is_learned",
    "learn",
    "loads_trunk",
    "mean_loss",
    "next_sessions",
    "p_ready_in",
    "readiness",
    "sets_ready_by_next",
    "trunk_limits",
    "trunk_share",
    "why_not_learned",
]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "recovery/4"
