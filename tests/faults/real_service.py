"""The service as it runs for its users: a process of its own on loopback, with a Postgres that can be killed."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID, uuid4

import httpx2
import psutil
import psycopg
from sqlalchemy import make_url

from service.store.database import Database
from service.store.embedded import EmbeddedServer, ensure_running, stop
from service.store.migrate import upgrade
from service.store.tenants import create_tenant
from service.store.unit_of_work import PostgresStore
from service.usecases import api_keys
from service.usecases.folding.engine import warm_up
from service.usecases.ports import Caller, Reach

REPOSITORY = Path(__file__).parents[2]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass
class RealService:
    """A running service, its database server, and the means to kill both."""

    data_dir: Path
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def database(self) -> EmbeddedServer:
        return ensure_running(self.data_dir)

    def start(self) -> None:
        """Start the process and wait until it is ready."""
        environment = {"PATH": os.environ["PATH"], "DATABASE_URL": self.database().owner_url}
        command = [sys.executable, "-m", "service", "serve", "--port", str(self.port)]
        with (self.data_dir.parent / "service.log").open("ab") as log:
            self.process = subprocess.Popen(command, cwd=REPOSITORY, env=environment, stdout=log, stderr=log)
        # Where no kernel is kept yet they are compiled first, on a machine that runs other tests besides.
        ends = time.monotonic() + 180
        while not self.ready():
            assert self.process.poll() is None, (self.data_dir.parent / "service.log").read_text("utf-8")
            assert time.monotonic() < ends, "the service did not become ready"
            time.sleep(0.05)

    def ready(self) -> bool:
        try:
            return httpx2.get(f"{self.url}/readyz", timeout=2).status_code == 200
        except httpx2.TransportError:
            return False

    def kill_service(self) -> None:
        """End the process without a word, and start another."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()
        self.start()

    def kill_database(self) -> None:
        """End the postmaster and all its children at once, and start the server again."""
        postmaster = psutil.Process(self.database().pid)
        doomed = [postmaster, *postmaster.children(recursive=True)]
        for process in doomed:
            with suppress(psutil.NoSuchProcess):
                process.send_signal(signal.SIGKILL)
        psutil.wait_procs(doomed, timeout=10)
        self.database()

    def acknowledge_too_early(self) -> None:
        """Let the database answer a commit before it has written it, for every connection from now on."""
        address = make_url(self.database().owner_url).set(drivername="postgresql")
        with psycopg.connect(address.render_as_string(), autocommit=True) as connection:
            connection.execute("ALTER DATABASE steelyard SET synchronous_commit = off")
        self.kill_database()

    def key(self) -> str:
        """Make a tenant and return a key that may do everything in it."""
        tenant_id = uuid4()
        create_tenant(self.database().owner_url, tenant_id, "invented tenant", datetime.now(UTC))
        store = PostgresStore(Database(self.database().owner_url, pool_size=1), lambda: datetime.now(UTC))
        root = Caller(tenant_id, UUID(int=0), frozenset(api_keys.SCOPES))
        with store.write(root) as work:
            secret = api_keys.create(work, "fault tests", list(api_keys.SCOPES), Reach(), None).secret
        store.close()
        return secret


@contextmanager
def real_service() -> Iterator[RealService]:
    """Run the service on a new database; everything is stopped and removed at the end."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-faults-", dir="/tmp"))
    folder.chmod(0o755)
    service = RealService(folder / "data")
    warm_up()  # here, once: the service finds what is compiled, whenever it is killed and started again
    try:
        upgrade(service.database().owner_url)
        service.start()
        yield service
    finally:
        if service.process is not None:
            service.process.kill()
            service.process.wait()
        stop(service.data_dir, mode="immediate")
        shutil.rmtree(folder, ignore_errors=True)
