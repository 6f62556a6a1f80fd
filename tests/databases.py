"""Where the tests' databases are made: in an embedded server of their own, or in the one that the environment names."""

from dataclasses import dataclass
from typing import Protocol

import psycopg
from psycopg import sql
from sqlalchemy import make_url

from service.store.embedded import EmbeddedServer, create_database, drop_database

#: A server whose role may create databases and roles, such as an older PostgreSQL than the embedded one.
VARIABLE = "STEELYARD_TEST_DATABASE_URL"


class Databases(Protocol):
    """Makes and drops databases."""

    def create(self, name: str, template: str = "template1") -> str:
        """Create a database as a copy of another and return its address."""
        ...

    def drop(self, name: str) -> None:
        """Drop a database, cutting off whoever is connected."""
        ...


@dataclass(frozen=True, slots=True)
class EmbeddedDatabases:
    """Databases in the embedded server."""

    server: EmbeddedServer

    def create(self, name: str, template: str = "template1") -> str:
        """Create a database as a copy of another and return its address."""
        return create_database(self.server, name, template=template)

    def drop(self, name: str) -> None:
        """Drop a database, cutting off whoever is connected."""
        drop_database(self.server, name)


@dataclass(frozen=True, slots=True)
class ExternalDatabases:
    """Databases in a server that runs already."""

    url: str

    def create(self, name: str, template: str = "template1") -> str:
        """Create a database as a copy of another and return its address."""
        self._execute("DROP DATABASE IF EXISTS {} WITH (FORCE)", name)
        self._execute("CREATE DATABASE {} TEMPLATE {}", name, template)
        return make_url(self.url).set(database=name).render_as_string(hide_password=False)

    def drop(self, name: str) -> None:
        """Drop a database, cutting off whoever is connected."""
        self._execute("DROP DATABASE IF EXISTS {} WITH (FORCE)", name)

    def _execute(self, statement: str, *names: str) -> None:
        address = make_url(self.url).set(drivername="postgresql").render_as_string(hide_password=False)
        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))
