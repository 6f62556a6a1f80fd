"""Charts as SVG that stand alone: script-free, with a title, a text alternative, the unit and the source.

Every chart takes a ``Frame`` (what it shows) and rows of plain numbers, and returns one SVG document as text:

- ``balance_beam(frame, beams)``: left side left, right side right, the pivot at equality;
- ``interval_rows(frame, rows, marks)``: one interval a row, lying, for muscles or lifts beside each other;
- ``interval_columns(frame, columns, marks)``: one interval a column, standing, for weeks or sessions in order;
- ``line_rows(frame, rows, axis, marks)``: one line a row along a common axis, values at their dots;
- ``band(frame, points, seen, marks)``: an estimate with its interval along a line, what was seen as dots.

Intervals are bars and the estimate is a notch on them; what has no interval is a bar from zero. One hue and greys;
shapes and words say the state, never the colour alone. The ``<desc>`` tells every number drawn, with the answer's
own digits, so that a reader who cannot see the drawing has all of it. Labels may hold any text: they are escaped.
"""

from service.reports.charts.balance_beam import Beam, balance_beam
from service.reports.charts.band import BandPoint, SeenPoint, band
from service.reports.charts.drawing import Frame, Mark, number
from service.reports.charts.interval_columns import IntervalColumn, interval_columns
from service.reports.charts.interval_rows import IntervalRow, interval_rows
from service.reports.charts.line_rows import LineAxis, LinePoint, LineRow, line_rows

__all__ = [
    "BandPoint",
    "Beam",
    "Frame",
    "IntervalColumn",
    "IntervalRow",
    "LineAxis",
    "LinePoint",
    "LineRow",
    "Mark",
    "SeenPoint",
    "balance_beam",
    "band",
    "interval_columns",
    "interval_rows",
    "line_rows",
    "number",
]
