"""What every chart is drawn with: the frame with its texts, the scale, and a few shapes in one hue and greys."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil, floor, inf, isfinite, log10

HUE, PALE, INK, SOFT, LINE, PAPER = "#1f6f78", "#cfe3e5", "#23282c", "#667078", "#d5dade", "#ffffff"
#: Width of every drawing [px]; it scales to its container through the view box.
WIDTH = 860
#: Room above the plot for title and unit, and below it for the source. [px]
HEAD, FOOT = 64, 30
EDGE = 16
_CHARACTER = 6.2
_NOT_XML = dict.fromkeys((*range(9), 11, 12, *range(14, 32), *range(0xD800, 0xE000), 0xFFFE, 0xFFFF))


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around a plot.

    ``unit`` says what the axis counts, in words; ``source`` where the numbers come from (the model and the instant);
    ``told`` opens the text alternative, before the numbers, with what a reader should know first.
    """

    title: str
    unit: str
    source: str
    told: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A value to compare with, drawn as a dashed line with its words."""

    value: float
    label: str


@dataclass(frozen=True, slots=True)
class Scale:
    """A linear scale from values to pixels, with round ticks that hold every value."""

    lowest: float
    highest: float
    step: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return where a value stands. [px]"""
        share = (value - self.lowest) / (self.highest - self.lowest)
        return self.start + (self.end - self.start) * share

    def ticks(self) -> Iterator[float]:
        """Yield the round values of the axis."""
        for count in range(round((self.highest - self.lowest) / self.step) + 1):
            yield self.lowest + count * self.step


def scale(values: Iterable[float], start: float, end: float, *, symmetric: bool = False) -> Scale:
    """Return a scale that holds zero and every finite value; a symmetric one has zero in its middle."""
    held = [value for value in values if isfinite(value)]
    lowest, highest = min(0.0, *held, 0.0), max(0.0, *held, 0.0)
    if symmetric:
        highest = max(highest, -lowest)
        lowest = -highest
    step = _round_step((highest - lowest) / 6.0 if highest > lowest else 0.2)
    low, high = floor(lowest / step + 1e-9) * step, ceil(highest / step - 1e-9) * step
    if high <= low:
        low, high = (-step if symmetric else low), low + step
    return Scale(low, high, step, start, end)


def _round_step(least: float) -> float:
    power = 10.0 ** floor(log10(least))
    return power * next(factor for factor in (1.0, 2.0, 5.0, 10.0) if factor * power >= least * (1 - 1e-9))


def number(value: float) -> str:
    """Return a number with the digits that an answer tells: four decimals, no idle zeros."""
    told = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if told in {"-0", ""} else told


def roughly(value: float) -> str:
    """Return a number as short as a label wants it: one decimal from 1 on, two digits below."""
    return number(round(value, 1)) if abs(value) >= 1.0 else number(float(f"{value:.2g}"))


def apart(places: Sequence[float], least: float) -> list[float]:
    """Return where to write lines of text that want to stand at some heights, each so far above the one below it. [px]"""
    free, found = inf, list(places)
    for index in sorted(range(len(places)), key=lambda one: -places[one]):
        found[index] = min(places[index], free)
        free = found[index] - least
    return found


def span(estimate: float, lower: float | None, upper: float | None) -> str:
    """Return an estimate with its interval in words."""
    if lower is None or upper is None:
        return number(estimate)
    return f"{number(estimate)} ({number(lower)} to {number(upper)})"


def clean(words: str) -> str:
    """Return text as it may stand in XML."""
    return escape(words.translate(_NOT_XML))


def text(x: float, y: float, words: str, *, anchor: str = "start", colour: str = SOFT, size: int = 12) -> str:
    """Return a line of text."""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" fill="{colour}">{clean(words)}</text>'


def rectangle(x: float, y: float, width: float, height: float, *, fill: str) -> str:
    """Return a filled rectangle."""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{fill}"/>'


def line(
    x1: float, y1: float, x2: float, y2: float, *, colour: str = LINE, dashed: bool = False, width: float = 1
) -> str:
    """Return a straight line."""
    dashes = ' stroke-dasharray="5 4"' if dashed else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
        f'stroke-width="{width:g}"{dashes}/>'
    )


def polygon(points: Sequence[tuple[float, float]], *, fill: str) -> str:
    """Return a filled shape."""
    return f'<polygon points="{_places(points)}" fill="{fill}"/>'


def polyline(points: Sequence[tuple[float, float]], *, colour: str = HUE, width: float = 2) -> str:
    """Return a line through points."""
    return (
        f'<polyline points="{_places(points)}" fill="none" stroke="{colour}" stroke-width="{width:g}" '
        'stroke-linejoin="round"/>'
    )


def circle(x: float, y: float, radius: float, *, fill: str = "none", stroke: str = INK) -> str:
    """Return a dot."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{stroke}" stroke-width="1.5"/>'


def _places(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def wide(words: str, size: int = 12) -> float:
    """Return about how wide a line of text is, rather too much than too little. [px]"""
    return 0.58 * size * len(words)


def shortened(words: str, width: float) -> str:
    """Return words cut to a width; the text alternative has them whole. [px]"""
    most = max(4, int(width / _CHARACTER))
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"


def _ends(axis: Scale, estimate: float, lower: float | None, upper: float | None) -> tuple[float, float]:
    if lower is None or upper is None:
        return axis.at(0.0), axis.at(estimate)
    return axis.at(lower), axis.at(upper)


def lying_interval(
    x_of: Scale, y: float, estimate: float, lower: float | None, upper: float | None
) -> Iterator[str]:
    """Yield an interval as a lying bar around ``y`` with its estimate as a notch; a bar from zero without one."""
    place = x_of.at(estimate)
    left, right = sorted(_ends(x_of, estimate, lower, upper))
    yield rectangle(left, y - 5, max(right - left, 1.0), 10, fill=PALE)
    yield polygon(((place - 5, y - 9), (place + 5, y - 9), (place, y)), fill=HUE)
    yield line(place, y - 1, place, y + 6, colour=HUE, width=2)


def standing_interval(
    y_of: Scale, x: float, estimate: float, lower: float | None, upper: float | None, width: float
) -> Iterator[str]:
    """Yield an interval as a standing bar around ``x`` with its estimate as a notch; a bar from zero without one."""
    place = y_of.at(estimate)
    top, bottom = sorted(_ends(y_of, estimate, lower, upper))
    yield rectangle(x - width / 2, top, width, max(bottom - top, 1.0), fill=PALE)
    yield line(x - width / 2, place, x + width / 2, place, colour=HUE, width=2)
    left = x - width / 2
    yield polygon(((left - 4, place - 4), (left - 4, place + 4), (left + 3, place)), fill=HUE)


def drawn(frame: Frame, parts: Iterable[str], height: float, told: Iterable[str]) -> str:
    """Return the whole SVG document; ``told`` are the sentences of its text alternative, one a row."""
    alternative = " ".join(
        part for part in (frame.told, f"Unit: {frame.unit}.", *told, f"Source: {frame.source}.") if part
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" width="{WIDTH}" '
        f'height="{height:.0f}" role="img" lang="en" font-family="system-ui, sans-serif">'
        f"<title>{clean(frame.title)}</title><desc>{clean(alternative)}</desc>"
        f"{rectangle(0, 0, WIDTH, height, fill=PAPER)}"
        f"{text(EDGE, 24, frame.title, colour=INK, size=16)}{text(EDGE, 44, frame.unit)}"
        f"{''.join(parts)}{text(EDGE, height - 10, f'Source: {frame.source}')}</svg>"
    )
