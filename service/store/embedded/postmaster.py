"""The server's main process: whether one lives, and what a dead one left behind."""

import os
import subprocess
from pathlib import Path

from service.store.embedded.layout import Layout


def recorded_pid(pid_file: Path) -> int | None:
    """The process number in the first line of one of PostgreSQL's lock files; none without a readable one."""
    try:
        return abs(int(pid_file.read_text("ascii", errors="replace").split("\n", 1)[0]))
    except (OSError, ValueError):
        return None


def live_postmaster(layout: Layout) -> int | None:
    """The process number of the server at work in this cluster; none if another process has that number."""
    pid = recorded_pid(layout.pid_file)
    if pid is None:
        return None
    command = _command_line(pid)
    return pid if "postgres" in command and str(layout.cluster) in command else None


def forget_dead_postmaster(layout: Layout, socket_folder: Path) -> None:
    """Remove lock files whose process number now belongs to another process.

    Call it only while holding the running lock, which proves that no process of the old server lives.
    PostgreSQL itself sees that a number is unused, but takes any live process of its account for a server.
    """
    if live_postmaster(layout) is not None:
        return
    for file in (layout.pid_file, *socket_folder.glob(".s.PGSQL.*.lock")):
        pid = recorded_pid(file)
        if pid is not None and _is_alive(pid):
            file.unlink(missing_ok=True)


def _is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _command_line(pid: int) -> str:
    """Empty for a process that is gone, or dead and not yet reaped."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().decode(errors="replace")
    except OSError:
        pass
    asked = ["ps", "-ww", "-o", "command=", "-p", str(pid)]
    try:
        return subprocess.run(asked, capture_output=True, text=True, check=False).stdout
    except OSError:
        return ""
