"""Pages of lists, one shape for all."""

from typing import Annotated

from pydantic import Field

from service.web.schemas import log, people, places, plans, wants
from service.web.schemas.resources import PageOf

_AT_MOST = Field(max_length=1000)


class AthletePage(PageOf):
    """One page of athletes."""

    items: Annotated[list[people.Athlete], _AT_MOST]
    """The athletes."""


class GroupPage(PageOf):
    """One page of groups."""

    items: Annotated[list[people.Group], _AT_MOST]
    """The groups."""


class SitePage(PageOf):
    """One page of sites."""

    items: Annotated[list[places.Site], _AT_MOST]
    """The sites."""


class SessionPage(PageOf):
    """One page of sessions, oldest first."""

    items: Annotated[list[log.Session], _AT_MOST]
    """The sessions."""


class SetPage(PageOf):
    """One page of sets, oldest first."""

    items: Annotated[list[log.Set], _AT_MOST]
    """The sets."""


class CheckinPage(PageOf):
    """One page of check-ins, oldest first."""

    items: Annotated[list[log.Checkin], _AT_MOST]
    """The check-ins."""


class MeasurementPage(PageOf):
    """One page of measurements, oldest first."""

    items: Annotated[list[log.Measurement], _AT_MOST]
    """The measurements."""


class LimitPage(PageOf):
    """One page of limits."""

    items: Annotated[list[wants.Limit], _AT_MOST]
    """The limits."""


class AimPage(PageOf):
    """One page of aims."""

    items: Annotated[list[wants.Aim], _AT_MOST]
    """The aims."""


class PlanPage(PageOf):
    """One page of issued plans."""

    items: Annotated[list[plans.Plan], _AT_MOST]
    """The plans."""


class ConsentPage(PageOf):
    """All decisions, oldest first."""

    items: Annotated[list[people.Consent], _AT_MOST]
    """The decisions."""


class ScreeningPage(PageOf):
    """All screenings, oldest first."""

    items: Annotated[list[people.Screening], _AT_MOST]
    """The screenings."""
