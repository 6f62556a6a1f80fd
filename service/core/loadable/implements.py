"""What stands at a site: bars, plates, dumbbells, stacks, belts and stations with levels.

Masses are kept in the unit in which they were entered and added as exact fractions of a kilogram, so that a
bar of 45 lb with two plates of 2.5 lb is 50 lb and not nearly so.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import isfinite
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.units import Kilograms, MassUnit

#: How a load is counted: on the whole implement, in each hand, hung on the body, taken off the body, as a
#: level of one station, or not at all.
LoadBasis = Literal["total", "per_hand", "added", "assistance", "level", "none"]

#: One pound in kilograms, exact by definition [Astin1959]_.
POUND = Fraction(45_359_237, 100_000_000)
#: Entered masses are read as decimals with so many places: a milligram of a kilogram (judgement).
_DECIMALS = 6


@dataclass(frozen=True, slots=True, order=True)
class Mass:
    """A mass as it was entered. [kg or lb]"""

    value: float
    unit: MassUnit = "kg"

    def __post_init__(self) -> None:
        if not (isfinite(self.value) and self.value >= 0):
            raise OutsideValidity(mass=self.value, unit=self.unit, at_least=0)

    @property
    def exact_kg(self) -> Fraction:
        """The mass as an exact fraction. [kg]"""
        entered = Fraction(str(round(self.value, _DECIMALS)))
        return entered * POUND if self.unit == "lb" else entered

    @property
    def kg(self) -> Kilograms:
        """The mass. [kg]"""
        return float(self.exact_kg)

    def __str__(self) -> str:
        return f"{self.value:g} {self.unit}"


def _require_above_zero(mass: Mass) -> None:
    if mass.value <= 0:
        raise OutsideValidity(mass=mass.value, unit=mass.unit, above=0)


@dataclass(frozen=True, slots=True)
class Bar:
    """Anything that plates go on: a bar, a trap bar, a sled; ``mass`` with its collars, as it is lifted.

    With two ``sleeves`` the plates go on in pairs, with one (a landmine, a post) one by one.
    """

    name: str
    mass: Mass
    sleeves: Literal[1, 2] = 2


@dataclass(frozen=True, slots=True)
class Handle:
    """A dumbbell handle that plates go on in pairs; ``count`` handles must be loaded alike."""

    name: str
    mass: Mass
    count: int = 2

    def __post_init__(self) -> None:
        if self.count < 1:
            raise OutsideValidity(count=self.count, at_least=1)


@dataclass(frozen=True, slots=True)
class PlatePair:
    """Plates of one mass: ``mass`` of each plate, and how many pairs of them there are."""

    mass: Mass
    pairs: int

    def __post_init__(self) -> None:
        _require_above_zero(self.mass)
        if self.pairs < 0:
            raise OutsideValidity(pairs=self.pairs, at_least=0)


@dataclass(frozen=True, slots=True)
class DumbbellRack:
    """Fixed dumbbells or kettlebells, two of each mass."""

    masses: tuple[Mass, ...]
    name: str = "dumbbell"

    def __post_init__(self) -> None:
        for mass in self.masses:
            _require_above_zero(mass)


@dataclass(frozen=True, slots=True)
class Stack:
    """A stack with a pin: what the pin takes, the add-ons that go on top, and how much reaches the handle.

    ``ratio`` is the load at the handle over the mass lifted: 0.5 for a movable pulley. Each add-on is there
    once. With ``assists`` the stack carries a share of the body instead of loading it.
    """

    name: str
    masses: tuple[Mass, ...]
    add_ons: tuple[Mass, ...] = ()
    ratio: float = 1.0
    assists: bool = False

    def __post_init__(self) -> None:
        if not (isfinite(self.ratio) and self.ratio > 0):
            raise OutsideValidity(ratio=self.ratio, above=0)


@dataclass(frozen=True, slots=True)
class Belt:
    """A belt or vest that hangs plates or a dumbbell on the body; ``mass`` is what it weighs itself."""

    name: str = "belt"
    mass: Mass = Mass(0.0)


@dataclass(frozen=True, slots=True)
class Levels:
    """Labels of one station from light to heavy. They have an order and no mass, and belong to this station
    alone."""

    station: str
    labels: tuple[str, ...]

    def __post_init__(self) -> None:
        if len(set(self.labels)) != len(self.labels):
            raise OutsideValidity(station=self.station, labels=self.labels, rule="each label once")


Implement = Bar | Handle | PlatePair | DumbbellRack | Stack | Belt | Levels
