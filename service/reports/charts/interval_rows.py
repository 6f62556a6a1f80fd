"""Intervals as lying bars, one a row: muscles, lifts or thresholds beside each other."""

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
    lying_interval,
    number,
    roughly,
    scale,
    shortened,
    span,
    text,
)

_ROW, _LABELS, _WORDS = 28, 290, 190


@dataclass(frozen=True, slots=True)
class IntervalRow:
    """One value with its interval, or without one; ``state`` says in words what can be said of it."""

    label: str
    estimate: float
    lower: float | None = None
    upper: float | None = None
    state: str = ""


def interval_rows(
    frame: Frame, rows: Sequence[IntervalRow], marks: Sequence[Mark] = (), *, none: str = ""
) -> str:
    """Return one interval a row, in the order given; ``none`` is told where there is no row."""
    ends = [end for row in rows for end in (row.estimate, row.lower, row.upper) if end is not None]
    x_of = scale((*ends, *(mark.value for mark in marks)), _LABELS, WIDTH - _WORDS - EDGE)
    head = HEAD + 14 * len(marks)
    foot = head + 24 + _ROW * max(len(rows), 1)
    parts = [*_axis(x_of, head, foot), *_marks(x_of, marks, foot)]
    for place, row in enumerate(rows):
        parts.extend(_row(row, x_of, head + 40 + _ROW * place))
    if not rows:
        parts.append(text((x_of.start + x_of.end) / 2, head + 40, none, anchor="middle", colour=INK))
    told = [_told(row) for row in rows] or [none]
    compared = (f"Dashed line: {mark.label}, {number(mark.value)}." for mark in marks)
    return drawn(frame, parts, foot + 12 + FOOT, (*told, *compared))


def _axis(x_of: Scale, head: float, foot: float) -> Iterator[str]:
    for value in x_of.ticks():
        yield line(x_of.at(value), head + 18, x_of.at(value), foot)
        yield text(x_of.at(value), head + 12, number(value), anchor="middle")


def _marks(x_of: Scale, marks: Sequence[Mark], foot: float) -> Iterator[str]:
    for place, mark in enumerate(marks):
        y, words = HEAD + 4 + 14 * place, f"{mark.label}, {roughly(mark.value)}"
        anchor, aside = ("start", 4) if x_of.at(mark.value) < WIDTH / 2 else ("end", -4)
        yield line(x_of.at(mark.value), y - 8, x_of.at(mark.value), foot, colour=SOFT, dashed=True)
        yield text(x_of.at(mark.value) + aside, y, words, anchor=anchor)


def _row(row: IntervalRow, x_of: Scale, y: float) -> Iterator[str]:
    yield text(_LABELS - 10, y + 4, shortened(row.label, _LABELS - 20), anchor="end", colour=INK)
    yield from lying_interval(x_of, y, row.estimate, row.lower, row.upper)
    yield text(
        x_of.end + 10, y - 2 if row.state else y + 4, span(row.estimate, row.lower, row.upper), colour=INK
    )
    yield text(x_of.end + 10, y + 12, shortened(row.state, _WORDS)) if row.state else ""


def _told(row: IntervalRow) -> str:
    state = f", {row.state}" if row.state else ""
    return f"{row.label}: {span(row.estimate, row.lower, row.upper)}{state}."
