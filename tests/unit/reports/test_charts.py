"""The charts: well-formed, script-free, with a text alternative that holds every number drawn."""

import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from service.reports.charts import (
    BandPoint,
    Beam,
    Frame,
    IntervalColumn,
    IntervalRow,
    LineAxis,
    LinePoint,
    LineRow,
    Mark,
    SeenPoint,
    balance_beam,
    band,
    interval_columns,
    interval_rows,
    line_rows,
    number,
)

pytestmark = pytest.mark.quick
_SVG = "{http://www.w3.org/2000/svg}"
_HOSTILE = "x</text><script>alert(1)</script>&\x00\x0b\ud800\"'"
_FRAME = Frame("Sides", "ln(right / left)", "imbalance/1", "Left side left.")
_ALLOWED = {"svg", "title", "desc", "rect", "text", "line", "polygon", "polyline", "circle"}
#: Bars are drawn in the pale tone, notches in the hue.
_PALE, _HUE = "#cfe3e5", "#1f6f78"


def _beam(label: str = "press", state: str = "left ahead") -> str:
    return balance_beam(_FRAME, [Beam(label, -0.0912, -0.1234, -0.0617, state)], [Mark(0.05, "worthwhile")])


def _rows(label: str = "press", state: str = "enough") -> str:
    return interval_rows(
        _FRAME, [IntervalRow(label, -0.0912, -0.1234, -0.0617, state)], [Mark(0.05, "worthwhile")]
    )


def _columns(label: str = "press", state: str = "") -> str:
    return interval_columns(
        _FRAME, [IntervalColumn(label, -0.0912, -0.1234, -0.0617)], [Mark(0.05, "worthwhile")]
    )


def _band(label: str = "press", state: str = "") -> str:
    points = [BandPoint(n, f"{label}{n}", -0.0912, -0.1234, -0.0617) for n in range(3)]
    return band(_FRAME, points, [SeenPoint(1, label, -0.07)], [Mark(0.05, "worthwhile")])


def _lines(label: str = "press", state: str = "") -> str:
    values = (-0.0912, -0.1234, -0.0617)
    points = tuple(LinePoint(n, f"{label}{n}", value, state, state) for n, value in enumerate(values))
    axis = LineAxis(((0.0, label), (2.0, "later")), 0.1, -0.2)
    return line_rows(_FRAME, [LineRow(label, points, state)], axis, [Mark(0.05, "worthwhile")])


_CHARTS: tuple[Callable[..., str], ...] = (_beam, _rows, _columns, _band, _lines)


def _read(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314


def _texts(svg: str) -> tuple[str, str]:
    root = _read(svg)
    return str(root.findtext(f"{_SVG}title")), str(root.findtext(f"{_SVG}desc"))


@pytest.mark.parametrize("draw", _CHARTS)
def test_a_chart_is_xml_with_a_title_a_unit_a_source_and_every_number(draw: Callable[..., str]) -> None:
    title, told = _texts(draw())
    assert title == "Sides"
    assert told.startswith("Left side left. Unit: ln(right / left).")
    assert told.endswith("Source: imbalance/1.")
    for said in ("press", "-0.0912", "-0.1234", "-0.0617", "worthwhile, 0.05"):
        assert said in told


@pytest.mark.parametrize("draw", _CHARTS)
def test_a_hostile_label_stays_text(draw: Callable[..., str]) -> None:
    svg = draw(_HOSTILE, _HOSTILE)
    root = _read(svg)
    assert {element.tag.removeprefix(_SVG) for element in root.iter()} <= _ALLOWED
    assert not [name for element in root.iter() for name in element.attrib if name.startswith("on")]
    assert "alert(1)" in _texts(svg)[1]


@pytest.mark.parametrize("draw", _CHARTS)
def test_a_chart_has_one_hue_and_greys_and_fetches_nothing(draw: Callable[..., str]) -> None:
    svg = draw()
    greys = [colour for colour in set(re.findall(r"#[0-9a-f]{6}", svg)) if not _is_hue(colour)]
    assert all(max(_rgb(colour)) - min(_rgb(colour)) <= 11 for colour in greys)
    assert "href" not in svg
    assert "url(" not in svg


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))


def _is_hue(colour: str) -> bool:
    """Our one hue: a green blue, full or pale."""
    red, green, blue = _rgb(colour)
    return red < green <= blue and blue - red > 11


@pytest.mark.parametrize(
    "empty",
    [
        balance_beam(_FRAME, [], none="Nothing to compare yet."),
        interval_rows(_FRAME, [], none="Nothing to compare yet."),
        interval_columns(_FRAME, [], none="Nothing to compare yet."),
        band(_FRAME, [], none="Nothing to compare yet."),
        line_rows(_FRAME, [], LineAxis((), 1.0), none="Nothing to compare yet."),
    ],
)
def test_a_chart_of_nothing_says_so(empty: str) -> None:
    assert "Nothing to compare yet." in _texts(empty)[1]
    assert any(element.text == "Nothing to compare yet." for element in _read(empty).iter(f"{_SVG}text"))


def _placed(svg: str) -> tuple[list[tuple[float, float]], list[float]]:
    """Return the ends of the interval bars and the tips of the notches. [px]"""
    root = _read(svg)
    bars = [one.attrib for one in root.iter(f"{_SVG}rect") if one.attrib["fill"] == _PALE]
    tips = [
        float(one.attrib["points"].split()[-1].split(",")[0])
        for one in root.iter(f"{_SVG}polygon")
        if one.attrib["fill"] == _HUE
    ]
    return [(float(bar["x"]), float(bar["x"]) + float(bar["width"])) for bar in bars], tips


def test_the_beam_turned_is_the_beam_in_the_mirror_of_its_pivot() -> None:
    sides = [Beam("a", -0.09, -0.12, -0.06), Beam("b", 0.02, -0.01, 0.05)]
    turned = [Beam(one.label, -one.estimate, -one.upper, -one.lower) for one in sides]
    (bars, notches), (other_bars, other_notches) = (
        _placed(balance_beam(_FRAME, one)) for one in (sides, turned)
    )
    pivot = (notches[0] + other_notches[0]) / 2
    assert notches[0] < pivot < notches[1]
    assert other_notches == pytest.approx([2 * pivot - place for place in notches], abs=0.11)
    for (left, right), (other_left, other_right) in zip(bars, other_bars, strict=True):
        assert (other_left, other_right) == pytest.approx((2 * pivot - right, 2 * pivot - left), abs=0.21)


def test_the_pivot_stands_at_equality() -> None:
    svg = balance_beam(_FRAME, [Beam("a", 0.0, -0.03, 0.06)])
    _, notches = _placed(svg)
    pivot = next(one for one in _read(svg).iter(f"{_SVG}polygon") if one.attrib["fill"] == "#667078")
    assert float(pivot.attrib["points"].split()[0].split(",")[0]) == pytest.approx(notches[0], abs=0.01)


def test_a_long_label_is_cut_in_the_drawing_and_whole_in_the_text() -> None:
    svg = _beam("a very long name of a lift with one arm and a cable and a bench")
    assert "bench" in _texts(svg)[1]
    assert any((one.text or "").endswith("…") for one in _read(svg).iter(f"{_SVG}text"))


@pytest.mark.parametrize(
    ("value", "told"),
    [(-0.09, "-0.09"), (0.0, "0"), (-0.00001, "0"), (12.5, "12.5"), (1234.56789, "1234.5679")],
)
def test_a_number_is_told_with_the_digits_of_an_answer(value: float, told: str) -> None:
    assert number(value) == told


def test_the_dots_of_a_row_stand_by_their_values_and_places() -> None:
    points = tuple(LinePoint(x, str(x), value) for x, value in ((0.0, 0.0), (12.0, 0.5), (24.0, 1.0)))
    axis = LineAxis(((0.0, "0 h"), (24.0, "24 h")), 1.0)
    root = _read(line_rows(_FRAME, [LineRow("a", points), LineRow("b", points)], axis))
    dots = [(float(one.attrib["cx"]), float(one.attrib["cy"])) for one in root.iter(f"{_SVG}circle")]
    first, second = dots[:3], dots[3:]
    assert first[1][0] - first[0][0] == pytest.approx(first[2][0] - first[1][0], abs=0.2)
    assert first[0][1] - first[1][1] == pytest.approx(first[1][1] - first[2][1], abs=0.2)
    assert first[0][1] > first[2][1]
    assert all(below[1] > above[1] for above, below in zip(first, second, strict=True))


def _lines_of_text(svg: str) -> list[tuple[float, float, float, float, str]]:
    """Return the boxes of all upright texts, about as wide as they are drawn: left, top, right, bottom, words."""
    boxes = []
    for one in ET.fromstring(svg).iter(f"{_SVG}text"):  # noqa: S314
        words, size = str(one.text), float(one.get("font-size", "12"))
        width, x, y = 0.55 * size * len(words), float(one.get("x", "0")), float(one.get("y", "0"))
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[one.get("text-anchor", "start")]
        boxes.append((left, y - 0.75 * size, left + width, y + 0.2 * size, words))
    return boxes


def _overprinted(svg: str) -> list[tuple[str, str]]:
    boxes = _lines_of_text(svg)
    return [
        (one[4], other[4])
        for place, one in enumerate(boxes)
        for other in boxes[:place]
        if min(one[2], other[2]) - max(one[0], other[0]) > 1
        and min(one[3], other[3]) - max(one[1], other[1]) > 1
    ]


_THRESHOLDS = [Mark(1.1111, "keeps size"), Mark(3.6053, "detectable gain"), Mark(8.0417, "small next gain")]


@pytest.mark.parametrize("weeks", [1, 2, 3, 8, 10, 12, 16, 26, 52])
@pytest.mark.parametrize("most", [0.5, 8.0, 40.0, 150.0])
def test_weeks_and_thresholds_never_overprint_each_other(weeks: int, most: float) -> None:
    columns = [IntervalColumn(f"2026-09-{1 + n % 28:02}", most, 0.8 * most, most) for n in range(weeks)]
    svg = interval_columns(_FRAME, columns, _THRESHOLDS)
    assert _overprinted(svg) == []
    assert {"keeps size, 1.1", "detectable gain, 3.6", "small next gain, 8"} <= {
        box[4] for box in _lines_of_text(svg)
    }
    assert "small next gain, 8.0417" in _texts(svg)[1]


@pytest.mark.parametrize(
    "days", [(1,), (1, 4), (1, 4, 7), (1, 2, 3), (1, 2, 3, 4, 5), (1, 1.2, 9), range(20)]
)
@pytest.mark.parametrize("pain", [0.0, 2.0, 3.0, 4.0, 5.1, 10.0])
def test_values_of_a_row_never_overprint_each_other_or_the_marks(days: Sequence[float], pain: float) -> None:
    points = tuple(
        LinePoint(-day, f"day {day}", pain, "reduce and watch") for day in sorted(days, reverse=True)
    )
    axis = LineAxis(((-21.0, "6 Nov"), (-1.0, "26 Nov")), 10.0)
    marks = [Mark(2.0, "go up to"), Mark(5.0, "watch up to")]
    svg = line_rows(_FRAME, [LineRow("shoulder", points, "now reduce")], axis, marks)
    assert _overprinted(svg) == []
    assert any(box[4].startswith(number(pain)) for box in _lines_of_text(svg))


@pytest.mark.parametrize("days", [(21,), (21, 20.9), (21, 20.4), (21, 20.9, 20.8, 1), (21, 17, 1)])
@pytest.mark.parametrize("pain", [0.0, 4.0, 4.75, 5.1, 6.0, 10.0])
def test_values_at_the_left_edge_never_overprint_the_name_of_their_row(
    days: Sequence[float], pain: float
) -> None:
    points = tuple(LinePoint(-day, f"day {day}", pain, "reduce and watch") for day in days)
    axis = LineAxis(((-21.0, "6 Nov"), (-1.0, "26 Nov")), 10.0)
    svg = line_rows(_FRAME, [LineRow("lower back, right", points, "now reduce")], axis)
    assert _overprinted(svg) == []
    assert any(box[4].startswith(number(pain)) for box in _lines_of_text(svg))


def test_words_at_the_left_edge_move_right_where_there_is_room() -> None:
    axis = LineAxis(((-21.0, "6 Nov"), (-1.0, "26 Nov")), 10.0)
    svg = line_rows(_FRAME, [LineRow("knee", (LinePoint(-21.0, "6 Nov", 4.0, "reduce and watch"),))], axis)
    name, told = (
        next(box for box in _lines_of_text(svg) if box[4] == words)
        for words in ("knee", "4 reduce and watch")
    )
    assert told[0] > name[2]


def test_a_beam_of_nothing_has_its_pivot_in_the_middle() -> None:
    svg = balance_beam(_FRAME, [], none="Nothing yet.")
    assert _overprinted(svg) == []
    left, equal, right = (
        next((box[0] + box[2]) / 2 for box in _lines_of_text(svg) if box[4] == words)
        for words in ("left ahead", "equal", "right ahead")
    )
    assert left < equal < right


def _axis_labels(days: Sequence[float]) -> list[tuple[float, str]]:
    points = [
        BandPoint(day, f"2026-{1 + int(day) // 28:02d}-{1 + int(day) % 28:02d}", 1, 0.5, 1.5) for day in days
    ]
    told = {point.label for point in points}
    texts = _read(band(_FRAME, points)).iter(f"{_SVG}text")
    shown = [(float(element.attrib["x"]), str(element.text)) for element in texts if element.text in told]
    assert shown[0][1] == points[0].label
    return shown


@pytest.mark.parametrize(
    "days",
    [
        [0, 1, 2, 3, 100, 101, 102, 103, 200, 201, 202, 203],
        [0, 100, 101, 102, 103, 104, 105, 106, 107, 108],
        [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 300],
        [0, 295, 300],
        [0, 0.1],
        list(range(0, 160, 2)),
    ],
)
def test_labels_of_sessions_that_come_in_bursts_do_not_print_over_each_other(days: list[float]) -> None:
    shown = _axis_labels(days)
    for (left, one), (right, other) in pairwise(shown):
        # A digit of 12 px is some 6.7 px wide; both labels stand around their place.
        assert right - left > 6.7 * 0.5 * (len(one) + len(other))
    assert len(shown) >= 2
    assert shown[-1][1] == f"2026-{1 + int(days[-1]) // 28:02d}-{1 + int(days[-1]) % 28:02d}"


def test_labels_of_even_points_stand_along_the_whole_axis() -> None:
    assert len(_axis_labels(range(0, 162, 20))) == 9
    assert 7 <= len(_axis_labels(range(160))) <= 11
    assert len(_axis_labels([5])) == 1
