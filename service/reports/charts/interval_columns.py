"""Intervals as standing bars, one a column: weeks or sessions in their order."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

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
    drawn,
    line,
    number,
    scale,
    shortened,
    span,
    standing_interval,
    text,
)

_TALL, _AXIS, _WORDS = 220, 60, 150


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
    for place, column in enumerate(columns):
        parts.extend(_column(column, y_of, left + step * (place + 0.5), step, place))
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
    for mark in marks:
        y, words = y_of.at(mark.value), f"{mark.label}, {number(mark.value)}"
        yield line(left, y, right, y, colour=SOFT, dashed=True)
        yield text(right + 6, y + 4, shortened(words, _WORDS - 6))


def _column(column: IntervalColumn, y_of: Scale, x: float, step: float, place: int) -> Iterator[str]:
    yield from standing_interval(y_of, x, column.estimate, column.lower, column.upper, min(step * 0.5, 40.0))
    # Narrow columns leave no room for every label; the text alternative has them all.
    if place % max(1, round(70 / step)) == 0:
        foot = y_of.at(y_of.lowest)
        yield text(x, foot + 18, shortened(column.label, max(step, 70.0)), anchor="middle")
