"""The chart of the ratios of opposing muscles, drawn from the answer as it is told."""

from typing import Any, Final

from service.reports.charts import Frame, IntervalRow, interval_rows, number
from service.reports.imbalance_chart import plain_words, source_of
from service.usecases.documents import Document

_MOST_ROWS: Final = 60
_TOLD: Final = (
    "One row for each ratio and side. A bar holds the ratio with a probability of {mass}, the notch is the estimate. A ratio "
    "changes with the device and the mode more than people differ: no number of it is good or bad."
)


def draw_ratios(answer: Document) -> str:
    """Return the ratios of an answer as lying intervals in SVG, in the answer's order."""
    items = answer["items"]
    told = _TOLD.format(mass=number(items[0]["ratio"]["interval"]["mass"]) if items else "0.8")
    if len(items) > _MOST_ROWS:
        told += f" The answer has {len(items)} ratios, {_MOST_ROWS} are drawn."
    frame = Frame(
        "Opposing muscles", "load of the first action over load of the second", source_of(answer), told
    )
    return interval_rows(frame, [_row(item) for item in items[:_MOST_ROWS]], none="No ratio can be told yet.")


def _row(item: Any) -> IntervalRow:
    interval = item["ratio"]["interval"]
    words = f"{plain_words(item['over']['action'])} over {plain_words(item['under']['action'])}"
    return IntervalRow(
        f"{item['side']}: {words}",
        item["ratio"]["value"],
        interval["lower"],
        interval["upper"],
        f"{item['reps']} reps, {plain_words(item['device']['name'])}",
    )
