"""Which account runs the server, and whether that account can reach its files.

PostgreSQL refuses to run as root, so root hands the work to an account without rights.
"""

import os
import pwd
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import TypedDict

from service.store.embedded.failure import EmbeddedPostgresFailed
from service.store.embedded.layout import Layout

_UNPRIVILEGED = "nobody"
_FIRST_CLOSED_FOLDER = 'for folder; do cd "$folder" 2>/dev/null || { printf %s "$folder"; exit 0; }; done'


class SwitchTo(TypedDict, total=False):
    """The arguments of ``subprocess`` that change the account."""

    user: int
    group: int
    extra_groups: list[int]


@dataclass(frozen=True, slots=True)
class Account:
    """The account that owns the cluster and runs the server."""

    uid: int
    gid: int

    @property
    def is_ours(self) -> bool:
        """Whether this very process already runs as the account."""
        return self.uid == os.geteuid()

    def switch(self) -> SwitchTo:
        """Arguments for ``subprocess`` that make a child run as the account."""
        if self.is_ours:
            return {}
        return {"user": self.uid, "group": self.gid, "extra_groups": []}

    def first_closed_folder(self, path: Path) -> str:
        """The topmost folder towards ``path`` that the account may not enter; empty when all are open."""
        if self.is_ours:
            return ""
        ways = [str(folder) for folder in (*reversed(path.parents), path)]
        command = ["/bin/sh", "-c", _FIRST_CLOSED_FOLDER, "sh", *ways]
        try:
            found = subprocess.run(
                command, cwd="/", capture_output=True, text=True, check=True, **self.switch()
            )
        except (OSError, subprocess.SubprocessError) as error:
            raise EmbeddedPostgresFailed(f"Cannot run a program as uid {self.uid}: {error}.") from error
        return found.stdout

    def make_folder(self, path: Path) -> None:
        """Make a folder that only the account may enter, unless it is there."""
        if not path.is_dir():
            path.mkdir(mode=0o700)
            if not self.is_ours:
                os.chown(path, self.uid, self.gid)


def prepare(layout: Layout) -> Account:
    """Make the data folder if it is absent and say which account runs the server in it.

    Raises :class:`EmbeddedPostgresFailed` when the folder cannot be made, belongs to somebody else, or lies
    where the account cannot reach it. The rights of the folders above it are never changed.
    """
    try:
        account = _account_for(layout)
        # Above it first, so that a refusal leaves no new folder behind.
        _refuse_unreachable(layout.root, next(filter(Path.is_dir, layout.root.parents)), account)
        _make_root(layout.root)
        _refuse_unreachable(layout.root, layout.root, account)
        account.make_folder(layout.folder)
        account.make_folder(layout.log_folder)
    except OSError as error:
        raise EmbeddedPostgresFailed(f"Cannot make the data folder {layout.root}: {error}.") from error
    return account


def _make_root(root: Path) -> None:
    """An absent or empty folder becomes ours; root leaves it passable for the account of the server."""
    fresh = not root.is_dir() or not any(root.iterdir())
    root.mkdir(parents=True, exist_ok=True)
    if fresh and root.stat().st_uid == os.geteuid():
        root.chmod(0o711 if os.geteuid() == 0 else 0o700)


def _account_for(layout: Layout) -> Account:
    if os.geteuid() != 0:
        _refuse_foreign(layout)
        return Account(os.geteuid(), os.getegid())
    nobody = pwd.getpwnam(_UNPRIVILEGED)
    account = Account(nobody.pw_uid, nobody.pw_gid)
    if not layout.folder.is_dir():
        return account
    owner = layout.folder.stat()
    if owner.st_uid:
        return Account(owner.st_uid, owner.st_gid)
    _hand_over(layout.folder, account)
    return account


def _hand_over(folder: Path, account: Account) -> None:
    """A folder that root copied or restored from a backup goes to the account, with all that is in it."""
    for parent, folders, files in os.walk(folder):
        for name in (*folders, *files):
            os.lchown(Path(parent, name), account.uid, account.gid)
    os.chown(folder, account.uid, account.gid)


def _refuse_foreign(layout: Layout) -> None:
    """A cluster is run by its owner or by root: nobody else could read it."""
    if not layout.folder.is_dir():
        return
    owner = layout.folder.stat().st_uid
    if owner != os.geteuid():
        raise EmbeddedPostgresFailed(
            f"{layout.folder} belongs to uid {owner}, and this process runs as uid {os.geteuid()}. Run it as "
            "that user or as root, or choose another folder with STEELYARD_DATA_DIR."
        )


def _refuse_unreachable(root: Path, part_of_the_way: Path, account: Account) -> None:
    if closed := account.first_closed_folder(part_of_the_way):
        raise EmbeddedPostgresFailed(
            f"Run by root, the database server works as uid {account.uid}, which may not enter {closed}, so "
            f"the data folder {root} is out of its reach. Set STEELYARD_DATA_DIR to a folder outside {closed} "
            "(without it, /var/lib/steelyard is used), run the service as another user, or give DATABASE_URL."
        )
