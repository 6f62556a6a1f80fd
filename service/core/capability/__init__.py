"""What an athlete can lift, for how many repetitions, on which side, and how surely: one filter for all lifts."""

from service.core.capability.athlete import (
    LAYOUT_VERSION,
    MODEL_VERSION,
    AthleteState,
    UnreadableState,
    begin,
)
from service.core.capability.engine import Foresight, fold, foresee, foresee_all
from service.core.capability.forecasting import (
    EXTRAPOLATED,
    CapabilityForecast,
    Of,
    RepetitionForecast,
    forecast,
    side_gap,
)
from service.core.capability.parameters import Training
from service.core.capability.retrospect import Line, Retrospect
from service.core.capability.sets import (
    AthleteModel,
    Purpose,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
)

__all__ = [
    "EXTRAPOLATED",
    "LAYOUT_VERSION",
    "MODEL_VERSION",
    "AthleteModel",
    "AthleteState",
    "CapabilityForecast",
    "Foresight",
    "Line",
    "Of",
    "Purpose",
    "RepetitionForecast",
    "Retrospect",
    "SeriesPrior",
    "SessionEvidence",
    "SetEvidence",
    "Side",
    "Training",
    "UnreadableState",
    "begin",
    "fold",
    "forecast",
    "foresee",
    "foresee_all",
    "side_gap",
]
