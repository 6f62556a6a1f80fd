"""``steelyard backtest`` as a coach runs it: one command, no database, files that are whole or not there."""

import csv
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import chdir
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from service.cli import app
from service.usecases.backtest.tables import CAPABILITY_COLUMNS, PREDICTION_COLUMNS, SIDE_COLUMNS
from tests.demo_log import demo_log

pytestmark = pytest.mark.quick
CHECKOUT = Path(__file__).parents[3]
SMALL = """\
performed_at,exercise,side,load,reps,reps_in_reserve,to_failure
2026-03-02,bench press,,80,8,2,
2026-03-02,bench press,,80,8,1,
2026-03-04,one-arm dumbbell row,right,30,10,2,
2026-03-04,one-arm dumbbell row,left,30,10,1,
2026-03-06,bench press,,80,9,,true
2026-03-08,moon lift,,50,8,2,
2026-03-10,moon lift,,50,9,2,
"""


NAMED = ("--predictions", "P.csv", "--capability", "C.csv", "--sides", "S.csv", "--report", "R.html")
NOWHERE = "postgresql://127.0.0.1:1/nowhere"


@pytest.fixture(autouse=True)
def a_kill_means_what_it_did() -> Iterator[None]:
    """The command takes a polite kill for Ctrl-C, which must not outlive it here."""
    before = signal.getsignal(signal.SIGTERM)
    yield
    signal.signal(signal.SIGTERM, before)


def _run(folder: Path, log: str, *more: str, outputs: bool = True) -> Result:
    """Run the command in this process, where an error that it lets through is the test's own."""
    (folder / "log.csv").write_text(log, encoding="utf-8")
    command = ["backtest", "--sets", "log.csv", *(NAMED if outputs else ()), *more]
    with chdir(folder):
        return CliRunner().invoke(app, command, env={"DATABASE_URL": NOWHERE}, catch_exceptions=False)


def _table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """The command as it is started from a shell."""
    folder = tmp_path_factory.mktemp("small")
    (folder / "log.csv").write_text(SMALL, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "service", "backtest", "--sets", "log.csv", *NAMED],
        capture_output=True, text=True, check=False, cwd=folder, timeout=300,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT), "DATABASE_URL": NOWHERE},
    )  # fmt: skip
    return folder, ran


def test_it_needs_no_database_and_tells_a_summary(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    _, ran = done
    assert ran.returncode == 0, ran.stderr
    assert "inside 80 %" in ran.stdout
    assert "'moon lift' (2 rows)" in ran.stdout
    assert "Traceback" not in ran.stderr


def test_the_tables_have_their_columns_and_one_prediction_per_row(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    folder, _ = done
    predictions = _table(folder / "P.csv")
    assert tuple(predictions[0]) == PREDICTION_COLUMNS
    assert [row["row"] for row in predictions] == [str(number) for number in range(7)]
    blank = [row["row"] for row in predictions if not row["mean"]]
    assert blank == ["0", "2", "5"]
    for row in predictions:
        if row["mean"]:
            quantiles = [float(row[name]) for name in ("q025", "q10", "q50", "q90", "q975")]
            assert quantiles == sorted(quantiles)
            assert float(row["sd"]) > 0.0


def test_capability_is_told_per_lift_and_side_and_falls_with_repetitions(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    folder, _ = done
    rows = _table(folder / "C.csv")
    assert tuple(rows[0]) == CAPABILITY_COLUMNS
    assert [(row["exercise"], row["side"]) for row in rows] == [
        ("bench press", "both"), ("one-arm dumbbell row", "left"), ("one-arm dumbbell row", "right"), ("moon lift", "both"),
    ]  # fmt: skip
    for row in rows:
        medians = [float(row[f"{what}_q50"]) for what in ("1rm", "load_5", "load_8", "load_10", "load_20")]
        assert medians == sorted(medians, reverse=True)
        assert float(row["1rm_q10"]) < float(row["1rm_q50"]) < float(row["1rm_q90"])
    # 80 kg were lifted nine times to failure: more than 80 once, less than 80 for twenty.
    assert float(rows[0]["1rm_q10"]) > 80.0 > float(rows[0]["load_20_q90"])


def test_the_side_that_left_more_in_reserve_is_ahead(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    folder, _ = done
    (row,) = _table(folder / "S.csv")
    assert tuple(row) == SIDE_COLUMNS
    assert (row["exercise"], row["muscle"]) == ("one-arm dumbbell row", "")
    assert float(row["q025"]) < float(row["q10"]) < float(row["t"]) < float(row["q90"]) < float(row["q975"])
    assert 0.5 < float(row["p_right_ahead"]) < 0.98


def test_the_report_names_what_it_did_not_know(
    done: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    page = (done[0] / "R.html").read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert "moon lift" in page


def test_pounds_are_answered_where_asked(tmp_path: Path) -> None:
    ran = _run(tmp_path, SMALL, "--capability", "C.csv", "--unit", "lb", outputs=False)
    assert ran.exit_code == 0, ran.stderr
    row = _table(tmp_path / "C.csv")[0]
    assert row["unit"] == "lb"
    assert float(row["1rm_q50"]) > 80.0 / 0.45359237


@pytest.mark.parametrize(
    ("log", "more", "code", "said"),
    [
        ("exercise,reps\nbench press,5\n", (), 2, "lacks performed_at"),
        (
            "performed_at,exercise,reps\nmonday,bench press,5\n",
            ("--strict",),
            1,
            "row 0, column performed_at: 'monday'",
        ),
    ],
)
def test_what_cannot_be_used_leaves_nothing_behind(
    log: str, more: tuple[str, ...], code: int, said: str, tmp_path: Path
) -> None:
    (tmp_path / "P.csv").write_text("from before")
    ran = _run(tmp_path, log, *more)
    assert ran.exit_code == code
    assert said in ran.stderr
    assert (tmp_path / "P.csv").read_text() == "from before"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["P.csv", "log.csv"]


def test_cells_that_are_read_as_something_else_and_a_missing_column_are_said(tmp_path: Path) -> None:
    log = "performed_at,exercise,load,range\n2026-03-02,back squat,-30,most of it\n"
    ran = _run(tmp_path, log)
    assert ran.exit_code == 0, ran.stderr
    assert "read as a range of its own" in ran.stderr
    assert "'-30 kg' is not a mass from 0 up" in ran.stderr
    assert "Read as blank: 1 cell." in ran.stderr
    assert "no column reps" in ran.stderr
    assert "no column reps" in (tmp_path / "R.html").read_text(encoding="utf-8")
    assert [row["mean"] for row in _table(tmp_path / "P.csv")] == [""]


def test_a_missing_file_and_a_wrong_encoding_are_said_plainly(tmp_path: Path) -> None:
    ran = _run(tmp_path, SMALL, "--sets", "nowhere.csv", outputs=False)
    assert (ran.exit_code, "nowhere.csv: No such file" in ran.stderr) == (2, True)
    (tmp_path / "old.csv").write_bytes(
        "performed_at,exercise,reps\n2026-03-02,dévelopé,5\n".encode("latin-1")
    )
    ran = _run(tmp_path, SMALL, "--sets", "old.csv", outputs=False)
    assert (ran.exit_code, "is not UTF-8" in ran.stderr) == (2, True)


def test_a_link_stays_a_link_and_a_device_a_device(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "P.csv").symlink_to(tmp_path / "elsewhere" / "P.csv")
    ran = _run(tmp_path, SMALL, "--predictions", "P.csv", "--sides", "/dev/null", outputs=False)
    assert ran.exit_code == 0, ran.stderr
    assert (tmp_path / "P.csv").is_symlink()
    assert len(_table(tmp_path / "elsewhere" / "P.csv")) == 7
    assert Path("/dev/null").is_char_device()


def test_a_folder_that_is_not_there_is_found_out_before_the_work(tmp_path: Path) -> None:
    ran = _run(tmp_path, SMALL, "--predictions", "P.csv", "--report", "nowhere/R.html", outputs=False)
    assert (ran.exit_code, ran.stderr.strip()) == (2, "nowhere/R.html: No such file or directory")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["log.csv"]


@pytest.mark.parametrize("kill", [signal.SIGTERM, signal.SIGINT])
def test_a_stop_in_the_middle_leaves_nothing_half_written(kill: signal.Signals, tmp_path: Path) -> None:
    (tmp_path / "P.csv").write_text("from before")
    command = [sys.executable, "-m", "service", "backtest", "--sets", "-", "--predictions", "P.csv"]
    running = subprocess.Popen(
        command, cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    deadline = time.monotonic() + 60.0
    while (
        len(list(tmp_path.iterdir())) < 2 and time.monotonic() < deadline
    ):  # until it writes beside the file
        time.sleep(0.02)
    running.send_signal(kill)
    _, said = running.communicate(timeout=60)
    assert (running.returncode, "nothing was written" in said) == (130, True)
    assert [(file.name, file.read_text()) for file in tmp_path.iterdir()] == [("P.csv", "from before")]


def test_a_stop_as_the_file_beside_is_made_leaves_nothing_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, usual = [], Path.open

    def stopped(self: Path, mode: str = "r", *more: Any, **named: Any) -> Any:
        opened = usual(self, mode, *more, **named)
        if "x" not in mode:
            return opened
        opened.close()
        made.append(self)
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "open", stopped)
    ran = _run(tmp_path, SMALL, "--predictions", "P.csv", outputs=False)
    assert (ran.exit_code, "nothing was written" in ran.stderr, len(made)) == (130, True, 1)
    assert sorted(file.name for file in tmp_path.iterdir()) == ["log.csv"]


def test_the_demos_people_are_replayed_and_scored(tmp_path: Path) -> None:
    log = demo_log()
    ran = _run(tmp_path, log)
    assert ran.exit_code == 0, ran.stderr
    assert ran.stderr == ""
    predictions = _table(tmp_path / "P.csv")
    assert len(predictions) == log.count("\n") - 1
    assert sum(bool(row["mean"]) for row in predictions) > 0.95 * len(predictions)
    ahead = {
        (row["athlete"], row["exercise"]): float(row["p_right_ahead"]) for row in _table(tmp_path / "S.csv")
    }
    # What the simulation knows of Ilva: right 6 % stronger in the row, left 11 % stronger in the overhead press.
    assert ahead["ilva", "one-arm-dumbbell-row"] > 0.9
    assert ahead["ilva", "one-arm-overhead-press"] < 0.1


def test_the_log_in_the_readme_is_read_without_a_fault(tmp_path: Path) -> None:
    readme = (CHECKOUT / "README.md").read_text(encoding="utf-8")
    log = readme.partition("```csv\n")[2].partition("```")[0]
    ran = _run(tmp_path, log, "--strict")
    assert (ran.exit_code, ran.stderr) == (0, "")
    assert [bool(row["mean"]) for row in _table(tmp_path / "P.csv")] == [False, True, False, True, True]
    assert [row["exercise"] for row in _table(tmp_path / "S.csv")] == ["1-arm DB row"]
