"""The whole next session, as a plan that a site, a week, a body and its limits allow."""

from typing import Final

from service.core.planning.ordering import Role
from service.core.planning.request import (
    Allowance,
    BodySide,
    Candidate,
    Demand,
    JointRange,
    LimbSide,
    MuscleSide,
    PlanRequest,
    RestingRegion,
    Restrictions,
    RuledOut,
    WantedWork,
)
from service.core.planning.session import PlannedExercise, SessionPlan, plan_session
from service.core.planning.vetoes import against_range, fits, joint_of, open_sides, vetoes

__all__ = [
    "MODEL_VERSION",
    "SOURCE_KEYS",
    "Allowance",
    "BodySide",
    "Candidate",
    "Demand",
    "JointRange",
    "LimbSide",
    "MuscleSide",
    "PlanRequest",
    "PlannedExercise",
    "RestingRegion",
    "Restrictions",
    "Role",
    "RuledOut",
    "SessionPlan",
    "WantedWork",
    "against_range",
    "fits",
    "joint_of",
    "open_sides",
    "plan_session",
    "vetoes",
]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "next-session/2"
#: Works behind the plan itself; loads, doses and readiness add their own.
SOURCE_KEYS: Final = ("Nunes2021", "Pelland2025")
