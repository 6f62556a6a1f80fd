"""The chart of what weekly volume does to a muscle, drawn from the answer as it is told."""

from typing import Any, Final

from service.reports.charts import BandPoint, Frame, IntervalRow, Mark, band, interval_rows, number
from service.reports.imbalance_chart import plain_words, source_of
from service.usecases.documents import Document

_MOST_ROWS: Final = 60
_CURVE_TOLD: Final = (
    "The line is the growth to be expected over 12 weeks at so many weekly hard sets, the band holds it with a probability of "
    "{mass}. {share} % of the doubt before any log is left. Marks stand at the thresholds' criteria on the axis of growth."
)
_ROWS_TOLD: Final = (
    "For each muscle the weekly hard sets from which one more adds little. A bar holds the value with a probability of {mass}, "
    "the notch is the estimate."
)


def draw_dose_response(answer: Document) -> str:
    """Return the curve of a single muscle, or where one more weekly set adds little for each of several, as SVG."""
    items = answer["items"]
    return _curve(answer, items[0]) if len(items) == 1 else _rows(answer, items)


def _curve(answer: Document, item: Any) -> str:
    told = _CURVE_TOLD.format(
        mass=number(item["slope"]["interval"]["mass"]), share=number(100.0 * item["basis"]["prior_share"])
    )
    frame = Frame(
        f"Growth by weekly hard sets: {plain_words(item['muscle_id'])}",
        "% of size over 12 weeks",
        source_of(answer),
        told,
    )
    points = [
        BandPoint(
            point["weekly_hard_sets"], number(point["weekly_hard_sets"]), point["growth"]["value"],
            point["growth"]["interval"]["lower"], point["growth"]["interval"]["upper"],
        )
        for point in item["curve"]
    ]  # fmt: skip
    return band(frame, points, marks=[Mark(0.0, "size is held")], none="Nothing is known yet.")


def _rows(answer: Document, items: list[Any]) -> str:
    drawn = [(item, item["thresholds"][-1]) for item in items[:_MOST_ROWS]]
    mass = drawn[0][1]["weekly_hard_sets"]["interval"]["mass"] if drawn else 0.8
    frame = Frame(
        "Where one more weekly set adds little",
        "hard sets a week",
        source_of(answer),
        _ROWS_TOLD.format(mass=number(mass)),
    )
    rows = [
        _row(plain_words(item["muscle_id"]), met)
        for item, met in sorted(drawn, key=lambda one: -float(one[1]["weekly_hard_sets"]["value"]))
    ]
    return interval_rows(frame, rows, none="No muscle was trained in the window.")


def _row(muscle: str, met: Any) -> IntervalRow:
    sets = met["weekly_hard_sets"]
    name = muscle if met["reached"] else f"{muscle}, not reached"
    return IntervalRow(name, sets["value"], sets["interval"]["lower"], sets["interval"]["upper"])
