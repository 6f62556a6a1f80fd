"""The chart of pain by session, its zones in words, drawn from the answer as it is told."""

from datetime import datetime
from typing import Any, Final

from service.reports.charts import Frame, LineAxis, LinePoint, LineRow, Mark, line_rows, number
from service.reports.imbalance_chart import plain_words, source_of
from service.usecases.documents import Document

_MOST_ROWS: Final = 30
_MOST_DATES: Final = 6
_TOLD: Final = (
    "The worst pain of each session, 0 to 10, during it or right after; the next morning's stands beside it where it was told. "
    "Nothing here says what causes a pain. {zones}"
)
_DAY_S: Final = 86_400.0


def draw_tolerance(answer: Document) -> str:
    """Return one line a region, side and lift, what asks for most care first, with the zone of each session in words."""
    items = [item for item in answer["items"] if item["sessions"]]
    told = _TOLD.format(zones=answer["zones"]["reason"]["text"])
    if len(items) > _MOST_ROWS:
        told += f" The answer has {len(items)} places, {_MOST_ROWS} are drawn."
    frame = Frame("Pain by session", "pain, 0 to 10", source_of(answer), told)
    drawn = items[:_MOST_ROWS]
    zones = answer["zones"]
    marks = [Mark(zones["go_up_to"], "go up to"), Mark(zones["watch_up_to"], "watch up to")] if drawn else []
    axis = LineAxis(_dates(drawn), 10.0)
    return line_rows(
        frame, [_row(item) for item in drawn], axis, marks, none="No pain was told in the last three weeks."
    )


def _dates(items: list[Any]) -> tuple[tuple[float, str], ...]:
    """Return some of the sessions' days for the axis: at most so many, and not crowded."""
    days = sorted({_when(one).toordinal() for item in items for one in item["sessions"]})
    every = max(1, -(-len(days) // _MOST_DATES))
    kept = days[::every]
    found = [(float(day), f"{datetime.fromordinal(day):%d %b}") for day in kept]
    apart = (days[-1] - days[0]) / 8.0 if days else 0.0
    roomy: list[tuple[float, str]] = []
    for day, label in found:
        if not roomy or day - roomy[-1][0] >= apart:
            roomy.append((day, label))
    return tuple(roomy)


def _row(item: Any) -> LineRow:
    lift = f", {plain_words(item['exercise_id'])}" if item.get("exercise_id") else ""
    side = "" if item["side"] == "unspecified" else f", {item['side']}"
    numbered = [one for one in item["sessions"] if not _is_without_number(one)]
    points = tuple(_point(one) for one in numbered)
    state = f"now {_words(item['zone'])}: {_words(item['action'])}"
    if without := len(item["sessions"]) - len(numbered):
        state += f"; not drawn, for want of a number: {without}"
    return LineRow(f"{_words(item['region'])}{side}{lift}", points, state)


def _is_without_number(session: Any) -> bool:
    return session.get("worst") is None and session.get("next_morning") is None


def _point(session: Any) -> LinePoint:
    when = _when(session)
    # Within a day the hour keeps two sessions apart.
    x = when.toordinal() + (when.hour * 3600 + when.minute * 60) / _DAY_S
    morning = session.get("next_morning")
    if session.get("worst") is None:
        return LinePoint(x, f"{when:%d %b}", morning, note="of the next morning only")
    after = "" if morning is None else f"next morning {number(morning)}"
    return LinePoint(x, f"{when:%d %b}", session["worst"], _words(session["zone"]), after)


def _words(told: str) -> str:
    return told.replace("_", " ")


def _when(session: Any) -> datetime:
    at = session["at"]
    return at if isinstance(at, datetime) else datetime.fromisoformat(str(at))
