"""An estimate with its interval along a line, what was seen as dots: trends over time, curves over a dose."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.reports.charts.drawing import (
    EDGE,
    FOOT,
    HEAD,
    INK,
    PALE,
    SOFT,
    WIDTH,
    Frame,
    Mark,
    Scale,
    apart,
    circle,
    drawn,
    line,
    number,
    polygon,
    polyline,
    roughly,
    scale,
    shortened,
    span,
    text,
    wide,
)

_TALL, _AXIS, _WORDS, _LINE = 240, 60, 150, 13.0
#: Into how many parts labels may divide the axis, how wide each may be, and what must stay free between two. [px]
_MOST_LABELS, _LABEL, _GAP = 10, 90.0, 8.0


@dataclass(frozen=True, slots=True)
class BandPoint:
    """Estimate and interval at ``x``; ``label`` is what the axis and the text alternative call ``x``."""

    x: float
    label: str
    estimate: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class SeenPoint:
    """Something that was seen, drawn as a dot."""

    x: float
    label: str
    value: float


def band(
    frame: Frame,
    points: Sequence[BandPoint],
    seen: Sequence[SeenPoint] = (),
    marks: Sequence[Mark] = (),
    *,
    from_zero: bool = False,
    none: str = "",
) -> str:
    """Return a line with its interval around it, points by rising ``x``; ``none`` is told where there is no point.

    The vertical axis begins near the smallest value, and says so in the text alternative, or at zero if asked.
    """
    foot, right = HEAD + _TALL, WIDTH - EDGE - (_WORDS if marks else 0)
    held = [end for one in points for end in (one.estimate, one.lower, one.upper)]
    held += [one.value for one in seen] + [mark.value for mark in marks]
    y_of = scale(held, foot, HEAD) if from_zero or not held else _near(held, foot)
    xs = [*(one.x for one in points), *(one.x for one in seen)] or [0.0]
    x_of = Scale(min(xs), max(xs) if max(xs) > min(xs) else min(xs) + 1.0, 1.0, _AXIS + 10, right - 10)
    parts = [*_axis(y_of, right), *_marks(y_of, marks, right), *_line(points, x_of, y_of)]
    parts += [circle(x_of.at(one.x), y_of.at(one.value), 3.5) for one in seen]
    parts += [*_labels(points, x_of, foot)]
    if not points:
        parts.append(text((_AXIS + right) / 2, HEAD + _TALL / 2, none, anchor="middle", colour=INK))
    return drawn(frame, parts, foot + 34 + FOOT, _told(points, seen, marks, y_of, none))


def _near(held: Sequence[float], foot: float) -> Scale:
    """Return a scale around the values alone: a trend is small beside its level."""
    lowest, highest = min(held), max(held)
    ticks = scale((highest - lowest,), foot, HEAD)
    low = (lowest // ticks.step) * ticks.step
    high = low + ticks.step * max(1.0, -((low - highest) // ticks.step))
    return Scale(low, high, ticks.step, foot, HEAD)


def _axis(y_of: Scale, right: float) -> Iterator[str]:
    for value in y_of.ticks():
        yield line(_AXIS, y_of.at(value), right, y_of.at(value))
        yield text(_AXIS - 8, y_of.at(value) + 4, number(value), anchor="end")


def _marks(y_of: Scale, marks: Sequence[Mark], right: float) -> Iterator[str]:
    places = [y_of.at(mark.value) for mark in marks]
    for mark, y, at in zip(marks, places, apart(places, _LINE), strict=True):
        yield line(_AXIS, y, right, y, colour=SOFT, dashed=True)
        yield text(right + 6, at + 4, shortened(f"{mark.label}, {roughly(mark.value)}", _WORDS - 6))


def _line(points: Sequence[BandPoint], x_of: Scale, y_of: Scale) -> Iterator[str]:
    if not points:
        return
    upper = [(x_of.at(one.x), y_of.at(one.upper)) for one in points]
    lower = [(x_of.at(one.x), y_of.at(one.lower)) for one in reversed(points)]
    yield polygon((*upper, *lower), fill=PALE)
    yield polyline([(x_of.at(one.x), y_of.at(one.estimate)) for one in points])


def _labels(points: Sequence[BandPoint], x_of: Scale, foot: float) -> Iterator[str]:
    for place, label in _legible([(x_of.at(one.x), shortened(one.label, _LABEL)) for one in points], x_of):
        yield line(place, foot, place, foot + 5, colour=SOFT)
        yield text(place, foot + 18, label, anchor="middle")


def _legible(labels: Sequence[tuple[float, str]], x_of: Scale) -> list[tuple[float, str]]:
    """Return the labels that can be read beside each other, the first and the last among them: points may come in bursts."""
    least = (x_of.end - x_of.start) / _MOST_LABELS

    def clear(left: tuple[float, str], right: tuple[float, str]) -> bool:
        needed = 0.5 * (wide(left[1]) + wide(right[1])) + _GAP
        return right[0] - left[0] >= max(needed, least) - 1e-6

    shown: list[tuple[float, str]] = []
    for one in labels:
        if not shown or clear(shown[-1], one):
            shown.append(one)
    last = labels[-1] if labels else None
    if last is not None and shown[-1] != last:
        while len(shown) > 1 and not clear(shown[-1], last):
            shown.pop()
        shown += [last] if clear(shown[-1], last) else []
    return shown


def _told(
    points: Sequence[BandPoint], seen: Sequence[SeenPoint], marks: Sequence[Mark], y_of: Scale, none: str
) -> tuple[str, ...]:
    told = [f"{one.label}: {span(one.estimate, one.lower, one.upper)}." for one in points] or [none]
    if points and y_of.lowest != 0.0:
        told.insert(0, f"The vertical axis begins at {number(y_of.lowest)}.")
    told += [f"Seen, {one.label}: {number(one.value)}." for one in seen]
    told += [f"Dashed line: {mark.label}, {number(mark.value)}." for mark in marks]
    return tuple(told)
