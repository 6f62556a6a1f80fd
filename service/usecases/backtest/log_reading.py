"""A log in CSV as rows: any order of columns, commas, semicolons or tabs, decimal points or commas."""

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import chain

from service.core.units import Days, Kilograms
from service.usecases.backtest.lifts import BodyMassLine, LiftBook
from service.usecases.backtest.log_rows import COLUMNS, NEEDED, LogRow, RowFault, read_row
from service.usecases.backtest.sessions import SECONDS_PER_DAY

_DELIMITERS = (",", ";", "\t")


class UnreadableLog(ValueError):
    """The file is no log: it has no header, or one that does not name what is needed."""


@dataclass(frozen=True, slots=True)
class ReadLog:
    """The rows that could be read, in file order, with what was wrong.

    ``row_count`` counts all data rows, those that could not be read included; ``ignored`` are columns that a
    log does not have. ``tells_reps`` says whether there is a column of repetitions: without it nothing can be learnt.
    """

    rows: tuple[LogRow, ...]
    row_count: int
    faults: tuple[RowFault, ...]
    ignored: tuple[str, ...]
    tells_reps: bool = True


def read_log(lines: Iterable[str], told: Callable[[int], None] = lambda _: None) -> ReadLog:
    """Return the log that lines of CSV tell; ``told`` hears now and then how many rows were read.

    A cell that cannot be read counts as blank and is listed. Blank lines are no rows.

    Raises
    ------
    UnreadableLog
        If the header is missing, names a column twice, or lacks one that is needed, or the quoting is broken.
    """
    remaining = iter(lines)
    first = next((line for line in remaining if line.strip()), None)
    if first is None:
        raise UnreadableLog("The file is empty: its first line must name the columns.")
    first = first.removeprefix("\ufeff")
    delimiter = max(_DELIMITERS, key=first.count)
    records = csv.reader(chain([first], remaining), delimiter=delimiter, strict=True)
    rows: list[LogRow] = []
    faults: list[RowFault] = []
    count = -1
    try:
        header = _header(next(records))
        for count, cells in enumerate(cells for cells in records if cells):
            row = read_row(count, dict(_by_column(count, header, cells, faults)), faults)
            if row is not None:
                rows.append(row)
            if count % 5000 == 0:
                told(count)
    except csv.Error as error:
        raise UnreadableLog(f"Line {records.line_num} is no CSV: {error}.") from error
    ignored = tuple(name for name in header if name and name not in COLUMNS)
    return ReadLog(tuple(rows), count + 1, tuple(faults), ignored, "reps" in header)


def with_possible_loads(read: ReadLog, book: LiftBook) -> ReadLog:
    """Return the log without loads that cannot be, each of them a fault.

    Only where the body is lifted does a load below 0 mean something: help, such as -20 for a pull-up; and help is less
    than what is moved.
    """
    faults, rows = list(read.faults), []
    bodies = _bodies(read.rows)
    for row in read.rows:
        expected = _expected_load(row, book, bodies[row.athlete])
        if row.load is None or expected is None:
            rows.append(row)
        else:
            faults.append(RowFault(row.index, "load", f"{row.load:g} kg", expected))
            rows.append(replace(row, load=None, load_unread=True))
    return replace(read, rows=tuple(rows), faults=tuple(sorted(faults, key=lambda fault: fault.row)))


def _bodies(rows: Iterable[LogRow]) -> Mapping[str, BodyMassLine]:
    """Return the body masses that each athlete's rows tell."""
    told: dict[str, list[tuple[Days, Kilograms]]] = {}
    for row in rows:
        of_athlete = told.setdefault(row.athlete, [])
        if row.body_mass is not None:
            of_athlete.append((row.at / SECONDS_PER_DAY, row.body_mass))
    return {athlete: BodyMassLine(masses) for athlete, masses in told.items()}


def _expected_load(row: LogRow, book: LiftBook, bodies: BodyMassLine) -> str | None:
    """Return what a load should have been, None where it can be or none is told."""
    if row.load is None or row.load == 0.0:
        return None
    lift = book.find(row.exercise)
    if not lift.moves_the_body:
        return "a mass from 0 up: the body is not this lift's load" if row.load < 0.0 else None
    if row.load > 0.0 and not lift.is_helped:
        return None
    too_much = lift.takes_off_all(row.load, bodies.on(row.at / SECONDS_PER_DAY))
    return "help of less than the part of the body that is moved" if too_much else None


def _header(cells: list[str]) -> tuple[str, ...]:
    names = tuple(cell.strip().casefold() for cell in cells)
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if twice:
        raise UnreadableLog(f"The header names {', '.join(twice)} twice.")
    missing = [name for name in NEEDED if name not in names]
    if missing:
        raise UnreadableLog(
            f"The header lacks {', '.join(missing)}. It names {', '.join(names)}; a log has {', '.join(COLUMNS)}."
        )
    return names


def _by_column(
    index: int, header: tuple[str, ...], cells: list[str], faults: list[RowFault]
) -> Iterator[tuple[str, str]]:
    if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
        beyond = ", ".join(cells[len(header) :])
        faults.append(
            RowFault(index, "(beyond the last)", beyond, f"within the {len(header)} columns of the header")
        )
    return zip(header, cells, strict=False)
