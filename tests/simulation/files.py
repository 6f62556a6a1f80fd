"""The world as files: the log in the backtest's format, and the truth beside it."""

import csv
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from tests.simulation.rows import SetRow
from tests.simulation.worlds import World, maxima, sides, truth_columns

LOG_COLUMNS = (
    "athlete",
    "performed_at",
    "session",
    "ordinal",
    "exercise",
    "side",
    "stage",
    "load",
    "unit",
    "reps",
    "reps_in_reserve",
    "to_failure",
    "range",
    "pain",
    "purpose",
    "rest_s",
    "body_mass",
)


PREDICTED = ("mean", "sd", "q025", "q10", "q50", "q90", "q975")


def write_world(world: World, directory: Path) -> None:
    """log.csv, truth.csv, maxima.csv and sides.csv."""
    directory.mkdir(parents=True, exist_ok=True)
    _write(directory / "log.csv", LOG_COLUMNS, map(log_line, world.rows))
    columns = truth_columns(world)
    _write(directory / "truth.csv", list(columns), zip(*map(_cells, columns.values()), strict=True))
    _write_records(directory / "maxima.csv", maxima(world))
    _write_records(directory / "sides.csv", sides(world))


def write_predictions(path: Path, predictions: Sequence[Sequence[float] | None]) -> None:
    """One line a row: mean, sd and five quantiles of N; blank where nothing was predicted."""
    blank = [""] * len(PREDICTED)
    lines = ([i, *(blank if one is None else _cells(list(one)))] for i, one in enumerate(predictions))
    _write(path, ["row", *PREDICTED], lines)


def log_line(row: SetRow) -> Sequence[object]:
    failure = "" if row.to_failure is None else str(row.to_failure).lower()
    reserve = "" if row.reserve is None else f"{row.reserve:g}"
    return (
        row.athlete,
        row.performed_at,
        row.session,
        row.ordinal,
        row.exercise,
        row.side,
        row.stage or "",
        f"{row.load:.10g}",
        row.unit,
        row.logged_reps,
        reserve,
        failure,
        row.range,
        row.pain,
        row.purpose,
        row.rest_s,
        row.body_mass,
    )


def _cells(values: Sequence[object]) -> Iterable[object]:
    return [f"{value:.6g}" if isinstance(value, float) else value for value in values]


def _write(path: Path, header: Sequence[str], lines: Iterable[Sequence[object]]) -> None:
    with path.open("w", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(lines)


def _write_records(path: Path, records: Sequence[Mapping[str, object]]) -> None:
    if records:
        _write(path, list(records[0]), (list(_cells(list(one.values()))) for one in records))
