"""One transaction with everything in it, and the store that opens them."""

import hmac
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, select

from service.store.database import Database
from service.store.feed import Feed
from service.store.keys import Keys, reach_from
from service.store.log import Log
from service.store.migrate import newest_revision, revision_of
from service.store.people import People
from service.store.resources import Resources
from service.store.states import States
from service.store.tables import api_keys
from service.usecases.errors import StoreUnavailable
from service.usecases.fold_rows import Touched
from service.usecases.kinds import Kind
from service.usecases.ports import Caller, Clock, Noted, Operation, Stored


class PostgresUnitOfWork:
    """The repositories of one transaction, and the changes to feed when it ends."""

    def __init__(self, connection: Connection, caller: Caller, now: datetime) -> None:
        self.now = now
        self.caller = caller
        self.resources = Resources(connection, caller, now)
        self.log = Log(connection, caller)
        self.states = States(connection, caller)
        self.people = People(connection, caller)
        self.keys = Keys(connection, caller, now)
        self.feed = Feed(connection, caller)
        self.touched: dict[UUID, Touched] = {}
        self._noted: list[Noted] = []
        self._position: int | None = None

    def note_change(self, kind: Kind, stored: Stored, op: Operation) -> None:
        """Remember a change for the feed, which is written last."""
        athlete_id = stored.id if kind.name == "athlete" else stored.athlete_id
        self._noted.append(Noted(kind.name, stored.id, athlete_id, op, stored.etag))

    def note_recomputed(self, athlete_id: UUID, model_version: str) -> None:
        """Remember for the feed that an athlete's answers were computed anew, though nothing of theirs was written."""
        self._noted.append(Noted("answers", athlete_id, athlete_id, "recomputed", f'"{model_version}"'))

    def position(self) -> int:
        """Return the feed's position as this transaction leaves it, feeding what was noted."""
        if self._noted:
            self._position = self.feed.append(self._noted, self.now)
            self._noted = []
        if self._position is None:
            self._position = self.feed.state().position
        return self._position


class PostgresStore:
    """Opens transactions on one Postgres."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self.database = database
        self._clock = clock

    @contextmanager
    def write(self, caller: Caller) -> Iterator[PostgresUnitOfWork]:
        """Open a transaction that may change things; it commits when the block ends without an exception."""
        with self.database.transaction(caller.tenant_id, read_only=False) as connection:
            work = PostgresUnitOfWork(connection, caller, self._clock())
            yield work
            work.position()

    @contextmanager
    def read(self, caller: Caller) -> Iterator[PostgresUnitOfWork]:
        """Open a read-only transaction on one snapshot."""
        with self.database.transaction(caller.tenant_id, read_only=True) as connection:
            yield PostgresUnitOfWork(connection, caller, self._clock())

    def authenticate(self, tenant_id: UUID, key_id: UUID, secret_hash: bytes) -> Caller | None:
        """Return the caller whose live key has this secret; compared in constant time."""
        query = select(api_keys).where(api_keys.c.tenant_id == tenant_id, api_keys.c.id == key_id)
        with self.database.transaction(tenant_id, read_only=True) as connection:
            row = connection.execute(query).first()
        if row is None or not hmac.compare_digest(row.secret_hash, secret_hash):
            return None
        if row.revoked_at is not None or (row.expires_at is not None and row.expires_at <= self._clock()):
            return None
        return Caller(tenant_id, key_id, frozenset(row.scopes), reach_from(row.reach))

    def readiness(self) -> Mapping[str, bool]:
        """Tell what is ready: the database answers, and its schema is the one this release expects."""
        try:
            with self.database.transaction(None, read_only=True) as connection:
                return {"database": True, "migrations": revision_of(connection) == newest_revision()}
        except StoreUnavailable:
            return {"database": False, "migrations": False}

    def close(self) -> None:
        """Give every connection back."""
        self.database.close()
