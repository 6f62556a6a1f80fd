"""The folder of the server's socket: the only way in.

The server listens on no network address, and ``trust`` holds on this socket only. The socket's folder is open
to those who may read the data files anyway (their owner, and root), so a password would protect nothing more,
and would be one more secret to keep out of logs and addresses.
"""

import os
import stat
import tempfile
from pathlib import Path

from psycopg import pq

from service.store.embedded.account import Account
from service.store.embedded.layout import Layout

PORT = 5432
# sockaddr_un.sun_path, its closing zero byte left out: 107 bytes on Linux, 103 on macOS.
_LONGEST_PATH = 103
# Not TMPDIR: that may be long itself, and closed to the server's account.
_SHORT_FOLDER = "/tmp"  # noqa: S108 - made with mkdtemp, and checked before each use


def socket_folder(layout: Layout, account: Account) -> Path:
    """The socket's folder, made if it is absent: in the data folder, or elsewhere if that path is unfit."""
    inside = _inside(layout)
    if _fits(inside):
        account.make_folder(inside)
        return inside
    if remembered := _remembered(layout, account.uid):
        return remembered
    made = Path(tempfile.mkdtemp(prefix="steelyard-", dir=_SHORT_FOLDER))
    if not account.is_ours:
        os.chown(made, account.uid, account.gid)
    layout.socket_note.unlink(missing_ok=True)
    layout.socket_note.write_text(str(made), "utf-8")
    return made


def known_socket_folder(layout: Layout) -> Path | None:
    """The folder in which a running server's socket would be, if one was ever chosen."""
    inside = _inside(layout)
    if _fits(inside):
        return inside
    try:
        return _remembered(layout, layout.folder.stat().st_uid)
    except OSError:
        return None


def answers(folder: Path) -> bool:
    """Whether a server takes connections in this folder; asks as ``pg_isready`` does."""
    asked = f"host={_quoted(folder)} port={PORT} user=postgres dbname=postgres connect_timeout=2"
    return pq.PGconn.ping(asked.encode()) == pq.Ping.OK


def _quoted(folder: Path) -> str:
    escaped = str(folder).replace("\\", "\\\\").replace("'", "\\'")
    return f"'{escaped}'"


def _inside(layout: Layout) -> Path:
    return layout.folder / "socket"


def _fits(folder: Path) -> bool:
    # A comma would make two hosts of one in every address.
    return "," not in str(folder) and len(os.fsencode(folder / f".s.PGSQL.{PORT}")) <= _LONGEST_PATH


def _remembered(layout: Layout, owner: int) -> Path | None:
    """The short folder of an earlier start, unless it is gone or somebody else took its name since."""
    try:
        folder = Path(layout.socket_note.read_text("utf-8"))
        found = folder.lstat()
    except OSError:
        return None
    private = stat.S_ISDIR(found.st_mode) and found.st_uid == owner and not found.st_mode & 0o077
    return folder if private else None
