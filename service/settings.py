"""Settings: read from the environment once, then handed down as values."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything that differs between deployments.

    ``database_url`` is what requests use; ``migrations_url`` the owner's, the same unless given. ``data_dir`` holds the
    embedded database where no ``DATABASE_URL`` is given.
    """

    database_url: str
    migrations_url: str
    pool_size: int = 10
    data_dir: Path | None = None


def with_driver(url: str) -> str:
    """Return a Postgres URL with the driver that the store uses."""
    for prefix in ("postgresql://", "postgres://"):
        if url.startswith(prefix):
            return "postgresql+psycopg://" + url.removeprefix(prefix)
    return url


def without_driver(url: str) -> str:
    """Return a URL as the database's own tools take it."""
    return url.replace("postgresql+psycopg://", "postgresql://", 1)


def from_environment(environ: Mapping[str, str], embedded_url: str | None = None) -> Settings:
    """Return the settings that the environment says; raises ``KeyError`` where no database is named.

    ``embedded_url`` is the embedded server's, for callers that have started it.
    """
    url = environ.get("DATABASE_URL") or embedded_url
    if not url:
        raise KeyError("DATABASE_URL")
    return Settings(
        database_url=with_driver(url),
        migrations_url=with_driver(environ.get("MIGRATIONS_DATABASE_URL") or url),
        pool_size=int(environ.get("STEELYARD_POOL_SIZE", "10")),
    )
