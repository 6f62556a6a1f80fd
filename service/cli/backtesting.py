"""``steelyard backtest``: replay a log of one's own and see how good the predictions would have been. No database."""

import csv
import errno
import os
import signal
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TextIO
from uuid import uuid4

import typer

if TYPE_CHECKING:
    from collections.abc import Callable

    from service.usecases.backtest.account import BacktestAccount
    from service.usecases.backtest.log_reading import ReadLog
    from service.usecases.backtest.uncomputed import Uncomputed

_MOST_FAULTS = 20


def backtest(
    sets: Annotated[
        Path, typer.Option("--sets", help="The log: CSV, one set a row; `-` reads standard input.")
    ],
    predictions: Annotated[
        Path | None, typer.Option(help="Write what was expected of each row, before it was seen.")
    ] = None,
    capability: Annotated[
        Path | None, typer.Option(help="Write 1RM and loads for 5 to 20 repetitions at the end of the log.")
    ] = None,
    sides: Annotated[
        Path | None, typer.Option(help="Write ln(right/left) by one-sided lift and by muscle.")
    ] = None,
    report: Annotated[Path | None, typer.Option(help="Write a page with scores and calibration.")] = None,
    unit: Annotated[Literal["kg", "lb"], typer.Option(help="Unit of the loads in --capability.")] = "kg",
    strict: Annotated[
        bool, typer.Option("--strict", help="Write nothing if any cell of the log cannot be read.")
    ] = False,
) -> None:
    """Replay a log in time order, predicting each set before it is seen.

    Columns, in any order: athlete, performed_at, session, ordinal, exercise, side, stage, load, unit, reps,
    reps_in_reserve, to_failure, range, pain, purpose, rest_s, body_mass. Only performed_at and exercise
    must be there. Nothing is sent anywhere.
    """
    from service.usecases.backtest.log_reading import UnreadableLog

    # A polite kill cleans up as Ctrl-C does.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        _run(sets, predictions, capability, sides, report, unit, strict=strict)
    except KeyboardInterrupt as stopped:
        typer.echo("Stopped; nothing was written.", err=True)
        raise typer.Exit(130) from stopped
    except UnreadableLog as unreadable:
        typer.echo(f"{sets}: {unreadable}", err=True)
        raise typer.Exit(2) from unreadable
    except UnicodeDecodeError as undecodable:
        typer.echo(f"{sets}: byte {undecodable.start} is not UTF-8. Save the file as CSV in UTF-8.", err=True)
        raise typer.Exit(2) from undecodable
    except OSError as unreachable:
        typer.echo(f"{unreachable.filename}: {unreachable.strerror}", err=True)
        raise typer.Exit(2) from unreachable


def _run(
    sets: Path,
    predictions: Path | None,
    capability: Path | None,
    sides: Path | None,
    report: Path | None,
    unit: Literal["kg", "lb"],
    *,
    strict: bool,
) -> None:
    from service.catalogue.loading import load_catalogue
    from service.reports.backtest_page import render_backtest
    from service.usecases.backtest import tables
    from service.usecases.backtest.account import account_for
    from service.usecases.backtest.lifts import LiftBook
    from service.usecases.backtest.log_reading import with_possible_loads
    from service.usecases.backtest.replaying import replay

    with ExitStack() as files, _progress() as tell:
        # Opened first: a folder that cannot be written to is found out before the work, and all appear together.
        predicted, capable, sided, page = (
            None if path is None else files.enter_context(_replacing(path))
            for path in (predictions, capability, sides, report)
        )
        book = LiftBook(load_catalogue())
        read = with_possible_loads(_read(sets, tell), book)
        _tell_faults(read, strict=strict)
        began = time.monotonic()
        replayed = replay(read.rows, book, lambda count: tell(f"replayed {count} of {len(read.rows)} sets"))
        took = time.monotonic() - began
        tell("writing ...")
        failed: list[Uncomputed] = []
        _write_csv(predicted, tables.PREDICTION_COLUMNS, tables.prediction_rows(replayed, read.row_count))
        _write_csv(capable, tables.CAPABILITY_COLUMNS, tables.capability_rows(replayed, unit, failed.append))
        _write_csv(sided, tables.SIDE_COLUMNS, tables.side_rows(replayed, load_catalogue(), failed.append))
        account = account_for(read, replayed, book, sets.name, failed)
        if page is not None:
            page.write(render_backtest(account))
    _tell_some([str(one) for one in account.uncomputed])
    _print_summary(account, took)


def _read(sets: Path, tell: "Callable[[str], None]") -> "ReadLog":
    from service.usecases.backtest.log_reading import read_log

    def told(count: int) -> None:
        tell(f"read {count} rows")

    if str(sets) == "-":
        return read_log(sys.stdin, told)
    with sets.open(encoding="utf-8-sig", newline="") as lines:
        return read_log(lines, told)


def _tell_faults(read: "ReadLog", *, strict: bool) -> None:
    from service.usecases.backtest.account import NO_REPETITIONS

    _tell_some([str(fault) for fault in read.faults])
    blank = sum(not fault.read_as for fault in read.faults)
    if blank:
        typer.echo(f"Read as blank: {'1 cell' if blank == 1 else f'{blank} cells'}.", err=True)
    if not read.tells_reps and read.rows:
        typer.echo(NO_REPETITIONS, err=True)
    if read.ignored:
        typer.echo(f"ignored columns: {', '.join(read.ignored)}", err=True)
    if read.faults and strict:
        typer.echo("Nothing was written (--strict).", err=True)
        raise typer.Exit(1)


def _tell_some(lines: list[str]) -> None:
    for line in lines[:_MOST_FAULTS]:
        typer.echo(line, err=True)
    if len(lines) > _MOST_FAULTS:
        typer.echo(f"... and {len(lines) - _MOST_FAULTS} more", err=True)


@contextmanager
def _progress() -> "Iterator[Callable[[str], None]]":
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    with console.status("reading ...") as status:
        yield status.update


def _write_csv(file: TextIO | None, columns: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> None:
    if file is not None:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(rows)


@contextmanager
def _replacing(path: Path) -> Iterator[TextIO]:
    """Write beside the file and put it in place when it is whole, so that a stop leaves nothing half-written.

    A link stays a link: its target is replaced. Devices and pipes are written to as they are.
    """
    whole = path.resolve()
    if (
        path.is_relative_to("/dev")
        or path.is_relative_to("/proc")
        or (whole.exists() and not whole.is_file())
    ):
        with path.open("w", encoding="utf-8", newline="") as device:
            yield device
        return
    if not whole.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))
    # Named before it is made, so that a stop at any moment knows what to take away.
    beside = whole.with_name(f".{whole.name}.{uuid4().hex}")
    try:
        with beside.open("x", encoding="utf-8", newline="") as file:
            yield file
        beside.replace(whole)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _print_summary(account: "BacktestAccount", seconds: float) -> None:
    from rich.console import Console
    from rich.table import Table

    from service.usecases.backtest.account import in_plain_words

    console = Console(highlight=False)
    scores = account.scores
    if scores.overall is not None:
        shown = Table(title=f"Repetitions to failure, predicted before each set ({account.model_version})")
        for name in ("", "sets", "inside 80 %", "inside 95 %", "CRPS", "leaning", "off by"):
            shown.add_column(name, justify="left" if not name else "right")
        for name, score in {**scores.by_told, "both": scores.overall, **scores.by_band}.items():
            shown.add_row(
                name, str(score.count), f"{score.covered_80:.1%}", f"{score.covered_95:.1%}",
                f"{score.crps:.2f}", f"{score.bias:+.2f}", f"{score.error:.2f}",
            )  # fmt: skip
        console.print(shown)
    for said in in_plain_words(scores):
        console.print(said)
    for name, count in list(account.unknown_names.items())[:_MOST_FAULTS]:
        console.print(
            f"unknown exercise {name!r} ({count} rows): followed with a generic curve", markup=False
        )
    console.print(
        f"{account.set_count} sets replayed in {seconds:.1f} s, {account.predicted_count} predicted.",
        style="dim",
    )
