"""The migrated schema: equal to the tables' metadata, closed by policies, and open to the runtime role by the least."""

from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import Connection, Engine, create_engine, exc, pool, text

from service.store.database import RUNTIME_ROLE
from service.store.tables import APPEND_ONLY_TABLES, SET_PARTITIONS, UNSCOPED_TABLES, metadata
from tests.databases import Databases

TENANT_TABLES = sorted(set(metadata.tables) - UNSCOPED_TABLES)
#: The rows of a roster, and what can be folded anew from the log; everything else leaves a tombstone.
DELETABLE = {"group_members", "capability_states", "capability_checkpoints"}

COLUMNS = """
    SELECT table_name, column_name, ordinal_position, data_type, udt_name, is_nullable, column_default
    FROM information_schema.columns WHERE table_schema = 'public'"""
CONSTRAINTS = """
    SELECT c.conrelid::regclass::text, c.conname, pg_get_constraintdef(c.oid)
    FROM pg_constraint c WHERE c.connamespace = 'public'::regnamespace AND c.contype <> 'n'"""
INDEXES = "SELECT tablename, indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'"
STORAGE = """
    SELECT relname, relkind, reloptions, pg_get_partkeydef(oid)
    FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p')"""


@pytest.fixture
def declared(databases: Databases) -> Iterator[Engine]:
    """A database made from the tables' metadata."""
    name = f"d{uuid4().hex[:12]}"
    engine = create_engine(databases.create(name), poolclass=pool.NullPool)
    metadata.create_all(engine)
    yield engine
    databases.drop(name)


@pytest.fixture(scope="module")
def migrated(module_database_url: str) -> Engine:
    return create_engine(module_database_url, poolclass=pool.NullPool)


@pytest.fixture
def owner(migrated: Engine) -> Iterator[Connection]:
    with migrated.connect() as connection:
        yield connection


def shape(engine: Engine, question: str) -> set[tuple[Any, ...]]:
    """Return what a question about the catalogue answers, without partitions and the migrations' own table."""
    with engine.connect() as connection:
        rows = [tuple(str(part) for part in row) for row in connection.execute(text(question))]
    return {row for row in rows if row[0] in metadata.tables}


@pytest.mark.parametrize("question", [COLUMNS, CONSTRAINTS, INDEXES, STORAGE])
def test_the_migrations_make_what_the_tables_say(migrated: Engine, declared: Engine, question: str) -> None:
    made = shape(migrated, question)
    assert len(made) >= len(metadata.tables)
    assert made == shape(declared, question)


def test_there_is_no_table_that_the_metadata_does_not_know(owner: Connection) -> None:
    names = owner.execute(text("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")).scalars()
    partitions = {f"sets_{number:02d}" for number in range(SET_PARTITIONS)}
    assert set(names) == {*metadata.tables, *partitions, "alembic_version"}


def test_every_key_and_index_of_a_tenants_table_begins_with_the_tenant(owner: Connection) -> None:
    keys = owner.execute(
        text("""
        SELECT i.indrelid::regclass::text AS of, i.indexrelid::regclass::text AS name, a.attname AS first
        FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = i.indkey[0]
        WHERE i.indrelid::regclass::text = ANY(:tables)
        UNION ALL
        SELECT c.conrelid::regclass::text, c.conname, a.attname
        FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[1]
        WHERE c.contype = 'f' AND c.conrelid::regclass::text = ANY(:tables)"""),
        {"tables": TENANT_TABLES},
    ).all()
    assert {row.of for row in keys} == set(TENANT_TABLES)
    assert [(row.of, row.name) for row in keys if row.first != "tenant_id"] == []


def test_every_tenants_table_and_no_other_is_closed_by_a_forced_policy(owner: Connection) -> None:
    rows = owner.execute(
        text("""
        SELECT c.relname, c.relrowsecurity AND c.relforcerowsecurity AS closed,
               p.polname, p.polcmd, p.polpermissive, pg_get_expr(p.polqual, p.polrelid) AS seen,
               pg_get_expr(p.polwithcheck, p.polrelid) AS written
        FROM pg_class c LEFT JOIN pg_policy p ON p.polrelid = c.oid WHERE c.relname = ANY(:tables)"""),
        {"tables": sorted(metadata.tables)},
    ).all()
    assert sorted(row.relname for row in rows if row.closed) == TENANT_TABLES
    policies = {(row.polname, row.polcmd, row.polpermissive) for row in rows if row.closed}
    assert policies == {("tenant_isolation", "*", True)}
    predicates = {part for row in rows if row.closed for part in (row.seen, row.written)}
    assert len(predicates) == 1
    assert "tenant_id = (NULLIF(current_setting('steelyard.tenant_id'" in predicates.pop()


def test_the_runtime_role_may_read_and_write_and_nothing_more(owner: Connection) -> None:
    rights = owner.execute(
        text("""
        SELECT table_name, privilege_type FROM information_schema.role_table_grants WHERE grantee = :role"""),
        {"role": RUNTIME_ROLE},
    ).all()
    granted: dict[str, set[str]] = {}
    for table, right in rights:
        granted.setdefault(table, set()).add(right)
    assert set(granted) == {*TENANT_TABLES, "alembic_version"}
    assert {table for table, given in granted.items() if "DELETE" in given} == DELETABLE
    assert all(given <= {"SELECT", "INSERT", "UPDATE", "DELETE"} for given in granted.values())
    assert all("UPDATE" not in granted[table] for table in APPEND_ONLY_TABLES)


def test_the_runtime_role_owns_nothing_and_cannot_pass_the_policies(owner: Connection) -> None:
    role = owner.execute(
        text("""
        SELECT rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb OR rolcanlogin OR rolreplication AS strong,
               EXISTS (SELECT FROM pg_class WHERE relowner = r.oid)
               OR EXISTS (SELECT FROM pg_namespace WHERE nspowner = r.oid) AS owns,
               has_schema_privilege(r.oid, 'public', 'CREATE') AS creates,
               EXISTS (SELECT FROM pg_auth_members WHERE member = r.oid) AS belongs
        FROM pg_roles r WHERE rolname = :role"""),
        {"role": RUNTIME_ROLE},
    ).one()
    assert (role.strong, role.owns, role.creates, role.belongs) == (False, False, False, False)


FORBIDDEN = {
    "create a table": "CREATE TABLE mine (id int)",
    "alter a table": "ALTER TABLE athletes ADD COLUMN mine int",
    "drop a table": "DROP TABLE athletes",
    "open a table": "ALTER TABLE athletes DISABLE ROW LEVEL SECURITY",
    "drop a policy": "DROP POLICY tenant_isolation ON athletes",
    "empty a table": "TRUNCATE changes",
    "delete sets": "DELETE FROM sets",
    "rewrite the feed": "UPDATE changes SET op = 'put'",
    "rewrite a consent": "UPDATE consents SET body = '{}'",
    "read the tenants": "SELECT * FROM tenants",
    "read one partition past its policy": "SELECT * FROM sets_00",
}


@pytest.mark.parametrize("deed", FORBIDDEN)
def test_the_runtime_role_is_refused(owner: Connection, deed: str) -> None:
    owner.execute(text(f"SET LOCAL ROLE {RUNTIME_ROLE}"))
    with pytest.raises(exc.ProgrammingError, match=r"permission denied|must be owner|must be able to"):
        owner.execute(text(FORBIDDEN[deed]))
