"""Bring a database to the newest schema, and tell whether it is there."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, pool

from service.store import queue_schema

_PACKAGED = Path(__file__).parent.parent / "_migrations"
_CHECKOUT = Path(__file__).parent.parent.parent / "migrations"


def migrations_folder() -> Path:
    """Return the folder of migration scripts: inside the wheel, or beside the package in a checkout."""
    return _PACKAGED if _PACKAGED.is_dir() else _CHECKOUT


def _config(url: str) -> Config:
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    config.set_main_option("sqlalchemy.url", url.replace("%", "%%"))
    return config


def upgrade(url: str) -> None:
    """Run every missing migration as the owner that the URL names, the job queue's included."""
    command.upgrade(_config(url), "head")
    queue_schema.bring_up_to_date(url)


def newest_revision() -> str:
    """Return the revision that this release expects."""
    head = ScriptDirectory(str(migrations_folder())).get_current_head()
    if head is None:
        raise FileNotFoundError(f"no migrations in {migrations_folder()}")
    return head


def revision_of(connection: Connection) -> str | None:
    """Return the revision that the database is at, None for an empty database."""
    return MigrationContext.configure(connection).get_current_revision()


def database_revision(url: str) -> str | None:
    """Return the revision of the database that the URL names."""
    engine = create_engine(url, poolclass=pool.NullPool)
    with engine.connect() as connection:
        return revision_of(connection)
