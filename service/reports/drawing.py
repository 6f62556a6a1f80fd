"""Drawings in SVG: intervals as bars with the estimate as a notch, and bars of shares beside what is expected."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from service.reports.charts.drawing import HUE, INK, LINE, PALE, WIDTH, clean
from service.reports.charts.drawing import text as _text

_LEFT, _RIGHT, _ROW, _TOP = 290, 20, 22, 26
_Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class IntervalBar:
    """One row: an interval with its estimate, and the range that was seen."""

    label: str
    low: float
    estimate: float
    high: float
    seen_low: float
    seen_high: float


def interval_bars(bars: Sequence[IntervalBar], title: str, unit: str) -> str:
    """Return intervals as bars, the estimate as a notch, what was seen as a frame around its range."""
    furthest = max((max(bar.high, bar.seen_high) for bar in bars), default=1.0)
    top = max(5.0 * ceil(furthest / 5.0), 5.0)
    height = _TOP + _ROW * len(bars) + 8

    def x(value: float) -> float:
        return _LEFT + (WIDTH - _LEFT - _RIGHT) * min(max(value, 0.0), top) / top

    parts = [*_axis(x, top, height)]
    for number, bar in enumerate(bars):
        parts.extend(_bar(bar, x, _TOP + _ROW * number))
    told = "; ".join(
        f"{bar.label}: expected {bar.estimate:.1f} ({bar.low:.1f} to {bar.high:.1f}), seen {bar.seen_low:g} to {bar.seen_high:g}"
        for bar in bars
    )
    return _drawing(parts, height, title, f"In {unit}. {told}.")


def share_bars(shares: Sequence[float], expected: float, title: str, labels: Sequence[str]) -> str:
    """Return shares as bars from one line, with a line at what is expected of each."""
    height, base = 190, 150
    tallest = max(*shares, 2.0 * expected)
    step = (WIDTH - 60) / len(shares)
    level = base - 120 * expected / tallest
    parts = []
    for number, (share, label) in enumerate(zip(shares, labels, strict=True)):
        tall, at = 120 * share / tallest, 40 + step * number
        parts.append(
            f'<rect x="{at:.1f}" y="{base - tall:.1f}" width="{step - 8:.1f}" height="{tall:.1f}" fill="{HUE}"/>'
        )
        middle = at + (step - 8) / 2
        parts.append(_text(middle, base + 16, label, anchor="middle"))
        parts.append(_text(middle, base - tall - 4, f"{share:.0%}", anchor="middle", colour=INK))
    parts.append(
        f'<line x1="36" x2="{WIDTH - 20}" y1="{level:.1f}" y2="{level:.1f}" stroke="{INK}" stroke-dasharray="5 4"/>'
    )
    told = ", ".join(f"{label}: {share:.1%}" for share, label in zip(shares, labels, strict=True))
    return _drawing(parts, height, title, f"Expected {expected:.0%} each. {told}.")


def _axis(x: _Scale, top: float, height: int) -> Iterable[str]:
    step = 5.0 if top <= 40.0 else 10.0 * ceil(top / 100.0)
    value = 0.0
    while value <= top:
        at = x(value)
        yield f'<line x1="{at:.1f}" x2="{at:.1f}" y1="{_TOP - 6}" y2="{height - 6}" stroke="{LINE}"/>'
        yield _text(at, _TOP - 12, f"{value:g}", anchor="middle")
        value += step


def _bar(bar: IntervalBar, x: _Scale, y: float) -> Iterable[str]:
    left, width = x(bar.low), max(x(bar.high) - x(bar.low), 1.0)
    seen, seen_width = x(bar.seen_low), max(x(bar.seen_high) - x(bar.seen_low), 3.0)
    yield _text(_LEFT - 10, y + 14, bar.label, anchor="end", colour=INK)
    yield f'<rect x="{left:.1f}" y="{y + 6}" width="{width:.1f}" height="8" fill="{PALE}"/>'
    notch = x(bar.estimate)
    yield f'<path d="M{notch - 4:.1f} {y + 3} h8 l-4 7 z" fill="{HUE}"/>'
    yield (
        f'<rect x="{seen:.1f}" y="{y + 4}" width="{seen_width:.1f}" height="12" fill="none" '
        f'stroke="{INK}" stroke-width="1.5"/>'
    )


def _drawing(parts: Iterable[str], height: int, title: str, told: str) -> str:
    return (
        f'<svg viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg" font-family="system-ui, sans-serif">'
        f"<title>{clean(title)}</title><desc>{clean(told)}</desc>{''.join(parts)}</svg>"
    )
