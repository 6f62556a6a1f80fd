"""The ways in which one implement makes loads, counted on a grid that all masses of the site share."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from service.core.loadable.implements import (
    POUND,
    Bar,
    Belt,
    DumbbellRack,
    Handle,
    Implement,
    Mass,
    PlatePair,
    Stack,
)
from service.core.loadable.plate_sums import PlateKind, PlateSums, plate_sums


class Way(NamedTuple):
    """One way to make a load: ``whole`` steps of the site's grid, the units that go into it, and its
    pieces."""

    whole: int
    units: frozenset[str]
    pieces: tuple[str, ...]
    label: str | None = None


def _masses(implement: Implement) -> Iterator[Fraction]:
    """Every exact mass that an implement can bring into a sum. [kg]"""
    if isinstance(implement, Bar | Handle | Belt | PlatePair):
        yield implement.mass.exact_kg
    elif isinstance(implement, DumbbellRack):
        yield from (mass.exact_kg for mass in implement.masses)
    elif isinstance(implement, Stack):
        ratio = Fraction(str(implement.ratio))
        yield from (ratio * mass.exact_kg for mass in (*implement.masses, *implement.add_ons))


class Grid:
    """The finest common step of a site's masses: ``per_kg`` steps make one kilogram, exactly."""

    def __init__(self, implements: Iterable[Implement]) -> None:
        self.per_kg = lcm(*(mass.denominator for i in implements for mass in _masses(i)))

    def whole(self, exact_kg: Fraction) -> int:
        """Return a mass in steps of the grid."""
        return int(exact_kg * self.per_kg)

    def kilograms(self, whole: int) -> float:
        """Return steps of the grid as the nearest float. [kg]"""
        return whole / self.per_kg

    def pounds(self, whole: int) -> float:
        """Return steps of the grid as the nearest float. [lb]"""
        return whole * POUND.denominator / (self.per_kg * POUND.numerator)


def _units(masses: Iterable[Mass]) -> frozenset[str]:
    return frozenset(mass.unit for mass in masses if mass.value > 0)


def plate_kinds(plates: Sequence[PlatePair], pairs_per_step: Fraction) -> list[PlateKind]:
    """Return plates as kinds to add up; one step of a kind takes so many pairs."""
    return [PlateKind(plate.mass.exact_kg, int(plate.pairs / pairs_per_step)) for plate in plates]


def heaviest_first(plates: Iterable[PlatePair]) -> tuple[PlatePair, ...]:
    """Return plates in the order in which they go on."""
    return tuple(sorted(plates, key=lambda plate: -plate.mass.exact_kg))


def _laid_ways(
    grid: Grid, carrier: Mass, name: str, plates: Sequence[PlatePair], sums: PlateSums, sleeves: int
) -> Iterator[Way]:
    """Spell out plate sums as ways; only the units of plates that are used count."""
    texts = [str(plate.mass) for plate in plates]
    units = [frozenset((plate.mass.unit,)) for plate in plates]
    bare, own = grid.whole(carrier.exact_kg), _units((carrier,))
    step = sleeves * grid.per_kg // sums.denominator
    for whole, counts in zip(sums.whole.tolist(), sums.steps.tolist(), strict=True):
        used = [index for index, count in enumerate(counts) if count]
        pieces = (name, *(texts[index] for index in used for _ in range(counts[index])))
        yield Way(bare + step * whole, own.union(*(units[index] for index in used)), pieces)


def on_sleeves(
    grid: Grid, carrier: Bar | Handle | Belt, plates: Sequence[PlatePair], highest: Fraction | None
) -> Iterator[Way]:
    """All loads of one carrier with plates on its sleeves; every handle gets its share of the pairs.

    ``plates`` come heaviest first; loads above ``highest`` [kg] are left out.
    """
    sleeves = carrier.sleeves if isinstance(carrier, Bar) else 1 if isinstance(carrier, Belt) else 2
    pairs_per_step = Fraction(carrier.count) if isinstance(carrier, Handle) else Fraction(sleeves, 2)
    room = None if highest is None else (highest - carrier.mass.exact_kg) / sleeves
    if room is not None and room < 0:
        return
    sums = plate_sums(plate_kinds(plates, pairs_per_step), room)
    name = f"{carrier.name} {carrier.mass}" if carrier.mass.value else carrier.name
    yield from _laid_ways(grid, carrier.mass, name, plates, sums, sleeves)


def held(grid: Grid, rack: DumbbellRack, count: int) -> Iterator[Way]:
    """All loads of a rack with ``count`` dumbbells of the same mass lifted together."""
    for mass in rack.masses:
        yield Way(grid.whole(count * mass.exact_kg), _units((mass,)), (rack.name, *(str(mass),) * count))


def hung(grid: Grid, belt: Belt, rack: DumbbellRack) -> Iterator[Way]:
    """All loads of one dumbbell hung on a belt."""
    for mass in rack.masses:
        total = grid.whole(belt.mass.exact_kg + mass.exact_kg)
        yield Way(total, _units((belt.mass, mass)), (belt.name, rack.name, str(mass)))


def pinned(grid: Grid, stack: Stack) -> Iterator[Way]:
    """All pins with all sets of add-ons, as the load that reaches the handle."""
    add_ons = plate_sums([PlateKind(mass.exact_kg, 1) for mass in stack.add_ons])
    ratio = Fraction(str(stack.ratio))
    pins = [(grid.whole(ratio * pin.exact_kg), _units((pin,)), str(pin)) for pin in stack.masses]
    for position, taken in enumerate(add_ons.steps.tolist()):
        laid = [mass for mass, count in zip(stack.add_ons, taken, strict=True) if count]
        more, units = grid.whole(ratio * add_ons.sum_at(position)), _units(laid)
        on_top = tuple(str(mass) for mass in laid)
        for whole, own, pin in pins:
            pieces = (pin, *on_top)
            yield Way(whole + more, own | units, (stack.name, *pieces), " + ".join(pieces))


def body_alone() -> Way:
    """Nothing added and nothing taken off."""
    return Way(0, frozenset(), ())
