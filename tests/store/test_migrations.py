"""Migrations: run again without effect, one at a time, and giving up on a busy table rather than blocking it."""

import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import create_engine, exc, pool, text

from service.store import migrate
from tests.databases import Databases

REPOSITORY = Path(__file__).parents[2]
NEXT = """
from alembic import op

revision = "9999"
down_revision = "{down}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE athletes ADD COLUMN invented INTEGER")
"""


@pytest.fixture
def empty_url(databases: Databases) -> Iterator[str]:
    name = f"e{uuid4().hex[:12]}"
    yield databases.create(name)
    databases.drop(name)


@pytest.fixture
def next_revision(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> str:
    """A further migration, which locks a table that requests read."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.migrations_folder(), folder)
    script = NEXT.format(down=migrate.newest_revision())
    (folder / "versions" / "9999_next.py").write_text(script, encoding="utf-8")
    monkeypatch.setattr(migrate, "migrations_folder", lambda: folder)
    return "9999"


def test_an_empty_database_has_no_revision_and_a_migrated_one_the_newest(empty_url: str) -> None:
    assert migrate.database_revision(empty_url) is None
    migrate.upgrade(empty_url)
    assert migrate.database_revision(empty_url) == migrate.newest_revision()
    migrate.upgrade(empty_url)
    assert migrate.database_revision(empty_url) == migrate.newest_revision()


def deployments(*urls: str) -> list[tuple[int, str]]:
    """Migrate in processes of their own, as deployments do, and return how each ended."""
    started = [
        subprocess.Popen(
            [sys.executable, "-c", "import sys; from service.store.migrate import upgrade; upgrade(sys.argv[1])", url],
            cwd=REPOSITORY, stderr=subprocess.PIPE, text=True,
        )
        for url in urls
    ]  # fmt: skip
    said = [process.communicate(timeout=60)[1] for process in started]
    return [(process.returncode, text) for process, text in zip(started, said, strict=True)]


def test_three_deployments_that_migrate_at_once_leave_one_schema(empty_url: str) -> None:
    assert deployments(*[empty_url] * 3) == [(0, "")] * 3
    assert migrate.database_revision(empty_url) == migrate.newest_revision()


def test_two_databases_of_one_server_can_be_migrated_at_once(databases: Databases) -> None:
    names = [f"p{uuid4().hex[:12]}" for _ in range(2)]
    urls = [databases.create(name) for name in names]
    assert deployments(*urls) == [(0, "")] * 2
    assert {migrate.database_revision(url) for url in urls} == {migrate.newest_revision()}
    for name in names:
        databases.drop(name)


def test_a_migration_gives_up_on_a_busy_table_and_succeeds_when_it_is_quiet(
    database_url: str, next_revision: str
) -> None:
    before = migrate.database_revision(database_url)
    engine = create_engine(database_url, poolclass=pool.NullPool)
    with engine.connect() as reader:
        reader.execute(text("SELECT count(*) FROM athletes"))
        began = time.monotonic()
        with pytest.raises(exc.OperationalError, match="lock timeout"):
            migrate.upgrade(database_url)
        waited = time.monotonic() - began
    assert 3.5 < waited < 8
    assert migrate.database_revision(database_url) == before
    migrate.upgrade(database_url)
    assert migrate.database_revision(database_url) == next_revision
    with engine.connect() as connection:
        connection.execute(text("SELECT invented FROM athletes"))
