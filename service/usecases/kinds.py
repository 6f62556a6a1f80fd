"""The kinds of resources that clients write, and the rules in which they differ."""

from dataclasses import dataclass
from typing import Any, Literal

from service.usecases.records.exercises import OwnExercise
from service.usecases.records.log import Checkin, LoggedSet, Measurement, Session
from service.usecases.records.people import Athlete, Group
from service.usecases.records.places import Inventory, Site
from service.usecases.records.plans import Plan
from service.usecases.records.wants import Aim, Frame, Limit

KindName = Literal[
    "athlete", "group", "site", "implements", "exercise", "session", "set", "checkin", "measurement", "limit", "aim",
    "frame", "plan",
]  # fmt: skip
#: How a PUT or PATCH that would change an existing body without If-Match is met.
ChangeRule = Literal["different_body", "if_match_required", "kept"]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of resource.

    ``of_athlete`` says that it lies under an athlete; ``merges`` that PATCH may come without If-Match; ``consent``
    that writing it needs the athlete's consent to the processing of health data.
    """

    name: KindName
    record: Any
    of_athlete: bool
    change_rule: ChangeRule
    merges: bool = False
    consent: bool = False


ATHLETE = Kind("athlete", Athlete, of_athlete=False, change_rule="if_match_required")
GROUP = Kind("group", Group, of_athlete=False, change_rule="if_match_required")
SITE = Kind("site", Site, of_athlete=False, change_rule="if_match_required")
IMPLEMENTS = Kind("implements", Inventory, of_athlete=False, change_rule="if_match_required")
EXERCISE = Kind("exercise", OwnExercise, of_athlete=False, change_rule="if_match_required")
SESSION = Kind("session", Session, of_athlete=True, change_rule="different_body", merges=True)
SET = Kind("set", LoggedSet, of_athlete=True, change_rule="different_body", merges=True)
CHECKIN = Kind("checkin", Checkin, of_athlete=True, change_rule="different_body", merges=True, consent=True)
MEASUREMENT = Kind(
    "measurement", Measurement, of_athlete=True, change_rule="different_body", merges=True, consent=True
)
LIMIT = Kind("limit", Limit, of_athlete=True, change_rule="if_match_required", consent=True)
AIM = Kind("aim", Aim, of_athlete=True, change_rule="if_match_required")
FRAME = Kind("frame", Frame, of_athlete=True, change_rule="if_match_required")
PLAN = Kind("plan", Plan, of_athlete=True, change_rule="kept")

KINDS: dict[KindName, Kind] = {
    kind.name: kind
    for kind in (
        ATHLETE, GROUP, SITE, IMPLEMENTS, EXERCISE, SESSION, SET, CHECKIN, MEASUREMENT, LIMIT, AIM, FRAME, PLAN,
    )
}  # fmt: skip
