"""Logs as people and spreadsheets write them, and what is said of cells that cannot be read."""

import pytest

from service.catalogue import load_catalogue
from service.core.capability.engine import setup_prior
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import ReadLog, UnreadableLog, read_log, with_possible_loads
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
        ("load", "-5001", "a mass from 0 up"),
        ("load", '"1,000"', "a mass from 0 up: its comma may mean thousands or decimals"),
        ("unit", "stone", "kg or lb"),
        ("reps", "8.5", "a whole number of repetitions"),
        ("reps_in_reserve", "-1", "a number of repetitions from 0 up"),
        ("to_failure", "maybe", "true or false"),
        ("side", "middle", "left, right, both or blank"),
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
    found = cell.strip('"')
    assert (fault.row, fault.column, fault.found, fault.expected) == (1, column, found, expected)
    assert str(fault) == f"row 1, column {column}: {found!r} is not {expected}"
    assert len(read.rows) == 2


@pytest.mark.parametrize(
    ("cell", "setup"),
    [
        ("full", ""),
        ("Full ROM", ""),
        ("full range of motion", ""),
        ("unknown", ""),
        ("bottom half", "bottom_half"),
        ("bottom partials", "bottom_half"),
        ("top", "top_half"),
        ("upper-half", "top_half"),
        ("half", "range:half"),
        ("half reps", "range:half"),
        ("partial", "range:partial"),
        ("lengthened", "range:lengthened"),
        ("lengthened partials", "range:lengthened"),
        ("0-60", "range:0-60"),
    ],
)
def test_words_of_a_range_that_mean_something_are_understood(cell: str, setup: str) -> None:
    read = _read(f"performed_at,exercise,reps,range\n2026-03-02,squat,5,{cell}\n")
    assert (read.rows[0].setup, read.faults) == (setup, ())


@pytest.mark.parametrize("cell", ["most of it", "3/4", "bottom quarter", "tiefe"])
def test_a_range_that_cannot_be_read_is_told_and_never_mixed_into_the_full_one(cell: str) -> None:
    read = _read(f"performed_at,exercise,reps,range\n2026-03-02,squat,5,{cell}\n")
    (fault,) = read.faults
    assert str(fault).endswith("partial or degrees such as 0-60; read as a range of its own")
    setup = read.rows[0].setup
    assert setup.startswith("range:")
    # As uncertain as a part of the range: it may carry more than the whole.
    assert setup_prior(setup) == setup_prior("bottom_half") != setup_prior("")


@pytest.mark.parametrize(
    ("cell", "load"),
    [
        ("82,5", 82.5),
        ("0,125", 0.125),
        ("82,500", 82.5),
        ("1,000.5", 1000.5),
        ("1.000,5", 1000.5),
        ("1000", 1000.0),
    ],
)
def test_a_comma_that_reads_one_way_only_is_read_that_way(cell: str, load: float) -> None:
    read = _read(f"performed_at;exercise;reps;load\n2026-03-02;squat;5;{cell}\n")
    assert ([row.load for row in read.rows], read.faults) == ([load], ())


def test_a_comma_that_may_group_thousands_is_told_and_not_guessed() -> None:
    read = _read("performed_at;exercise;reps;load\n2026-03-02;squat;5;1,000\n")
    assert [(row.load, row.load_unread) for row in read.rows] == [(None, True)]
    assert "thousands or decimals" in read.faults[0].expected


def test_a_load_below_nothing_is_help_where_the_body_is_lifted_and_a_fault_elsewhere() -> None:
    read = with_possible_loads(
        _read("performed_at,exercise,reps,load\n2026-03-02,squat,5,-30\n2026-03-02,pull-up,5,-30\n"),
        LiftBook(load_catalogue()),
    )
    assert [(row.load, row.load_unread) for row in read.rows] == [(None, True), (-30.0, False)]
    assert [str(fault) for fault in read.faults] == [
        "row 0, column load: '-30 kg' is not a mass from 0 up: the body is not this lift's load"
    ]


def test_help_of_more_than_the_body_is_unreadable() -> None:
    read = with_possible_loads(
        _read(
            "athlete,performed_at,exercise,reps,load,body_mass\n"
            "a,2026-03-02,pull-up,5,-20,80\n"
            "a,2026-03-03,pull-up,5,-200,\n"
            "a,2026-03-04,assisted-pull-up,5,90,\n"
            "a,2026-03-05,assisted-pull-up,5,60,\n"
            "a,2026-03-06,pull-up,5,90,\n"
            "b,2026-03-04,assisted-pull-up,5,90,\n"
            "b,2026-03-05,assisted-pull-up,5,-200,\n"
        ),
        LiftBook(load_catalogue()),
    )
    loads = [(row.load, row.load_unread) for row in read.rows]
    unread = (None, True)
    assert loads == [
        (-20.0, False), unread, unread, (60.0, False), (90.0, False), (90.0, False), unread,
    ]  # fmt: skip
    assert [(fault.row, fault.expected) for fault in read.faults] == [
        (row.index, "help of less than the part of the body that is moved")
        for row in read.rows
        if row.load_unread
    ]


def test_a_log_without_repetitions_is_read_and_says_so() -> None:
    read = _read("performed_at,exercise,load\n2026-03-02,squat,100\n")
    assert ([row.reps for row in read.rows], read.tells_reps) == ([None], False)
    assert _read("performed_at,exercise,reps\n").tells_reps


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
