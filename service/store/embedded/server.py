"""Starting, finding and stopping the embedded server."""

import math
import os
import shlex
import signal
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import quote

from service.store.embedded import locks, postmaster, sockets
from service.store.embedded.account import prepare
from service.store.embedded.binaries import Programs, programs_for
from service.store.embedded.cluster import DATABASE, OWNER, make_cluster
from service.store.embedded.failure import Deadline, EmbeddedPostgresFailed
from service.store.embedded.layout import Layout, default_data_dir

_SETTINGS = {
    "listen_addresses": "",
    "port": str(sockets.PORT),
    "max_connections": "100",
    "shared_buffers": "128MB",
    "random_page_cost": "1.1",
    "fsync": "on",
    "timezone": "UTC",
    "log_timezone": "UTC",
    "logging_collector": "on",
    "log_filename": "server-%Y%m%d-%H%M%S.log",
    "log_rotation_size": "10MB",
    "log_rotation_age": "0",
    # Rows speak of somebody's body: neither their values nor the statements that carry them belong in a log.
    "log_error_verbosity": "terse",
    "log_min_error_statement": "panic",
}
_STOP_SIGNALS = {"fast": signal.SIGINT, "immediate": signal.SIGQUIT}


@dataclass(frozen=True, slots=True)
class EmbeddedServer:
    """A running embedded server. ``pid`` is its main process."""

    data_dir: Path
    socket_dir: Path
    pid: int

    def dsn(self, dbname: str, role: str = OWNER) -> str:
        """The address of a database for SQLAlchemy with psycopg."""
        host = quote(str(self.socket_dir), safe="/")
        return f"postgresql+psycopg://{role}@/{quote(dbname, safe='')}?host={host}&port={sockets.PORT}"

    @property
    def owner_url(self) -> str:
        """The service's database, as the role that owns it and migrates it."""
        return self.dsn(DATABASE)

    @property
    def runtime_url(self) -> str:
        """The service's database at run time: the owner logs in, transactions step down to a lesser role."""
        return self.owner_url


def ensure_running(data_dir: Path | None = None, *, deadline_s: float = 60) -> EmbeddedServer:
    """The server of a data folder: made if absent, started if not running, left alone if it runs.

    Several callers at once get the same server; it outlives them all. Raises :class:`EmbeddedPostgresFailed`
    after ``deadline_s`` [s], or as soon as it is known that the server cannot start.
    """
    layout = _layout(data_dir)
    if running := _answering(layout):
        layout.drop_old_logs()
        return running
    deadline = Deadline(deadline_s)
    account = prepare(layout)
    with locks.held(layout.start_lock, deadline):
        while (lock := locks.try_lock(layout.running_lock)) is None:
            if running := _answering(layout):
                return running
            deadline.pause("the server to take connections", layout.log_tail())
        try:
            programs = programs_for(account, layout, lock)
            make_cluster(layout, programs, deadline)
            return _start(layout, programs, deadline)
        finally:
            os.close(lock)


def running(data_dir: Path | None = None) -> EmbeddedServer | None:
    """The server of a data folder if it takes connections now, else None; nothing is started."""
    return _answering(_layout(data_dir))


def stop(data_dir: Path, *, mode: Literal["fast", "immediate"] = "fast", deadline_s: float = 60) -> None:
    """Stop the server of a data folder and wait until all its processes are gone; nothing to do if none.

    ``immediate`` leaves recovery to the next start. Raises :class:`EmbeddedPostgresFailed` after
    ``deadline_s`` [s].
    """
    layout = _layout(data_dir)
    if not layout.folder.is_dir():
        return
    deadline = Deadline(deadline_s)
    with locks.held(layout.start_lock, deadline):
        if pid := postmaster.live_postmaster(layout):
            _signal(pid, _STOP_SIGNALS[mode])
        while postmaster.live_postmaster(layout) or (lock := locks.try_lock(layout.running_lock)) is None:
            deadline.pause("the server to stop", layout.log_tail())
        os.close(lock)


def _layout(data_dir: Path | None) -> Layout:
    return Layout((data_dir or default_data_dir(os.environ)).resolve())


def _answering(layout: Layout) -> EmbeddedServer | None:
    folder = sockets.known_socket_folder(layout)
    if folder is None or not sockets.answers(folder):
        return None
    pid = postmaster.recorded_pid(layout.pid_file)
    return None if pid is None else EmbeddedServer(layout.root, folder, pid)


def _start(layout: Layout, programs: Programs, deadline: Deadline) -> EmbeddedServer:
    folder = sockets.socket_folder(layout, programs.account)
    postmaster.forget_dead_postmaster(layout, folder)
    layout.drop_old_logs()
    began = time.time() - 1
    # PGDATA and an inherited log rather than -D and -l: pg_ctl hands those to a shell without quoting them.
    arguments = [
        "start",
        "-w",
        "-s",
        "-t",
        str(math.ceil(deadline.remaining())),
        "-o",
        _options(layout, folder),
    ]
    doing = f"Starting the database server in {layout.cluster}"
    layout.startup_log.unlink(missing_ok=True)
    try:
        with layout.startup_log.open("xb") as log:
            programs.run("pg_ctl", arguments, deadline, doing=doing, output=log, pgdata=layout.cluster)
    except EmbeddedPostgresFailed as error:
        raise EmbeddedPostgresFailed(str(error), layout.log_tail(began)) from error
    while (running := _answering(layout)) is None:
        deadline.pause("the server to take connections", layout.log_tail(began))
    return running


def _options(layout: Layout, folder: Path) -> str:
    """The server's command line, quoted for the shell through which pg_ctl starts it."""
    listed = str(folder).replace('"', '""')
    settings = {
        **_SETTINGS,
        "log_directory": str(layout.log_folder),
        "unix_socket_directories": f'"{listed}"',
    }
    options = ["-D", str(layout.cluster)]
    for name, value in settings.items():
        options += ["-c", f"{name}={value}"]
    return shlex.join(options)


def _signal(pid: int, number: signal.Signals) -> None:
    try:
        os.kill(pid, number)
    except ProcessLookupError:
        return
    except PermissionError as error:
        raise EmbeddedPostgresFailed(
            f"May not stop the server with process number {pid}: {error}."
        ) from error
