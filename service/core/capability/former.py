"""The former filter, one exercise at a time, until its last callers have moved to the athlete's state."""

from service.core.capability.evidence import EvidenceKind, SetEvidence, Side, infer_warm_up
from service.core.capability.filtering import fold
from service.core.capability.forecast import CapabilityForecast, Of, RepetitionForecast, predict
from service.core.capability.state import LAYOUT, MODEL_VERSION, CapabilityPrior, CapabilityState, Training

__all__ = [
    "LAYOUT",
    "MODEL_VERSION",
    "CapabilityForecast",
    "CapabilityPrior",
    "CapabilityState",
    "EvidenceKind",
    "Of",
    "RepetitionForecast",
    "SetEvidence",
    "Side",
    "Training",
    "fold",
    "infer_warm_up",
    "predict",
]
