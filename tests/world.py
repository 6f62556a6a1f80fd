"""A whole service in a test: the application on its own database, and callers of it."""

from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID, uuid4

from fastapi import FastAPI
from starlette.testclient import TestClient

from service.store.tenants import create_tenant
from service.usecases import api_keys
from service.usecases.ports import Caller, Reach

ALL_SCOPES = tuple(api_keys.SCOPES)


class SetClock:
    """A clock that a test can set; it tells the real time until then."""

    def __init__(self) -> None:
        self.instant: datetime | None = None

    def __call__(self) -> datetime:
        return self.instant or datetime.now(UTC)


@dataclass
class World:
    """An application on its own database, and ways to call it."""

    app: FastAPI
    url: str
    clock: SetClock

    def tenant(self) -> UUID:
        """Make a tenant."""
        tenant_id = uuid4()
        create_tenant(self.url, tenant_id, "invented tenant", datetime.now(UTC))
        return tenant_id

    def key(self, tenant_id: UUID, scopes: tuple[str, ...] = ALL_SCOPES, reach: Reach | None = None) -> str:
        """Make a key of a tenant and return its secret."""
        root = Caller(tenant_id, UUID(int=0), frozenset(ALL_SCOPES))
        with self.app.state.services.store.write(root) as work:
            return api_keys.create(work, "test key", list(scopes), reach or Reach(), None).secret

    def client(self, key: str | None = None) -> TestClient:
        """Return a client that sends a key, or none."""
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        return TestClient(self.app, headers=headers, raise_server_exceptions=False)

    def signed_in(self) -> TestClient:
        """Return a client of a new tenant with every scope."""
        return self.client(self.key(self.tenant()))
