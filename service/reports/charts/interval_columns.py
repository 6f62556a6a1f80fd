"""Intervals as standing bars, one a column: weeks or sessions in their order."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

from service.reports.charts.drawing import (
    EDGE,
    FOOT,
    HEAD,
    INK,
    SOFT,
    WIDTH,
    Frame,
    Mark,
    Scale,
    apart,
    drawn,
    line,
    number,
    roughly,
    scale,
    shortened,
    span,
    standing_interval,
    text,
    wide,
)

_TALL, _AXIS, _WORDS = 220, 60, 150
_LINE, _MOST_LABEL, _GAP = 13.0, 70.0, 8.0


@dataclass(frozen=True, slots=True)
class IntervalColumn:
    """One value with its interval, or without one, under its label: a week, a session."""

    label: str
    estimate: float
    lower: float | None = None
    upper: float | None = None


def interval_columns(
    frame: Frame, columns: Sequence[IntervalColumn], marks: Sequence[Mark] = (), *, none: str = ""
) -> str:
    """Return one interval a column, in the order given; ``none`` is told where there is no column."""
    ends = [end for one in columns for end in (one.estimate, one.lower, one.upper) if end is not None]
    foot = HEAD + _TALL
    y_of = scale((*ends, *(mark.value for mark in marks)), foot, HEAD)
    left, right = _AXIS, WIDTH - EDGE - (_WORDS if marks else 0)
    parts = [*_axis(y_of, left, right), *_marks(y_of, marks, left, right)]
    step = (right - left) / max(len(columns), 1)
    every = _every(columns, step)
    for place, column in enumerate(columns):
        parts.extend(_column(column, y_of, left + step * (place + 0.5), step, labelled=place % every == 0))
    if not columns:
        parts.append(text((left + right) / 2, HEAD + _TALL / 2, none, anchor="middle", colour=INK))
    told = [f"{one.label}: {span(one.estimate, one.lower, one.upper)}." for one in columns] or [none]
    compared = (f"Dashed line: {mark.label}, {number(mark.value)}." for mark in marks)
    return drawn(frame, parts, foot + 34 + FOOT, (*told, *compared))


def _axis(y_of: Scale, left: float, right: float) -> Iterator[str]:
    for value in y_of.ticks():
        yield line(left, y_of.at(value), right, y_of.at(value))
        yield text(left - 8, y_of.at(value) + 4, number(value), anchor="end")


def _marks(y_of: Scale, marks: Sequence[Mark], left: float, right: float) -> Iterator[str]:
    places = [y_of.at(mark.value) for mark in marks]
    for mark, y, at in zip(marks, places, apart(places, _LINE), strict=True):
        yield line(left, y, right, y, colour=SOFT, dashed=True)
        yield text(right + 6, at + 4, shortened(f"{mark.label}, {roughly(mark.value)}", _WORDS - 6))


def _every(columns: Sequence[IntervalColumn], step: float) -> int:
    """Return how many columns share a label; narrow ones leave no room for all, the text alternative has them."""
    widest = max((wide(column.label) for column in columns), default=0.0)
    return 1 if len(columns) < 2 else max(1, ceil((min(widest, _MOST_LABEL) + _GAP) / step))


def _column(column: IntervalColumn, y_of: Scale, x: float, step: float, *, labelled: bool) -> Iterator[str]:
    yield from standing_interval(y_of, x, column.estimate, column.lower, column.upper, min(step * 0.5, 40.0))
    if labelled:
        foot = y_of.at(y_of.lowest)
        yield text(x, foot + 18, shortened(column.label, max(step, _MOST_LABEL)), anchor="middle")
