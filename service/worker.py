"""The worker's composition root: jobs that fold athletes' logs anew, on the queue that lies in Postgres.

A job names a tenant and an athlete by their ids and holds nothing else. Whatever it reads or writes goes through the
store as that tenant, under the same policies as a request.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from threading import Thread
from uuid import UUID

from procrastinate import App, PsycopgConnector, RetryStrategy
from procrastinate.exceptions import ConnectorException
from psycopg.conninfo import make_conninfo

from service.catalogue import load_catalogue
from service.settings import Settings, without_driver
from service.store.database import Database
from service.store.queue_schema import SCHEMA
from service.store.tenants import list_tenants
from service.store.unit_of_work import PostgresStore
from service.usecases.folding.refolding import Refolder
from service.usecases.ports import Clock

LOG = logging.getLogger("steelyard.worker")
#: Waits between two attempts grow; after the last one the job stays behind as failed, and the queue goes on (judgement).
RETRY = RetryStrategy(max_attempts=5, exponential_wait=2)


#: A part of a refold takes less; what is left undone another worker takes over. [s]
_LEAVE_S = 10.0


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How often a worker shows that it lives, looks for jobs of the dead, and for states to fold anew. [s]"""

    heartbeat_s: float = 5.0
    dead_after_s: float = 20.0
    stalled_s: float = 10.0
    outdated_s: float = 600.0
    poll_s: float = 5.0


@dataclass(frozen=True, slots=True)
class Worker:
    """A queue's worker, with the connections that it owns."""

    app: App
    refolder: Refolder
    settings: Settings
    rhythm: Rhythm = Rhythm()

    async def run(self, *, wait: bool = True, install_signal_handlers: bool = True) -> None:
        """Work until told to stop; with ``wait`` off, until the queue is empty."""
        async with self.app.open_async():
            await self.recover_stalled()
            await asyncio.to_thread(self.defer_outdated)
            chores = [
                asyncio.create_task(self._every(self.rhythm.stalled_s, self.recover_stalled)),
                asyncio.create_task(
                    self._every(self.rhythm.outdated_s, lambda: asyncio.to_thread(self.defer_outdated))
                ),
            ]
            try:
                await self.app.run_worker_async(
                    wait=wait,
                    install_signal_handlers=install_signal_handlers,
                    delete_jobs="successful",
                    fetch_job_polling_interval=self.rhythm.poll_s,
                    update_heartbeat_interval=self.rhythm.heartbeat_s,
                    stalled_worker_timeout=self.rhythm.dead_after_s,
                )
            finally:
                for chore in chores:
                    chore.cancel()

    async def recover_stalled(self) -> int:
        """Give the jobs of workers that died back to the queue; return how many."""
        manager = self.app.job_manager
        stalled = list(await manager.get_stalled_jobs(seconds_since_heartbeat=self.rhythm.dead_after_s))
        for job in stalled:
            LOG.warning("job %s was left by a worker that died", job.id)
            # Another worker may have given it back meanwhile.
            with suppress(ConnectorException):
                await manager.retry_job(job)
        return len(stalled)

    def defer_outdated(self) -> int:
        """Ask for a refold of everybody whose state is stale or of another model; return how many."""
        tenants = [tenant_id for tenant_id, _ in list_tenants(self.settings.migrations_url)]
        return sum(self.refolder.defer_outdated(tenant_id) for tenant_id in tenants)

    async def _every(self, seconds: float, chore: Callable[[], Awaitable[object]]) -> None:
        while True:
            await asyncio.sleep(seconds)
            try:
                await chore()
            except Exception:
                # It is done again next time.
                LOG.exception("a chore of the worker failed")

    def close(self) -> None:
        """Give every connection back."""
        self.refolder.store.close()


def create_worker(
    settings: Settings, clock: Clock = lambda: datetime.now(UTC), rhythm: Rhythm | None = None
) -> Worker:
    """Return a worker for these settings.

    It reads the queue as the owner, whom ``migrations_url`` names, and everything else as requests do.
    """
    queue = make_conninfo(
        without_driver(settings.migrations_url),
        options=f"-c search_path={SCHEMA}",
        application_name="steelyard worker",
    )
    app = App(connector=PsycopgConnector(conninfo=queue, min_size=1, max_size=4))
    store = PostgresStore(Database(settings.database_url, pool_size=2), clock)
    refolder = Refolder(store, load_catalogue())
    _declare(app, refolder)
    return Worker(app, refolder, settings, rhythm or Rhythm())


def run(worker: Worker, *, wait: bool = True, install_signal_handlers: bool = True) -> None:
    """Run a worker in this thread until it is told to stop, and give its connections back."""
    try:
        asyncio.run(worker.run(wait=wait, install_signal_handlers=install_signal_handlers))
    finally:
        worker.close()


@contextmanager
def beside(worker: Worker) -> Iterator[None]:
    """Run a worker in a thread of this process while the block runs: for a service with a database of its own."""
    loop = asyncio.new_event_loop()
    working = loop.create_task(worker.run(install_signal_handlers=False))

    def until_cancelled() -> None:
        with suppress(asyncio.CancelledError):
            loop.run_until_complete(working)

    thread = Thread(target=until_cancelled, name="worker", daemon=True)
    thread.start()
    try:
        yield
    finally:
        loop.call_soon_threadsafe(working.cancel)
        thread.join(timeout=_LEAVE_S)
        worker.close()


def _declare(app: App, refolder: Refolder) -> None:
    @app.task(name="refold_athlete", queue="refolds", retry=RETRY)
    def refold_athlete(tenant_id: str, athlete_id: str) -> None:
        refolder.athlete(UUID(tenant_id), UUID(athlete_id))

    @app.task(name="refold_tenant", queue="refolds", retry=RETRY)
    def refold_tenant(tenant_id: str) -> None:
        refolder.tenant(UUID(tenant_id))
