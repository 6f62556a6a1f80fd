"""Where the embedded server keeps its things, and which folder that is by default."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from service.store.embedded.failure import tail_of_file

KEPT_LOGS = 5


def default_data_dir(environ: Mapping[str, str]) -> Path:
    """The data folder: ``STEELYARD_DATA_DIR``, else the system's folder for root, else the user's own."""
    if chosen := environ.get("STEELYARD_DATA_DIR"):
        return Path(chosen).expanduser().absolute()
    if os.geteuid() == 0:
        return Path("/var/lib/steelyard")
    return platformdirs.user_data_path("steelyard")


@dataclass(frozen=True, slots=True)
class Layout:
    """Every path of one data folder.

    ``folder`` belongs to the account that runs the server; the files beside it belong to whoever starts it.
    """

    root: Path

    @property
    def folder(self) -> Path:
        """The one folder that the server's account owns."""
        return self.root / "postgres"

    @property
    def cluster(self) -> Path:
        """The database cluster itself."""
        return self.folder / "cluster"

    @property
    def unfinished_cluster(self) -> Path:
        """A cluster in the making; renamed to :attr:`cluster` once it is whole."""
        return self.folder / "cluster.unfinished"

    @property
    def pid_file(self) -> Path:
        """PostgreSQL's own record of the running server."""
        return self.cluster / "postmaster.pid"

    @property
    def log_folder(self) -> Path:
        """The running server's log files."""
        return self.folder / "log"

    @property
    def startup_log(self) -> Path:
        """What the server says before it opens its own log."""
        return self.root / "postgres.startup.log"

    @property
    def start_lock(self) -> Path:
        """Held by whoever starts or stops the server."""
        return self.root / "postgres.start.lock"

    @property
    def running_lock(self) -> Path:
        """Held by the server's processes for as long as one of them lives."""
        return self.root / "postgres.running.lock"

    @property
    def socket_note(self) -> Path:
        """Remembers the socket's folder where it could not lie inside the data folder."""
        return self.root / "postgres.socket-folder"

    def logs(self) -> list[Path]:
        """The server's log files, oldest first."""
        try:
            return sorted(self.log_folder.glob("server-*.log"))
        except OSError:
            return []

    def log_tail(self, since: float = 0.0) -> str:
        """The end of what the server said, leaving out logs last written before ``since`` [Unix time, s]."""
        newest = [log for log in self.logs()[-1:] if log.stat().st_mtime >= since]
        return "\n".join(text for text in map(tail_of_file, [self.startup_log, *newest]) if text)

    def drop_old_logs(self) -> None:
        """Keep the newest log files only; the server itself bounds the size of each."""
        for log in self.logs()[:-KEPT_LOGS]:
            log.unlink(missing_ok=True)
