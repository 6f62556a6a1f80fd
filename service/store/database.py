"""Connections and transactions: each one names its tenant, gives up in time, and runs as the unprivileged role."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from uuid import UUID

import psycopg
from sqlalchemy import Connection, Engine, create_engine, exc, text

from service.usecases.errors import StoreUnavailable

RUNTIME_ROLE = "steelyard_runtime"

#: One statement opens every transaction. Transaction-local, so that nothing survives into the next user of the
#: connection and a pooler in transaction mode may stand between.
_OPEN = text(
    "SELECT set_config('role', :role, true), set_config('steelyard.tenant_id', :tenant, true),"
    " set_config('statement_timeout', :statement_ms, true), set_config('lock_timeout', :lock_ms, true)"
)


@dataclass(frozen=True, slots=True)
class Deadlines:
    """How long a transaction may wait. [ms]"""

    statement_ms: int = 10_000
    lock_ms: int = 5_000


class Database:
    """A pool of connections to one Postgres."""

    def __init__(self, url: str, *, pool_size: int = 10, deadlines: Deadlines | None = None) -> None:
        self.deadlines = deadlines or Deadlines()
        self._engine: Engine = create_engine(
            url,
            pool_size=pool_size,
            max_overflow=0,
            pool_timeout=self.deadlines.lock_ms / 1000,
            pool_pre_ping=True,
            # Logs of failed statements must not hold what people sent.
            hide_parameters=True,
            # Server-side prepared statements would break behind a pooler in transaction mode.
            connect_args={"prepare_threshold": None, "connect_timeout": 5},
        )
        self._snapshot = self._engine.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )

    @property
    def engine(self) -> Engine:
        """The pool itself, for tests that listen to its statements."""
        return self._engine

    @contextmanager
    def transaction(self, tenant_id: UUID | None, *, read_only: bool) -> Iterator[Connection]:
        """Open a transaction for one tenant; commit on a clean exit, roll back otherwise.

        A read-only transaction sees one snapshot throughout. A connection that is refused, lost or waited for too
        long becomes ``StoreUnavailable``: the outcome of a write is then unknown, and ids make it safe to repeat.
        """
        engine = self._snapshot if read_only else self._engine
        try:
            with engine.begin() as connection:
                connection.execute(_OPEN, self._opening(tenant_id))
                yield connection
        except (exc.OperationalError, exc.TimeoutError, exc.InterfaceError) as lost:
            raise StoreUnavailable from lost
        except psycopg.OperationalError as lost:
            raise StoreUnavailable from lost

    def _opening(self, tenant_id: UUID | None) -> dict[str, str]:
        return {
            "role": RUNTIME_ROLE,
            "tenant": str(tenant_id) if tenant_id else "",
            "statement_ms": str(self.deadlines.statement_ms),
            "lock_ms": str(self.deadlines.lock_ms),
        }

    def close(self) -> None:
        """Give every connection back."""
        self._engine.dispose()
