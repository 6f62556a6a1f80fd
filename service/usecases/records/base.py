"""The base of all records, and the quantities that they share."""

from typing import Literal

import msgspec

Side = Literal["left", "right", "both", "unspecified"]
BodySide = Literal["left", "right", "both"]
MassUnit = Literal["kg", "lb"]
LengthUnit = Literal["cm", "in"]


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=False):
    """An immutable value; a field that is None is the same as one that was not said."""


class Mass(Record, frozen=True, kw_only=True):
    """A load or body mass as it was entered."""

    value: float
    unit: MassUnit


class Length(Record, frozen=True, kw_only=True):
    """A girth or distance as it was entered."""

    value: float
    unit: LengthUnit
