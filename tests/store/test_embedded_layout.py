"""The embedded server's folders and addresses, as far as they can be told without a server."""

import os
import shutil
import time
from pathlib import Path

import pytest

from service.store.embedded import EmbeddedServer, default_data_dir, stop
from service.store.embedded.account import Account
from service.store.embedded.failure import Deadline, EmbeddedPostgresFailed
from service.store.embedded.layout import KEPT_LOGS, Layout
from service.store.embedded.postmaster import live_postmaster
from service.store.embedded.sockets import known_socket_folder, socket_folder

pytestmark = pytest.mark.quick


@pytest.fixture
def ourselves() -> Account:
    return Account(os.geteuid(), os.getegid())


def deep(folder: Path) -> Layout:
    """A layout whose own folder is too deep for a socket."""
    layout = Layout(folder / ("d" * 100))
    layout.folder.mkdir(parents=True)
    return layout


def test_the_environment_names_the_data_folder() -> None:
    assert default_data_dir({"STEELYARD_DATA_DIR": "/srv/steelyard"}) == Path("/srv/steelyard")


def test_a_relative_data_folder_becomes_absolute(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    assert default_data_dir({"STEELYARD_DATA_DIR": "here"}) == tmp_path / "here"


def test_root_keeps_its_data_with_the_state_of_services(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    assert default_data_dir({}) == Path("/var/lib/steelyard")


def test_everybody_else_keeps_it_at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert default_data_dir({}).is_relative_to(Path.home())


def test_an_address_escapes_what_an_address_must() -> None:
    sqlalchemy = pytest.importorskip("sqlalchemy")
    server = EmbeddedServer(Path("/data"), Path("/data/a & b=c? 100%/socket"), 1)
    url = sqlalchemy.make_url(server.dsn("day/one?"))
    assert (url.drivername, url.username, url.database) == (
        "postgresql+psycopg",
        "steelyard_owner",
        "day/one?",
    )
    assert dict(url.query) == {"host": "/data/a & b=c? 100%/socket", "port": "5432"}


def test_only_the_newest_logs_are_kept(tmp_path: Path) -> None:
    layout = Layout(tmp_path)
    layout.log_folder.mkdir(parents=True)
    names = [f"server-20260101-0000{second:02}.log" for second in range(KEPT_LOGS + 3)]
    for name in names:
        (layout.log_folder / name).write_text(name)
    layout.drop_old_logs()
    assert [log.name for log in layout.logs()] == names[-KEPT_LOGS:]


def test_a_socket_folder_too_deep_or_with_a_comma_moves_to_a_short_one(
    tmp_path: Path, ourselves: Account
) -> None:
    comma = Layout(tmp_path / "a,b")
    comma.folder.mkdir(parents=True)
    for layout in (deep(tmp_path), comma):
        chosen = socket_folder(layout, ourselves)
        assert not chosen.is_relative_to(tmp_path)
        assert known_socket_folder(layout) == chosen == socket_folder(layout, ourselves)
        chosen.rmdir()


def test_a_short_socket_folder_that_others_may_enter_is_not_trusted_again(
    tmp_path: Path, ourselves: Account
) -> None:
    layout = deep(tmp_path)
    first = socket_folder(layout, ourselves)
    first.chmod(0o777)
    assert known_socket_folder(layout) is None
    second = socket_folder(layout, ourselves)
    assert second != first
    first.rmdir()
    second.rmdir()


def test_a_short_socket_folder_replaced_by_a_link_is_not_trusted_again(
    tmp_path: Path, ourselves: Account
) -> None:
    layout = deep(tmp_path)
    chosen = socket_folder(layout, ourselves)
    shutil.rmtree(chosen)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir(mode=0o700)
    chosen.symlink_to(elsewhere)
    assert known_socket_folder(layout) is None
    chosen.unlink()


def test_a_pid_file_that_names_this_very_process_is_no_server(tmp_path: Path) -> None:
    layout = Layout(tmp_path)
    layout.cluster.mkdir(parents=True)
    layout.pid_file.write_text(f"{os.getpid()}\n{layout.cluster}\n")
    assert live_postmaster(layout) is None


@pytest.mark.parametrize("text", ["", "\n", "not a number\n"])
def test_a_spoilt_pid_file_names_no_server(tmp_path: Path, text: str) -> None:
    layout = Layout(tmp_path)
    layout.cluster.mkdir(parents=True)
    layout.pid_file.write_text(text)
    assert live_postmaster(layout) is None


def test_a_deadline_says_what_it_waited_for_and_carries_the_log() -> None:
    deadline = Deadline(0.05)
    deadline.pause("rain")
    time.sleep(0.05)
    with pytest.raises(EmbeddedPostgresFailed, match=r"Gave up after 0\.05 s.*rain\.\nclouds") as failure:
        deadline.pause("rain", "clouds")
    assert failure.value.log == "clouds"
    assert deadline.remaining() == 0


def test_stopping_where_nothing_was_ever_started_makes_nothing(tmp_path: Path) -> None:
    began = time.monotonic()
    stop(tmp_path / "absent")
    assert not (tmp_path / "absent").exists()
    assert time.monotonic() - began < 1
