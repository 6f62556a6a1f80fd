"""Whom a caller may reach, as a predicate on the athletes' table."""

from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, and_, false, or_, select, true

from service.store.tables import athletes, group_members
from service.usecases.ports import Reach


def reachable(reach: Reach, tenant_id: UUID) -> ColumnElement[bool]:
    """Return the predicate that an athlete's row must fulfil to be seen by a caller with this reach."""
    if reach.everyone:
        return true()
    ways: list[ColumnElement[Any]] = []
    if reach.athlete_ids:
        ways.append(athletes.c.id.in_(reach.athlete_ids))
    if reach.site_ids:
        ways.append(athletes.c.home_site_id.in_(reach.site_ids))
    if reach.group_ids:
        membership = select(group_members.c.athlete_id).where(
            and_(
                group_members.c.tenant_id == tenant_id,
                group_members.c.group_id.in_(reach.group_ids),
                group_members.c.athlete_id == athletes.c.id,
            )
        )
        # Only the athlete comes from outside, also where the statement around joins the members itself.
        ways.append(membership.correlate(athletes).exists())
    return or_(*ways) if ways else false()
