"""The balance beam of the two sides: left side left, right side right, the pivot at equality."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.reports.charts.drawing import (
    EDGE,
    FOOT,
    HEAD,
    INK,
    LINE,
    SOFT,
    WIDTH,
    Frame,
    Mark,
    Scale,
    drawn,
    line,
    lying_interval,
    number,
    polygon,
    roughly,
    scale,
    shortened,
    span,
    text,
)

_ROW, _LABELS, _WORDS = 30, 270, 200


@dataclass(frozen=True, slots=True)
class Beam:
    """One comparison of sides: positive where the right is ahead. ``state`` says in words what can be said of it."""

    label: str
    estimate: float
    lower: float
    upper: float
    state: str = ""


def balance_beam(frame: Frame, beams: Sequence[Beam], marks: Sequence[Mark] = (), *, none: str = "") -> str:
    """Return one beam a row, in the order given; ``marks`` are sizes of a difference, drawn on both sides.

    ``none`` is told where there is no beam.
    """
    sizes = [end for beam in beams for end in (beam.estimate, beam.lower, beam.upper)]
    x_of = scale((*sizes, *(mark.value for mark in marks)), _LABELS, WIDTH - _WORDS - EDGE, symmetric=True)
    foot = HEAD + 34 + _ROW * max(len(beams), 1)
    parts = [*_axis(x_of, foot), *_marks(x_of, marks, foot)]
    for row, beam in enumerate(beams):
        parts.extend(_beam(beam, x_of, HEAD + 46 + _ROW * row))
    if not beams:
        parts.append(text(x_of.at(0.0), HEAD + 50, none, anchor="middle", colour=INK))
    told = [_told(beam) for beam in beams] or [none]
    return drawn(frame, parts, foot + 24 + FOOT, (*told, *_marks_told(marks)))


def _axis(x_of: Scale, foot: float) -> Iterator[str]:
    middle = x_of.at(0.0)
    yield text(x_of.start, HEAD + 4, "left ahead", colour=INK)
    yield text(x_of.end, HEAD + 4, "right ahead", anchor="end", colour=INK)
    yield text(middle, HEAD + 4, "equal", anchor="middle", colour=INK)
    for value in x_of.ticks():
        yield line(x_of.at(value), HEAD + 26, x_of.at(value), foot)
        yield text(x_of.at(value), HEAD + 20, number(value), anchor="middle")
    yield line(middle, HEAD + 26, middle, foot, colour=INK, width=1.5)
    yield polygon(((middle, foot - 2), (middle - 11, foot + 16), (middle + 11, foot + 16)), fill=SOFT)
    yield line(middle - 22, foot + 16, middle + 22, foot + 16, colour=SOFT, width=2)


def _marks(x_of: Scale, marks: Sequence[Mark], foot: float) -> Iterator[str]:
    for mark in marks:
        for value in (-mark.value, mark.value):
            yield line(x_of.at(value), HEAD + 26, x_of.at(value), foot, colour=SOFT, dashed=True)
    if marks:
        words = "; ".join(f"Dashed: {mark.label}, {roughly(mark.value)}" for mark in marks)
        yield text(EDGE, foot + 14, shortened(words, x_of.at(0.0) - EDGE - 40))


def _marks_told(marks: Sequence[Mark]) -> tuple[str, ...]:
    return tuple(f"Dashed on both sides: {mark.label}, {number(mark.value)}." for mark in marks)


def _beam(beam: Beam, x_of: Scale, y: float) -> Iterator[str]:
    yield line(x_of.start, y, x_of.end, y, colour=LINE, width=2)
    yield text(_LABELS - 10, y + 4, shortened(beam.label, _LABELS - 20), anchor="end", colour=INK)
    yield from lying_interval(x_of, y, beam.estimate, beam.lower, beam.upper)
    yield text(x_of.end + 10, y - 2, shortened(beam.state, _WORDS), colour=INK)
    yield text(x_of.end + 10, y + 12, span(beam.estimate, beam.lower, beam.upper))


def _told(beam: Beam) -> str:
    state = f", {beam.state}" if beam.state else ""
    return f"{beam.label}: {span(beam.estimate, beam.lower, beam.upper)}{state}."
