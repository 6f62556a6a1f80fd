"""What a log keeps of what happened: slips, copies, clocks, columns nobody fills."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

from tests.simulation.athletes import Habit
from tests.simulation.constants import Constants
from tests.simulation.rows import SetRow

START = datetime(2025, 1, 6, tzinfo=UTC)


def degrade(rows: list[SetRow], habit: Habit, c: Constants, rng: Random) -> list[SetRow]:
    """The rows as logged, in the log's order; a repeated row is a row of its own."""
    logged: list[SetRow] = []
    for row in rows:
        _copy_of_last(row, logged, habit, rng)
        _fill(row, habit)
        _slip(row, c.gross_errors, rng)
        logged.append(row)
        if rng.random() < c.repeated_rows:
            logged.append(replace(row, duplicate=True))
    return logged


def _copy_of_last(row: SetRow, logged: list[SetRow], habit: Habit, rng: Random) -> None:
    last = logged[-1] if logged else None
    if last is None or last.session != row.session or last.exercise != row.exercise or last.side != row.side:
        return
    if row.role == "work" and last.role == "work" and not last.entry_error and rng.random() < habit.copies:
        row.logged_reps, row.reserve, row.to_failure, row.copied = (
            last.logged_reps,
            last.reserve,
            last.to_failure,
            True,
        )


def _fill(row: SetRow, habit: Habit) -> None:
    minutes = 0.0 if habit.one_clock else 3.0 * row.ordinal
    row.performed_at = (START + timedelta(days=row.day, minutes=minutes)).strftime("%Y-%m-%dT%H:%M:%SZ")
    if row.purpose == "" and row.role != "warm_up" and habit.logs_purpose:
        row.purpose = "work"
    if habit.logs_body_mass:
        row.body_mass = round(habit.body_mass_kg, 1)


def _slip(row: SetRow, share: float, rng: Random) -> None:
    if rng.random() >= share:
        return
    row.entry_error = True
    kind = rng.choice(("load", "load", "reps"))
    if kind == "load":
        row.load = round(row.load * rng.choice((0.1, 10.0)), 3)
    else:
        row.logged_reps = row.logged_reps * 10


def shuffled(rows: list[SetRow], rng: Random) -> list[SetRow]:
    """One athlete in ten writes the log in no order; the replay must put it right."""
    if rng.random() < 0.1:
        rows = sorted(rows, key=lambda row: (row.exercise, row.performed_at, row.ordinal))
    return rows


def scored(row: SetRow) -> bool:
    return not (row.entry_error or row.duplicate or row.role == "warm_up")


def held_out(rows: Iterable[SetRow]) -> list[bool]:
    """Whether each row is the first working set of its session on its exercise."""
    found: set[tuple[str, str]] = set()
    flags = []
    for row in sorted(rows, key=lambda row: (row.day, row.ordinal)):
        key = (row.session, row.exercise)
        flags.append((row, row.role == "work" and key not in found and not row.duplicate))
        if row.role == "work":
            found.add(key)
    by_id = {id(row): flag for row, flag in flags}
    return [by_id[id(row)] for row in rows]
