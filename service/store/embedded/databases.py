"""Further databases in the embedded server: throwaway ones for tests, rehearsals of a restore."""

import psycopg
from psycopg import sql

from service.store.embedded.cluster import OWNER, SUPERUSER
from service.store.embedded.server import EmbeddedServer
from service.store.embedded.sockets import PORT


def create_database(server: EmbeddedServer, name: str, *, template: str = "template1") -> str:
    """Create a database that the service's owner role owns, as a copy of ``template``; returns its address.

    Nobody may be connected to the template meanwhile. Raises ``psycopg.errors.DuplicateDatabase`` if the name
    is taken.
    """
    statement = sql.SQL("CREATE DATABASE {} OWNER {} TEMPLATE {}")
    _execute(server, statement.format(*map(sql.Identifier, (name, OWNER, template))))
    return server.dsn(name)


def drop_database(server: EmbeddedServer, name: str) -> None:
    """Drop a database if it exists, cutting off whoever is connected to it."""
    _execute(server, sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name)))


def _execute(server: EmbeddedServer, statement: sql.Composed) -> None:
    host = str(server.socket_dir)
    with psycopg.connect(
        host=host, port=PORT, user=SUPERUSER, dbname="postgres", autocommit=True
    ) as connection:
        connection.execute(statement)
