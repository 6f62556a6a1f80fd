"""Tenants: made by the owner of the schema, never by a request."""

from datetime import datetime
from uuid import UUID, uuid4

from sqlalchemy import Connection, create_engine, func, insert, pool, select

from service.store.tables import feed_counters, tenants


def create_tenant(owner_url: str, tenant_id: UUID, name: str, now: datetime) -> None:
    """Make a tenant with an empty feed. The runtime role may not: it has no right to the table of tenants."""
    engine = create_engine(owner_url, poolclass=pool.NullPool)
    with engine.begin() as connection:
        _as_tenant(connection, tenant_id)
        connection.execute(insert(tenants).values(id=tenant_id, name=name, created_at=now))
        counter = {"tenant_id": tenant_id, "epoch": uuid4(), "position": 0, "floor": 0}
        connection.execute(insert(feed_counters).values(counter))


def list_tenants(owner_url: str) -> list[tuple[UUID, str]]:
    """Return every tenant's id and name."""
    engine = create_engine(owner_url, poolclass=pool.NullPool)
    with engine.begin() as connection:
        rows = connection.execute(select(tenants.c.id, tenants.c.name).order_by(tenants.c.created_at))
        return [(row.id, row.name) for row in rows]


def _as_tenant(connection: Connection, tenant_id: UUID) -> None:
    """The owner too is held by the forced policies, so it says whose rows it writes."""
    connection.execute(select(func.set_config("steelyard.tenant_id", str(tenant_id), True)))
