"""Fixtures that every tier may use: a real Postgres, a migrated database, an application, and callers of it.

Nothing is faked: the database is built by the migrations, and requests go through the whole application.
"""

import gc
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest
from hypothesis import settings

from service.kernel_cache import keep_kernels

keep_kernels()  # before anything imports the compiler
# Tests share the cores already: threads of one small matrix product wait for each other, at three times the work.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before anything imports numpy

# Databases and the web are imported by the fixtures that use them: every process of the quick tests would wait for them.
if TYPE_CHECKING:
    from service.store.embedded import EmbeddedServer
    from tests.databases import Databases
    from tests.world import World

# What holds of every example is tested, not how fast it is found: machines differ, and this one may be busy.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

for _leaking in ("DATABASE_URL", "MIGRATIONS_DATABASE_URL", "STEELYARD_DATA_DIR", "REPORTS_DATABASE_URL"):
    os.environ.pop(_leaking, None)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Import no file without a quick test where only those are asked for: some do much work as they are read."""
    if config.option.markexpr != "quick" or collection_path.suffix != ".py":
        return None
    return None if "mark.quick" in collection_path.read_text("utf-8") else True


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Look for no garbage while tests are collected, and none ever among what was: it lives as long as the process does."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(50_000, 20, 20)  # all that there is was looked through at every hundredth test
        gc.enable()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """Give each process half of the quick tests, the rest of the other's when it is done, and none a file by halves.

    Dealt out in portions, as is usual, the first process was left with the slowest, and worked half as long again.
    """
    if config.option.markexpr != "quick" or config.option.dist != "load":
        return None
    from xdist.scheduler import WorkStealingScheduling

    return WorkStealingScheduling(config, log)


@pytest.fixture(scope="session")
def server() -> "Iterator[EmbeddedServer]":
    """One embedded Postgres for a test process."""
    from service.store.embedded import ensure_running, stop

    folder = Path(tempfile.mkdtemp(prefix="steelyard-tests-", dir="/tmp"))
    yield ensure_running(folder)
    stop(folder, mode="immediate")
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def databases(request: pytest.FixtureRequest) -> "Databases":
    """Where databases are made: the embedded server, unless the environment names another."""
    from tests.databases import VARIABLE, EmbeddedDatabases, ExternalDatabases

    if os.environ.get(VARIABLE):
        return ExternalDatabases(os.environ[VARIABLE])
    return EmbeddedDatabases(request.getfixturevalue("server"))


@pytest.fixture(scope="session")
def migrated_template(databases: "Databases") -> Iterator[str]:
    """The name of a database at the newest revision, to copy from."""
    from service.store.migrate import upgrade

    name = f"migrated_{os.getpid()}"
    upgrade(databases.create(name))
    yield name
    databases.drop(name)


@pytest.fixture
def database_url(databases: "Databases", migrated_template: str) -> Iterator[str]:
    """A fresh migrated database, for one test."""
    name = f"t{uuid4().hex[:12]}"
    yield databases.create(name, migrated_template)
    databases.drop(name)


@pytest.fixture(scope="module")
def module_database_url(databases: "Databases", migrated_template: str) -> Iterator[str]:
    """A migrated database that the tests of one module share."""
    name = f"m{uuid4().hex[:12]}"
    yield databases.create(name, migrated_template)
    databases.drop(name)


def _world(url: str) -> "World":
    # It computes its own examples as it is read, which tests of a single rule need not wait for.
    from service.app import create_app
    from service.settings import Settings
    from tests.world import SetClock, World

    clock = SetClock()
    return World(create_app(Settings(url, url, pool_size=5), clock), url, clock)


def _close(world: "World") -> None:
    world.app.state.services.store.close()


@pytest.fixture
def world(database_url: str) -> "Iterator[World]":
    """An application on a fresh database."""
    made = _world(database_url)
    yield made
    _close(made)


@pytest.fixture(scope="module")
def shared_world(module_database_url: str) -> "Iterator[World]":
    """An application on a database that the tests of one module share; each makes a tenant of its own."""
    made = _world(module_database_url)
    yield made
    _close(made)


@pytest.fixture
def new_id() -> Callable[[], str]:
    """Return ids as a client would make them."""
    return lambda: str(uuid4())
