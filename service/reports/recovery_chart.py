"""The chart of recovery: the chance of being ready against the hours to come, drawn from the answer as it is told."""

from typing import Any, Final

from service.reports.charts import Frame, LineAxis, LinePoint, LineRow, Mark, line_rows, number
from service.reports.imbalance_chart import plain_words, source_of
from service.usecases.documents import Document

#: Rows beyond which a page is too long to read.
_MOST_ROWS: Final = 30
_TOLD: Final = (
    "The chance of being within one repetition of the usual, if nothing more is trained until then. "
    "Hours count from {at}."
)
_USUAL: Final = {"trunk": "trunk under load", "systemic": "whole body"}
_ENOUGH: Final = 0.8


def draw_recovery(answer: Document) -> str:
    """Return one line a muscle and side, the least ready first; sides that read the same stand as one."""
    items = _joined(answer["items"])
    told = _TOLD.format(at=answer["at"])
    if len(items) > _MOST_ROWS:
        told += f" The answer has {len(items)} rows, {_MOST_ROWS} are drawn."
    frame = Frame(
        "Chance of being ready", "probability, 0 to 1, against hours to come", source_of(answer), told
    )
    hours = [point["hours"] for point in items[0][1]["ready_ahead"]] if items else []
    axis = LineAxis(tuple((hour, f"{number(hour)} h") for hour in hours), 1.0)
    marks = [Mark(_ENOUGH, "four in five")] if items else []
    rows = [_row(label, item) for label, item in items[:_MOST_ROWS]]
    return line_rows(frame, rows, axis, marks, none="Nothing was trained within two weeks.")


def _joined(items: list[Any]) -> list[tuple[str, Any]]:
    """Return items with their labels; two sides of a muscle that read the same are one."""
    joined: dict[tuple[str, str], tuple[list[str], Any]] = {}
    for item in items:
        name = _USUAL.get(item["kind"]) or plain_words(item["muscle_id"])
        key = (name, str([point["p_ready"] for point in item["ready_ahead"]]))
        joined.setdefault(key, ([], item))[0].append(item["side"])
    return [
        (name if len(sides) > 1 or sides == ["both"] else f"{name}, {sides[0]}", item)
        for (name, _), (sides, item) in joined.items()
    ]


def _row(label: str, item: Any) -> LineRow:
    points = tuple(
        LinePoint(point["hours"], f"{number(point['hours'])} h", point["p_ready"])
        for point in item["ready_ahead"]
    )
    until = item["hours_until_ready"]
    ends = until["interval"]
    state = f"ready in {number(until['value'])} h ({number(ends['lower'])} to {number(ends['upper'])})"
    return LineRow(label, points, state)
