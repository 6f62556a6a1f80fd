"""Serving, migrating, and saying what is missing."""

import os
import platform
from contextlib import ExitStack
from typing import Annotated

import typer

from service import __version__
from service.cli.database import migrate_database, open_database

Host = Annotated[str, typer.Option(help="Address to listen on. Anything but loopback belongs behind TLS.")]
Port = Annotated[int, typer.Option(help="Port to listen on.", min=0, max=65535)]


def serve(host: Host = "127.0.0.1", port: Port = 8420) -> None:
    """Serve the API. Without DATABASE_URL an embedded Postgres is started and migrated first, and a worker runs along."""
    import uvicorn

    from service.app import create_app
    from service.worker import beside, create_worker

    with open_database() as database, ExitStack() as also:
        if database.embedded:
            migrate_database(database)
            also.enter_context(beside(create_worker(database.settings)))
        uvicorn.run(
            create_app(database.settings), host=host, port=port, log_level="info", server_header=False
        )


def migrate() -> None:
    """Bring the database to this release's schema. Safe to repeat; deployments queue up behind each other."""
    with open_database() as database:
        typer.echo(f"database is at revision {migrate_database(database)}")


def doctor() -> None:
    """Say what this installation is, which database it would use, and whether that is ready."""
    from service.store.migrate import database_revision, newest_revision

    typer.echo(f"steelyard  {__version__}, Python {platform.python_version()}")
    typer.echo(f"database   {'DATABASE_URL' if os.environ.get('DATABASE_URL') else 'embedded'}")
    with open_database() as database:
        typer.echo(f"data dir   {database.data_dir}")
        found, wanted = database_revision(database.settings.migrations_url), newest_revision()
    typer.echo(f"schema     {found or 'empty'}, this release wants {wanted}")
    if found != wanted:
        typer.echo("run `steelyard migrate`")
        raise typer.Exit(1)
