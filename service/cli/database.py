"""Which database a command works on: the one that ``DATABASE_URL`` names, else an embedded one that is started."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, NoReturn

import typer

from service.settings import Settings, from_environment


@dataclass(frozen=True, slots=True)
class OpenDatabase:
    """A database that takes connections. ``embedded`` says whether it is ours to migrate without being asked."""

    settings: Settings
    embedded: bool
    data_dir: Path


@contextmanager
def open_database() -> Iterator[OpenDatabase]:
    """Yield the database of this environment, starting the embedded server where none is named.

    The last command to leave stops an embedded server that a command started; one that ran already is left running.
    """
    from sqlalchemy.exc import OperationalError

    from service.store.embedded import EmbeddedPostgresFailed, default_data_dir
    from service.usecases.errors import StoreUnavailable

    data_dir = default_data_dir(os.environ)
    try:
        if os.environ.get("DATABASE_URL"):
            yield OpenDatabase(from_environment(os.environ), embedded=False, data_dir=data_dir)
            return
        with _embedded(data_dir) as url:
            yield OpenDatabase(from_environment(os.environ, url), embedded=True, data_dir=data_dir)
    except EmbeddedPostgresFailed as failure:
        _give_up(str(failure), failure)
    except (OperationalError, StoreUnavailable) as lost:
        cause = getattr(lost, "orig", None) or lost.__cause__ or lost
        _give_up(f"The database cannot be used: {cause}", lost)


def _give_up(message: str, cause: Exception) -> NoReturn:
    typer.echo(message, err=True)
    raise typer.Exit(1) from cause


@contextmanager
def _embedded(data_dir: Path) -> Iterator[str]:
    from service.store.embedded import ensure_running, running, stop

    ran_already = running(data_dir) is not None
    server = ensure_running(data_dir)
    started_by_us = data_dir / "commands.started-server"
    with (data_dir / "commands.lock").open("w") as users:
        fcntl.flock(users, fcntl.LOCK_SH)
        # Somebody may have stopped it before the lock was ours; from here on nobody does.
        if running(data_dir) is None:
            ran_already, server = False, ensure_running(data_dir)
        if not ran_already:
            started_by_us.touch()
        try:
            yield server.owner_url
        finally:
            if started_by_us.exists() and _alone(users):
                stop(data_dir)
                started_by_us.unlink()


def _alone(users: IO[str]) -> bool:
    """Whether no other command uses the server; none can begin to until ours ends."""
    try:
        fcntl.flock(users, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def migrate_database(database: OpenDatabase) -> str:
    """Run every missing migration and return the revision that the database is at then."""
    from service.store.migrate import newest_revision, upgrade

    upgrade(database.settings.migrations_url)
    return newest_revision()
