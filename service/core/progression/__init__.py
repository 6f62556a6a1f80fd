"""What load and repetitions come next, how likely the wanted effort is, and when to hold or reduce."""

from service.core.progression.breaks import EndedBreak
from service.core.progression.choosing import choose
from service.core.progression.drops import (
    Drop,
    DropFactor,
    DropPlan,
    DropRefusal,
    DropSituation,
    DropWish,
    LoggedDrop,
    SetToFailure,
    learn_factor,
    plan_drops,
)
from service.core.progression.in_session import InSession, LoadForecast
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
    Shown,
)

__all__ = [
    "MODEL_VERSION",
    "SOURCE_KEYS",
    "Candidate",
    "Caps",
    "Choice",
    "Drop",
    "DropFactor",
    "DropPlan",
    "DropRefusal",
    "DropSituation",
    "DropWish",
    "EndedBreak",
    "InSession",
    "LoadForecast",
    "LoadOption",
    "LoggedDrop",
    "NoForecast",
    "Policy",
    "ProgressionContext",
    "RampSet",
    "RepetitionTarget",
    "SetToFailure",
    "Shown",
    "choose",
    "learn_factor",
    "plan_drops",
    "ramp",
]

#: Version of the model that an answer names.
MODEL_VERSION = "load-progression/5"
#: Works behind the rules; the forecast adds its own.
SOURCE_KEYS = ("Acsm2009", "BaechleEarle2008")
