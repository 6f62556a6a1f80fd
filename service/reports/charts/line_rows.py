"""One line a row along a common axis: chances over hours, pain over sessions; values stand at their dots."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from service.reports.charts.drawing import (
    EDGE,
    FOOT,
    HEAD,
    HUE,
    INK,
    SOFT,
    WIDTH,
    Frame,
    Mark,
    Scale,
    circle,
    drawn,
    line,
    number,
    polyline,
    roughly,
    shortened,
    text,
    wide,
)

_ROW, _TALL, _LABELS, _WORDS = 88, 44, 250, 130
_SIZE, _ASIDE, _GAP = 11, 6.0, 4.0
#: Where the names of the rows end. [px]
_NAMES_END = _LABELS - 10
#: Dots beyond which there is no room for words beside their values.
_MOST_WORDS = 5


@dataclass(frozen=True, slots=True)
class LinePoint:
    """A value at ``x``.

    ``label`` is what the text alternative calls ``x``, ``state`` what is said of the value, ``note`` what else.
    """

    x: float
    label: str
    value: float
    state: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class LineRow:
    """A line under its label, points by rising ``x``; ``state`` says in words how it ends."""

    label: str
    points: tuple[LinePoint, ...]
    state: str = ""


@dataclass(frozen=True, slots=True)
class LineAxis:
    """The common axis: labels at places, and the least and the most that a row's height stands for."""

    labels: tuple[tuple[float, str], ...]
    highest: float
    lowest: float = 0.0


def line_rows(
    frame: Frame, rows: Sequence[LineRow], axis: LineAxis, marks: Sequence[Mark] = (), *, none: str = ""
) -> str:
    """Return one line a row, in the order given; marks are dashed through every row; ``none`` is told without rows."""
    xs = [x for x, _ in axis.labels] + [one.x for row in rows for one in row.points] or [0.0]
    x_of = Scale(
        min(xs), max(xs) if max(xs) > min(xs) else min(xs) + 1.0, 1.0, _LABELS + 14, WIDTH - _WORDS - EDGE
    )
    foot = HEAD + 20 + _ROW * max(len(rows), 1)
    parts = [*_axis(axis, x_of, foot)]
    for place, row in enumerate(rows):
        top = HEAD + 20 + _ROW * place
        y_of = Scale(axis.lowest, axis.highest, 1.0, top + _TALL, top)
        parts.extend((*_marks(marks, x_of, y_of), *_row(row, x_of, y_of)))
    if not rows:
        parts.append(text((x_of.start + x_of.end) / 2, HEAD + 50, none, anchor="middle", colour=INK))
    told = [_told(row) for row in rows] or [none]
    compared = (f"Dashed line: {mark.label}, {number(mark.value)}." for mark in marks)
    return drawn(frame, parts, foot + 12 + FOOT, (*told, *compared))


def _axis(axis: LineAxis, x_of: Scale, foot: float) -> Iterator[str]:
    for x, label in axis.labels:
        yield line(x_of.at(x), HEAD + 8, x_of.at(x), foot)
        yield text(x_of.at(x), HEAD + 2, shortened(label, 80.0), anchor="middle")


def _marks(marks: Sequence[Mark], x_of: Scale, y_of: Scale) -> Iterator[str]:
    for mark in marks:
        y = y_of.at(mark.value)
        yield line(x_of.start, y, x_of.end, y, colour=SOFT, dashed=True)
        yield text(x_of.end + 10, y + 4, shortened(f"{mark.label}, {roughly(mark.value)}", _WORDS), size=10)


def _row(row: LineRow, x_of: Scale, y_of: Scale) -> Iterator[str]:
    middle = (y_of.start + y_of.end) / 2
    yield text(_NAMES_END, middle + 4, shortened(row.label, _LABELS - 20), anchor="end", colour=INK)
    yield line(x_of.start, y_of.start, x_of.end, y_of.start)
    places = [(x_of.at(one.x), y_of.at(one.value)) for one in row.points]
    if places:
        yield polyline(places)
    yield from (circle(x, y, 3, fill=HUE, stroke=HUE) for x, y in places)
    yield from _values(row.points, places, x_of.end + _ASIDE)
    if row.state:
        yield text(x_of.start, y_of.start + 14, shortened(row.state, x_of.end - x_of.start), size=11)


def _values(
    points: Sequence[LinePoint], places: Sequence[tuple[float, float]], right: float
) -> Iterator[str]:
    """Yield each value above its dot, with its state in words where they leave room for the value before.

    The newest comes first. What would reach beyond ``right`` or into the next one's words moves left, what would reach
    into the row's name moves right, but neither off its dot; where even the bare value has no room, the text alternative
    has it. [px]
    """
    least = _NAMES_END + _GAP
    for index in range(len(points) - 1, -1, -1):
        one, (x, y) = points[index], places[index]
        told = number(one.value)
        if one.state and len(points) <= _MOST_WORDS:
            full = f"{told} {one.state}"
            before = places[index - 1][0] + _half(number(points[index - 1].value)) + _GAP
            left, free = (-inf, before) if index else (least, least)
            middle = _middle(x, full, left, right)
            told = full if middle - _half(full) >= free else told
        middle = _middle(x, told, least, right)
        if middle + _half(told) >= x and middle - _half(told) >= least:
            yield text(middle, y - 7, told, anchor="middle", colour=INK, size=_SIZE)
            right = middle - _half(told) - _GAP


def _middle(x: float, words: str, left: float, right: float) -> float:
    """Return where words that want to stand at ``x`` have their middle, right of ``left`` if it can be. [px]"""
    return min(max(x, left + _half(words)), right - _half(words))


def _half(words: str) -> float:
    return wide(words, _SIZE) / 2


def _told(row: LineRow) -> str:
    points = "; ".join(
        ", ".join(said for said in (f"{one.label} {number(one.value)}", one.state, one.note) if said)
        for one in row.points
    )
    return f"{row.label}: {points or 'no number'}{f'. {row.state}' if row.state else ''}."
