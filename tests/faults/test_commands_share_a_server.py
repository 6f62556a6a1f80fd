"""Several commands share one embedded server: the last one out stops it, unless it ran before all of them."""

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.cli.database import open_database
from service.store.embedded import ensure_running, running, stop


@pytest.fixture
def data_dir(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A data folder of this test's own, which commands find in the environment."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-cli-", dir="/tmp"))
    monkeypatch.setenv("STEELYARD_DATA_DIR", str(folder))
    yield folder
    stop(folder, mode="immediate")
    shutil.rmtree(folder, ignore_errors=True)


def test_the_first_command_out_leaves_the_server_to_the_others(data_dir: Path) -> None:
    first, second = open_database(), open_database()
    first.__enter__()
    second.__enter__()
    first.__exit__(None, None, None)
    assert running(data_dir) is not None
    second.__exit__(None, None, None)
    assert running(data_dir) is None


def test_a_server_that_ran_before_is_left_running(data_dir: Path) -> None:
    before = ensure_running(data_dir)
    with open_database() as database:
        assert database.embedded
    assert running(data_dir) == before


def test_a_command_that_fails_stops_what_it_started(data_dir: Path) -> None:
    with pytest.raises(ZeroDivisionError), open_database():
        raise ZeroDivisionError
    assert running(data_dir) is None
