"""Long answers as streams that say how they end: NDJSON of typed lines, and CSV that spreadsheets read safely.

A stream holds one athlete's lines at a time. One that fails on the way is cut off: NDJSON then has no `end` line, and
the connection of a CSV is aborted instead of being ended as HTTP ends a whole body.
"""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import msgspec
from starlette.responses import StreamingResponse

from service.usecases.documents import Document
from service.web.caching import PRIVATE

NDJSON = "application/x-ndjson"
CSV = "text/csv"
LineType = Literal["row", "problem", "end"]
StreamFormat = Literal["ndjson", "csv"]
#: First characters that a spreadsheet may take for a formula or command, their full-width forms included.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_BOM = "\ufeff"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a CSV: its name, where its value lies in a row's document, and whether that is free text."""

    name: str
    path: tuple[str, ...]
    description: str
    text: bool = False


@dataclass(frozen=True, slots=True)
class CsvForm:
    """How a CSV is written."""

    delimiter: str = ","
    decimal: str = "."
    bom: bool = False


def estimate_columns(name: str, description: str, *path: str) -> tuple[Column, ...]:
    """Return the columns of an estimate: its value and the ends and mass of its interval."""
    place = path or (name,)
    return (
        Column(name, (*place, "value"), description),
        Column(f"{name}_lower", (*place, "interval", "lower"), f"Lower end of the interval of `{name}`."),
        Column(f"{name}_upper", (*place, "interval", "upper"), f"Upper end of the interval of `{name}`."),
        Column(f"{name}_mass", (*place, "interval", "mass"), f"Probability that it holds `{name}`."),
    )


def chosen_format(asked: StreamFormat | None, accept: str | None) -> StreamFormat:
    """Return the format of a stream: as asked, else the first of the Accept header that there is, else NDJSON."""
    if asked is not None:
        return asked
    for part in (accept or "").split(","):
        media = part.split(";")[0].strip().lower()
        if media in {CSV, "text/*"}:
            return "csv"
        if media == NDJSON:
            return "ndjson"
    return "ndjson"


def ndjson_lines(lines: Iterable[tuple[LineType, Document]]) -> Iterator[bytes]:
    """Yield one JSON object a line, its `type` first."""
    for kind, document in lines:
        yield msgspec.json.encode({"type": kind, **document}) + b"\n"


def csv_lines(
    lines: Iterable[tuple[LineType, Document]], columns: Sequence[Column], form: CsvForm
) -> Iterator[bytes]:
    """Yield a header and one record a row or problem (RFC 4180, CRLF); there is no record for the end."""
    render = _renderer(form)
    yield ((_BOM if form.bom else "") + render([column.name for column in columns])).encode()
    for kind, document in lines:
        if kind != "end":
            yield render([_cell(column, document, form) for column in columns]).encode()


def stream(content: Iterator[bytes], media_type: str, headers: Mapping[str, str]) -> StreamingResponse:
    """Return a response that is sent while it is computed."""
    charset = "; charset=utf-8; header=present" if media_type == CSV else ""
    response = StreamingResponse(content, 200, {**PRIVATE, **headers})
    response.headers["Content-Type"] = media_type + charset
    return response


def _renderer(form: CsvForm) -> Callable[[Sequence[str]], str]:
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=form.delimiter, lineterminator="\r\n")

    def render(cells: Sequence[str]) -> str:
        buffer.seek(0)
        buffer.truncate()
        writer.writerow(cells)
        return buffer.getvalue()

    return render


def _cell(column: Column, document: Document, form: CsvForm) -> str:
    value: Any = document
    for step in column.path:
        value = value.get(step) if isinstance(value, Mapping) else None
    if value is None:
        return ""
    if column.text:
        return harmless(str(value))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return _plain_number(value).replace(".", form.decimal)
    return value.isoformat() if isinstance(value, datetime) else str(value)


def _plain_number(value: float) -> str:
    """Return a number without an exponent, which spreadsheets of some countries do not read."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def harmless(text: str) -> str:
    """Return text that no spreadsheet runs as a formula: an apostrophe goes before what could begin one."""
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) or text.startswith(_FORMULA) else text
