"""The chart of an athlete's trends, drawn from the answer as it is told."""

from datetime import datetime
from typing import Any, Final

from service.reports.charts import BandPoint, Frame, IntervalRow, Mark, band, interval_rows, number
from service.usecases.documents import Document

_MOST_ROWS: Final = 60
_NONE: Final = "No lift with a load has enough comparable sessions yet."
_TOLD: Final = (
    "Change of the load that can be lifted for the repetitions trained. The interval holds the change with a probability "
    "of {mass}. Sessions before a break, under another range or at another station are not compared."
)


def draw_trends(answer: Document) -> str:
    """Return one line with its band where one lift and side is told with its points, else one interval an item."""
    items = [item for item in answer["items"] if "change" in item]
    told = _TOLD.format(mass=number(items[0]["change"]["interval"]["mass"]) if items else "0.8")
    if len(items) == 1 and "points" in items[0]:
        frame = Frame(f"Trend of {_label(items[0])}", "% of the first session shown", _source(answer), told)
        return band(frame, [_point(one) for one in items[0]["points"]], none=_NONE)
    if len(items) > _MOST_ROWS:
        told += f" The answer has {len(items)} items, {_MOST_ROWS} are drawn."
    frame = Frame(f"Change of strength over {answer['weeks']} weeks", "%", _source(answer), told)
    marks = [Mark(0.0, "no change")] if items else []
    return interval_rows(frame, [_row(item) for item in items[:_MOST_ROWS]], marks, none=_NONE)


def _source(answer: Document) -> str:
    as_of = answer["as_of"]
    instant = as_of.isoformat(timespec="seconds") if isinstance(as_of, datetime) else str(as_of)
    return f"own log, model {answer['model_version']}, as of {instant}"


def _label(item: Any) -> str:
    name = item.get("exercise_name") or str(item["muscle_id"]).replace("-", " ")
    return name if item["side"] == "both" else f"{name}, {item['side']}"


def _row(item: Any) -> IntervalRow:
    change = item["change"]
    ends = change["interval"]
    return IntervalRow(
        _label(item), change["value"], ends["lower"], ends["upper"], item["state"].replace("_", " ")
    )


def _point(point: Any) -> BandPoint:
    at, change = point["at"], point["change"]
    instant = at if isinstance(at, datetime) else datetime.fromisoformat(str(at))
    ends = change["interval"]
    return BandPoint(instant.timestamp(), f"{instant:%d %b}", change["value"], ends["lower"], ends["upper"])
