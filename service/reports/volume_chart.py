"""The chart of weekly hard sets, drawn from the answer as it is told."""

from typing import Any, Final

from service.reports.charts import (
    Frame,
    IntervalColumn,
    IntervalRow,
    Mark,
    interval_columns,
    interval_rows,
    number,
)
from service.reports.imbalance_chart import plain_words, source_of
from service.usecases.documents import Document

_MOST: Final = 60
_UNIT: Final = "hard sets a week, mean of both sides"
_TOLD: Final = (
    "A bar holds the number with a probability of {mass}, the notch is the estimate: efforts that were not told make bars "
    "wide."
)


def draw_volume(answer: Document) -> str:
    """Return the weeks of one muscle as columns, else the newest week's muscles as rows, the most sets first, as SVG."""
    items = [item for item in answer["items"] if item["side"] == "both"]
    muscles = {item["muscle_id"] for item in items}
    return _weeks(answer, items) if len(muscles) == 1 else _muscles(answer, items)


def _frame(title: str, answer: Document, items: list[Any]) -> Frame:
    mass = items[0]["hard_sets"]["interval"]["mass"] if items else 0.8
    return Frame(title, _UNIT, source_of(answer), _TOLD.format(mass=number(mass)))


def _weeks(answer: Document, items: list[Any]) -> str:
    columns = [IntervalColumn(str(item["week"]["first_day"]), *_ends(item)) for item in items]
    marks = [
        Mark(one["weekly_hard_sets"]["value"], plain_words(one["criterion"])) for one in answer["thresholds"]
    ]
    title = f"Hard sets by week: {plain_words(items[0]['muscle_id'])}"
    return interval_columns(_frame(title, answer, items), columns, marks, none="No week was asked for.")


def _muscles(answer: Document, items: list[Any]) -> str:
    newest = max((str(item["week"]["first_day"]) for item in items), default="")
    week = [item for item in items if str(item["week"]["first_day"]) == newest]
    week.sort(key=lambda item: (-item["hard_sets"]["value"], item["muscle_id"]))
    rows = [IntervalRow(plain_words(item["muscle_id"]), *_ends(item)) for item in week[:_MOST]]
    title = f"Hard sets by muscle, week of {newest}" if newest else "Hard sets by muscle"
    return interval_rows(_frame(title, answer, week), rows, none="No set of this week is in the log.")


def _ends(item: Any) -> tuple[float, float, float]:
    told = item["hard_sets"]
    return told["value"], told["interval"]["lower"], told["interval"]["upper"]
