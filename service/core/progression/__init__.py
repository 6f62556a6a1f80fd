"""What load and repetitions come next, how likely the wanted effort is, and when to hold or reduce."""

from service.core.progression.choosing import choose
from service.core.progression.ramping import ramp
from service.core.progression.situation import (
    Candidate,
    Caps,
    Choice,
    LoadOption,
    NoForecast,
    Policy,
    ProgressionContext,
    RampSet,
    RepetitionTarget,
)

__all__ = [
    "MODEL_VERSION",
    "SOURCE_KEYS",
    "Candidate",
    "Caps",
    "Choice",
    "LoadOption",
    "NoForecast",
    "Policy",
    "ProgressionContext",
    "RampSet",
    "RepetitionTarget",
    "choose",
    "ramp",
]

#: Version of the model that an answer names.
MODEL_VERSION = "load-progression/0"
#: Works behind the rules; the forecast adds its own.
SOURCE_KEYS = ("Acsm2009", "BaechleEarle2008")
