"""Which database a command works on: the one that ``DATABASE_URL`` names, else an embedded one that is started."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import typer

from service.settings import Settings, from_environment


@dataclass(frozen=True, slots=True)
class OpenDatabase:
    """A database that takes connections. ``embedded`` says whether it is ours to migrate without being asked."""

    settings: Settings
    embedded: bool
    data_dir: Path


@contextmanager
def open_database(*, stop_after: bool = True) -> Iterator[OpenDatabase]:
    """Yield the database of this environment, starting the embedded server where none is named.

    An embedded server that this process started is stopped at the end, unless others still use it.
    """
    from service.store.embedded import EmbeddedPostgresFailed, default_data_dir

    data_dir = default_data_dir(os.environ)
    if os.environ.get("DATABASE_URL"):
        yield OpenDatabase(from_environment(os.environ), embedded=False, data_dir=data_dir)
        return
    try:
        with _embedded(data_dir, stop_after=stop_after) as url:
            yield OpenDatabase(from_environment(os.environ, url), embedded=True, data_dir=data_dir)
    except EmbeddedPostgresFailed as failure:
        typer.echo(str(failure), err=True)
        raise typer.Exit(1) from failure


@contextmanager
def _embedded(data_dir: Path, *, stop_after: bool) -> Iterator[str]:
    from service.store.embedded import clients_of, ensure_running, running, stop

    ours = running(data_dir) is None
    server = ensure_running(data_dir)
    try:
        yield server.owner_url
    finally:
        if ours and stop_after and clients_of(server) == 0:
            stop(data_dir)


def migrate_database(database: OpenDatabase) -> str:
    """Run every missing migration and return the revision that the database is at then."""
    from service.store.migrate import newest_revision, upgrade

    upgrade(database.settings.migrations_url)
    return newest_revision()
