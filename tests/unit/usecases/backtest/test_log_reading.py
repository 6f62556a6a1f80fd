"""Logs as people and spreadsheets write them, and what is said of cells that cannot be read."""

import pytest

from service.usecases.backtest.log_reading import ReadLog, UnreadableLog, read_log
from service.usecases.backtest.log_rows import COLUMNS

pytestmark = pytest.mark.quick


def _read(text: str) -> ReadLog:
    return read_log(text.splitlines(keepends=True))


def test_columns_may_stand_in_any_order_and_be_missing() -> None:
    read = _read("reps,exercise,performed_at\n8,bench press,2026-03-02\n")
    (row,) = read.rows
    assert (row.reps, row.exercise, row.local_day, row.load, row.athlete) == (
        8, "bench press", "2026-03-02", None, "",
    )  # fmt: skip
    assert read.faults == ()


def test_blanks_mean_not_told() -> None:
    header = ",".join(COLUMNS)
    (row,) = _read(f"{header}\nA,2026-03-02T17:30:00Z,,,bench press,,,60,,8,,,,,,,\n").rows
    assert (row.side, row.stage, row.reps_in_reserve, row.to_failure, row.setup) == ("", 0, None, False, "")
    assert (row.pain, row.purpose, row.rest_s, row.body_mass, row.load) == (None, "unknown", None, None, 60.0)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffperformed_at,exercise,load,reps\n2026-03-02,squat,100.5,5\n",
        "performed_at;exercise;load;reps\n2026-03-02;squat;100,5;5\n",
        "performed_at\texercise\tload\treps\r\n2026-03-02\tsquat\t100.5\t5\r\n",
        'Performed_At, Exercise ,"load",reps\n\n2026-03-02,"squat",100.5,5\n\n',
    ],
)
def test_marks_delimiters_and_decimal_commas_of_spreadsheets_are_understood(text: str) -> None:
    read = _read(text)
    assert [(row.exercise, row.load, row.reps) for row in read.rows] == [("squat", 100.5, 5)]
    assert read.faults == ()


def test_pounds_become_kilograms_by_the_international_pound() -> None:
    """One avoirdupois pound is exactly 0.45359237 kg (international yard and pound agreement, 1959)."""
    text = "performed_at,exercise,load,unit,reps,body_mass\n2026-03-02,dip,100,lb,5,200\n2026-03-02,dip,100,kg,5,90\n"
    pounds, kilograms = _read(text).rows
    assert pounds.load == pytest.approx(45.359237, abs=1e-12)
    assert pounds.body_mass == pytest.approx(90.718474, abs=1e-12)
    assert (kilograms.load, kilograms.body_mass) == (100.0, 90.0)


@pytest.mark.parametrize(
    ("column", "cell", "expected"),
    [
        ("load", "heavy", "a mass from 0 up"),
        ("load", "nan", "a mass from 0 up"),
        ("load", "-5", "a mass from 0 up"),
        ("unit", "stone", "kg or lb"),
        ("reps", "8.5", "a whole number of repetitions"),
        ("reps_in_reserve", "-1", "a number of repetitions from 0 up"),
        ("to_failure", "maybe", "true or false"),
        ("side", "middle", "left, right, both or blank"),
        ("range", "most of it", "full, bottom_half, top_half, unknown or degrees such as 0-60"),
        ("pain", "11", "a number from 0 to 10"),
        ("purpose", "fun", "one of unknown, warm_up, work, reduced, test, technique, rehab"),
        ("rest_s", "long", "seconds from 0 up"),
        ("stage", "first", "a whole number, 0 for the set before any drop"),
        ("body_mass", "5", "a mass from 15 up"),
    ],
)
def test_a_fault_says_row_column_and_what_was_expected(column: str, cell: str, expected: str) -> None:
    columns = {"performed_at": "2026-03-02", "exercise": "squat", "load": "100", "reps": "5"}
    good, bad = columns | {column: ""}, columns | {column: cell}
    lines = [",".join(good), ",".join(good.values()), ",".join(bad.values())]
    read = _read("\n".join(lines))
    (fault,) = read.faults
    assert (fault.row, fault.column, fault.found, fault.expected) == (1, column, cell, expected)
    assert str(fault) == f"row 1, column {column}: {cell!r} is not {expected}"
    assert len(read.rows) == 2


@pytest.mark.parametrize(("column", "cell"), [("performed_at", "yesterday"), ("exercise", "")])
def test_a_row_without_time_or_exercise_is_left_out_and_still_counted(column: str, cell: str) -> None:
    columns = {"performed_at": "2026-03-02", "exercise": "squat", "load": "100", "reps": "5"}
    read = _read("\n".join([",".join(columns), ",".join((columns | {column: cell}).values())]))
    assert (read.rows, read.row_count) == ((), 1)
    assert read.faults[0].column == column


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("exercise,reps\nsquat,5\n", "lacks performed_at"),
        ("performed_at,exercise,reps,reps\n2026-03-02,squat,5,5\n", "reps twice"),
        ('performed_at,exercise,reps\n2026-03-02,"squat"x,5\n', "Line 2 is no CSV"),
    ],
)
def test_what_is_no_log_is_refused_in_a_sentence(text: str, said: str) -> None:
    with pytest.raises(UnreadableLog, match=said):
        _read(text)


def test_unknown_columns_are_named_and_surplus_cells_are_a_fault() -> None:
    read = _read("performed_at,exercise,reps,mood\n2026-03-02,squat,5,fine,5\n")
    assert read.ignored == ("mood",)
    assert "within the 4 columns" in read.faults[0].expected


def test_instants_with_and_without_offset_and_dates_are_one_line_of_time() -> None:
    times = ["2026-03-02", "2026-03-02T01:00:00Z", "2026-03-02T02:30:00+01:00", "2026-03-02 02:00:00"]
    read = _read("performed_at,exercise,reps\n" + "\n".join(f"{time},squat,5" for time in times))
    start = read.rows[0].at
    assert [row.at - start for row in read.rows] == [0.0, 3600.0, 5400.0, 7200.0]
    assert [row.index for row in read.rows] == [0, 1, 2, 3]
