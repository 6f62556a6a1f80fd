"""One row of a log in CSV: what each column may hold, and how a cell that cannot be read is told."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from math import isfinite
from typing import Final, Literal, TypeVar

from service.core.units import Kilograms, Seconds, mass_to_kg

Side = Literal["left", "right", "both", ""]
Purpose = Literal["warm_up", "work", "reduced", "test", "technique", "rehab", "unknown"]

#: The columns of a log; their order in a file does not matter.
COLUMNS: Final = (
    "athlete", "performed_at", "session", "ordinal", "exercise", "side", "stage", "load", "unit", "reps",
    "reps_in_reserve", "to_failure", "range", "pain", "purpose", "rest_s", "body_mass",
)  # fmt: skip
#: Without these a log says of no set what it was, or when.
NEEDED: Final = ("performed_at", "exercise")

_SIDES: Mapping[str, Side] = {
    "unspecified": "", "unknown": "", "left": "left", "l": "left", "right": "right", "r": "right",
    "both": "both", "b": "both", "bilateral": "both",
}  # fmt: skip
_PURPOSES: Mapping[str, Purpose] = {
    "unknown": "unknown", "warm_up": "warm_up", "warmup": "warm_up", "work": "work",
    "reduced": "reduced", "test": "test", "technique": "technique", "rehab": "rehab",
}  # fmt: skip
_PURPOSES_EXPECTED = f"one of {', '.join(dict.fromkeys(_PURPOSES.values()))}"
_YES_OR_NO: Mapping[str, bool] = {
    "0": False, "false": False, "no": False, "n": False, "f": False,
    "1": True, "true": True, "yes": True, "y": True, "t": True,
}  # fmt: skip
_UNITS: Mapping[str, Literal["kg", "lb"]] = {
    "": "kg", "kg": "kg", "kgs": "kg", "lb": "lb", "lbs": "lb",
}  # fmt: skip
#: Words of a range that say what it is, and fillers around them; a part that is not said to be the bottom or the top
#: half is a set-up of its own. Which half a lengthened muscle means depends on the lift, so that it is one too.
_SETUPS: Mapping[str, str] = {
    "full": "", "complete": "", "whole": "", "unknown": "",
    "bottom": "bottom_half", "lower": "bottom_half", "top": "top_half", "upper": "top_half", "lockout": "top_half",
    "lengthened": "range:lengthened", "stretched": "range:lengthened", "long": "range:lengthened",
    "shortened": "range:shortened", "short": "range:shortened",
    "half": "range:half", "partial": "range:partial", "quarter": "range:quarter",
}  # fmt: skip
_RANGE_FILLERS = frozenset({"half", "partial", "range", "rom", "of", "motion", "rep", "position", "only"})
_OWN_RANGE = "a range of its own"
#: Commas that may group thousands: `0,125` cannot.
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+")
_MOST_MASS: Kilograms = 5000.0
_DEGREES = re.compile(r"(\d{1,3})\s*(?:-|–|to)\s*(\d{1,3})\s*(?:°|deg)?")

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class RowFault:
    """A cell that could not be read: data row counted from 0, column, what stood there, what was expected.

    ``read_as`` says what it counts as, empty where it counts as blank.
    """

    row: int
    column: str
    found: str
    expected: str
    read_as: str = ""

    def __str__(self) -> str:
        said = f"row {self.row}, column {self.column}: {self.found!r} is not {self.expected}"
        return f"{said}; read as {self.read_as}" if self.read_as else said


@dataclass(frozen=True, slots=True)
class LogRow:
    """One logged set as the file tells it.

    ``at`` is the instant in seconds since 1970 [s], ``local_day`` the calendar day where it was done. ``load``
    is what was hung, held or pinned [kg], below 0 where it is written as help to the body, None where the cell is blank
    or, as ``load_unread`` says, could not be read. ``setup`` is empty for the full range. ``replayed_as`` orders rows of
    one instant: session, then ordinal.
    """

    index: int
    athlete: str
    at: Seconds
    local_day: str
    session: str
    ordinal: str
    replayed_as: tuple[object, ...]
    exercise: str
    side: Side
    stage: int
    load: Kilograms | None
    reps: int | None
    reps_in_reserve: float | None
    to_failure: bool
    setup: str
    pain: float | None
    purpose: Purpose
    rest_s: Seconds | None
    body_mass: Kilograms | None
    load_unread: bool = False


class Cells:
    """The cells of one row by column; a cell that cannot be read counts as blank and is put on the list of faults."""

    def __init__(self, index: int, by_column: Mapping[str, str], faults: list[RowFault]) -> None:
        self._index = index
        self._by_column = by_column
        self._faults = faults

    def text(self, column: str) -> str:
        """Return the cell without the blanks around it, empty where the column is missing."""
        return self._by_column.get(column, "").strip()

    def read(self, column: str, reader: Callable[[str], _Value], expected: str, blank: _Value) -> _Value:
        """Return what the cell means, or ``blank`` where it cannot be read."""
        text = self.text(column)
        try:
            return reader(text)
        except TwoReadings:
            self.fault(column, f"{expected}: its comma may mean thousands or decimals")
        except (ValueError, KeyError):
            self.fault(column, expected)
        return blank

    def number(self, column: str, low: float, high: float, expected: str) -> float | None:
        """Return a finite number within limits, None where blank."""
        if not self.text(column):
            return None
        return self.read(column, lambda text: _number(text, low, high), expected, None)

    def whole(self, column: str, high: int, expected: str) -> int | None:
        """Return a whole number from 0 up, None where blank."""
        if not self.text(column):
            return None
        return self.read(column, lambda text: _whole(text, high), expected, None)

    def choice(self, column: str, choices: Mapping[str, _Value], expected: str, blank: _Value) -> _Value:
        """Return what a word stands for, ``blank`` where none is written."""
        if not self.text(column):
            return blank
        return self.read(column, lambda text: choices[_word(text)], expected, blank)

    def fault(self, column: str, expected: str, read_as: str = "") -> None:
        """Put a cell on the list of faults."""
        self._faults.append(RowFault(self._index, column, self.text(column), expected, read_as))


def read_row(index: int, by_column: Mapping[str, str], faults: list[RowFault]) -> LogRow | None:
    """Return a row, or None where neither its time nor its exercise can be told; every fault is appended."""
    cells = Cells(index, by_column, faults)
    when = cells.read("performed_at", _instant, "an RFC 3339 instant or a date such as 2026-03-02", None)
    exercise = cells.text("exercise")
    if not exercise:
        cells.fault("exercise", "the name of an exercise")
    known_unit = cells.read("unit", lambda text: _UNITS[_word(text)], "kg or lb", None)
    if when is None or not exercise:
        return None
    session, ordinal = cells.text("session"), cells.text("ordinal")
    load = _mass(cells, "load", known_unit, -_MOST_MASS)
    return LogRow(
        index=index,
        athlete=cells.text("athlete"),
        at=when[0],
        local_day=when[1],
        session=session,
        ordinal=ordinal,
        replayed_as=(_in_order(session), _in_order(ordinal)),
        exercise=exercise,
        side=cells.choice("side", _SIDES, "left, right, both or blank", ""),
        stage=cells.whole("stage", 50, "a whole number, 0 for the set before any drop") or 0,
        load=load,
        reps=cells.whole("reps", 1000, "a whole number of repetitions"),
        reps_in_reserve=cells.number("reps_in_reserve", 0.0, 100.0, "a number of repetitions from 0 up"),
        to_failure=cells.choice("to_failure", _YES_OR_NO, "true or false", False),
        setup=_setup(cells),
        pain=cells.number("pain", 0.0, 10.0, "a number from 0 to 10"),
        purpose=cells.choice("purpose", _PURPOSES, _PURPOSES_EXPECTED, "unknown"),
        rest_s=cells.number("rest_s", 0.0, 604_800.0, "seconds from 0 up"),
        body_mass=_mass(cells, "body_mass", known_unit, 15.0),
        load_unread=load is None and bool(cells.text("load")),
    )


def _mass(cells: Cells, column: str, unit: Literal["kg", "lb"] | None, least: Kilograms) -> Kilograms | None:
    value = cells.number(column, least, _MOST_MASS, f"a mass from {max(least, 0.0):g} up")
    return None if value is None or unit is None else mass_to_kg(value, unit)


class TwoReadings(ValueError):
    """A comma before three digits: thousands to some, decimals to others, and both could be."""


def _number(text: str, low: float, high: float) -> float:
    """Return a number within limits; points and commas together tell which of them groups thousands."""
    for grouping, decimal in ((",", "."), (".", ",")):
        if re.fullmatch(rf"[+-]?\d{{1,3}}(\{grouping}\d{{3}})+\{decimal}\d+", text):
            text = text.replace(grouping, "")
    value = float(text.replace(",", "."))
    if not isfinite(value):
        raise ValueError(text)
    possible = low <= value <= high
    if _GROUPED.fullmatch(text):
        grouped = float(text.replace(",", ""))
        if possible and low <= grouped <= high:
            raise TwoReadings(text)
        value = value if possible else grouped
    if not low <= value <= high:
        raise ValueError(text)
    return value


def _whole(text: str, high: int) -> int:
    value = _number(text, 0.0, float(high))
    if value != int(value):
        raise ValueError(text)
    return int(value)


def _word(text: str) -> str:
    return text.casefold().replace("-", "_").replace(" ", "_")


def _setup(cells: Cells) -> str:
    """Return the set-up that the range makes; what cannot be read is never mixed into the full range."""
    text = cells.text("range")
    degrees = _DEGREES.fullmatch(text.casefold())
    if degrees is not None:
        return f"range:{int(degrees[1])}-{int(degrees[2])}"
    words = [word.removesuffix("s") for word in re.findall(r"[^\W_]+", text.casefold())]
    telling = [word for word in words if word not in _RANGE_FILLERS] or words[:1]
    if not telling:
        return ""
    if len(telling) == 1 and telling[0] in _SETUPS:
        return _SETUPS[telling[0]]
    cells.fault("range", "full, bottom_half, top_half, partial or degrees such as 0-60", _OWN_RANGE)
    return f"range:{'_'.join(words)}"


def _in_order(text: str) -> tuple[int, float, str]:
    """Return a key that sorts blanks first, then numbers by size, then other texts."""
    if not text:
        return (0, 0.0, "")
    try:
        number = float(text)
    except ValueError:
        return (2, 0.0, text)
    return (1, number, "") if isfinite(number) else (2, 0.0, text)


@lru_cache(maxsize=100_000)
def _instant(text: str) -> tuple[Seconds, str]:
    """Return seconds since 1970 and the local day; a time without an offset counts as UTC, a date as its midnight."""
    if len(text) == 10:
        moment = datetime.combine(date.fromisoformat(text), datetime.min.time(), UTC)
    else:
        moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.timestamp(), moment.date().isoformat()
