"""The loads that a site's implements can make for one exercise, and the ones nearest to a wanted load."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isfinite

import numpy as np

from service.core.errors import NothingLoadable, OutsideValidity
from service.core.estimates import Reason
from service.core.loadable.implements import (
    Bar,
    Belt,
    DumbbellRack,
    Handle,
    Implement,
    Levels,
    LoadBasis,
    Mass,
    PlatePair,
    Stack,
)
from service.core.loadable.plate_sums import plate_sums
from service.core.loadable.ways import (
    Grid,
    Way,
    body_alone,
    heaviest_first,
    held,
    hung,
    on_sleeves,
    pinned,
    plate_kinds,
)
from service.core.units import Kilograms

#: Two loads are the same if they lie this close: a milligram covers the rounding of floats (judgement). [kg]
SAME_LOAD_KG = 1e-6
#: So many ways to make loads at once at most (judgement): several times a large gym's, and a few seconds' work.
_MOST_WAYS = 250_000


@dataclass(frozen=True, slots=True)
class Option:
    """One load that can be made.

    ``value`` is the same load in ``unit``: the unit of what makes it, kilograms where units are mixed.
    ``label`` is what the athlete sets where that is not the load itself: a pin or a level. ``made_of``
    names the implement and what goes on it, on each sleeve and heaviest first. On the basis ``level`` a
    load has no mass: ``load_kg`` and ``value`` are the rank of the label, 1 the lightest, and the unit is
    ``{level}``.
    """

    load_kg: Kilograms
    value: float
    unit: str
    label: str | None
    made_of: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Nearest:
    """The options around a wanted load; ``at`` is there if the load itself can be made."""

    below: Option | None
    at: Option | None
    above: Option | None


class _Site:
    """A site's implements by kind, and the ways in which they make loads on one basis."""

    def __init__(self, implements: tuple[Implement, ...], highest: Fraction | None) -> None:
        self.implements = implements
        self.highest = highest
        self.grid = Grid(implements)
        self.plates = heaviest_first(i for i in implements if isinstance(i, PlatePair))

    def _ways_with_plates(self, carrier: Bar | Handle | Belt) -> Iterator[Way]:
        return on_sleeves(self.grid, carrier, self.plates, self.highest)

    def total(self, dumbbells_held: int) -> Iterator[Way]:
        for implement in self.implements:
            if isinstance(implement, Bar):
                yield from self._ways_with_plates(implement)
            elif isinstance(implement, Stack) and not implement.assists:
                yield from pinned(self.grid, implement)
            elif isinstance(implement, DumbbellRack):
                yield from held(self.grid, implement, dumbbells_held)

    def per_hand(self) -> Iterator[Way]:
        for implement in self.implements:
            if isinstance(implement, Handle):
                yield from self._ways_with_plates(implement)
            elif isinstance(implement, DumbbellRack):
                yield from held(self.grid, implement, 1)

    def added(self) -> Iterator[Way]:
        yield body_alone()
        racks = [i for i in self.implements if isinstance(i, DumbbellRack)]
        for belt in (i for i in self.implements if isinstance(i, Belt)):
            yield from self._ways_with_plates(belt)
            for rack in racks:
                yield from hung(self.grid, belt, rack)

    def assistance(self) -> Iterator[Way]:
        yield body_alone()
        for stack in (i for i in self.implements if isinstance(i, Stack) and i.assists):
            yield from pinned(self.grid, stack)

    def ways(self, basis: LoadBasis, dumbbells_held: int) -> Iterator[Way]:
        if basis == "total":
            return self.total(dumbbells_held)
        if basis == "per_hand":
            return self.per_hand()
        return self.added() if basis == "added" else self.assistance()

    def options(self, ways: Iterable[Way]) -> list[Option]:
        """Keep the way with the fewest pieces to each load, the first listed between equals; sort by load.

        Raises OutsideValidity where there are too many ways.
        """
        limit = None if self.highest is None else self.highest * self.grid.per_kg
        best: dict[int, Way] = {}
        for count, way in enumerate(ways):
            if count == _MOST_WAYS:
                raise OutsideValidity(ways_at_most=_MOST_WAYS)
            if limit is not None and way.whole > limit:
                continue
            known = best.get(way.whole)
            if known is None or len(way.pieces) < len(known.pieces):
                best[way.whole] = way
        return [self._option(best[whole]) for whole in sorted(best)]

    def _option(self, way: Way) -> Option:
        kilograms = self.grid.kilograms(way.whole)
        if way.units == {"lb"}:
            return Option(kilograms, self.grid.pounds(way.whole), "lb", way.label, way.pieces)
        return Option(kilograms, kilograms, "kg", way.label, way.pieces)


def _level_options(implements: Iterable[Implement]) -> list[Option]:
    stations = [i for i in implements if isinstance(i, Levels)]
    if len(stations) > 1:
        names = tuple(s.station for s in stations)
        raise OutsideValidity(stations=names, rule="levels of one station at a time")
    return [
        Option(float(rank), float(rank), "{level}", label, (station.station, label))
        for station in stations
        for rank, label in enumerate(station.labels, start=1)
    ]


def _limit(highest_kg: Kilograms | None) -> Fraction | None:
    if highest_kg is None:
        return None
    if not isfinite(highest_kg):
        raise OutsideValidity(highest_kg=highest_kg)
    return Fraction(highest_kg + SAME_LOAD_KG)


def options(
    implements: Iterable[Implement],
    basis: LoadBasis,
    *,
    dumbbells_held: int = 1,
    highest_kg: Kilograms | None = None,
) -> tuple[Option, ...]:
    """Return every load that the implements can make, from light to heavy, each once.

    Give the implements that suit the exercise. ``dumbbells_held`` is how many are lifted together where
    loads are counted on the basis ``total``; ``highest_kg`` stops the search there. ``added`` and
    ``assistance`` begin at 0, the body alone. Raises NothingLoadable where nothing can be made.
    """
    offered = tuple(implements)
    if dumbbells_held < 1:
        raise OutsideValidity(dumbbells_held=dumbbells_held, at_least=1)
    if basis == "none":
        return (Option(0.0, 0.0, "kg", None, ()),)
    if basis == "level":
        found = _level_options(offered)
    else:
        site = _Site(offered, _limit(highest_kg))
        found = site.options(site.ways(basis, dumbbells_held))
    if not found:
        raise NothingLoadable(basis=basis, highest_kg=highest_kg)
    return tuple(found)


def nearest(sorted_options: Sequence[Option], target_kg: Kilograms) -> Nearest:
    """Return the options just below, at and just above a load; ``sorted_options`` as ``options`` returns them."""
    if not isfinite(target_kg):
        raise OutsideValidity(target_kg=target_kg)
    start = bisect_left(sorted_options, target_kg - SAME_LOAD_KG, key=lambda o: o.load_kg)
    end = bisect_right(sorted_options, target_kg + SAME_LOAD_KG, key=lambda o: o.load_kg)
    return Nearest(
        below=sorted_options[start - 1] if start > 0 else None,
        at=sorted_options[start] if start < end else None,
        above=sorted_options[end] if end < len(sorted_options) else None,
    )


def explain(around: Nearest, target_kg: Kilograms) -> Reason:
    """Return how a wanted load stands to what can be made: met, between two, too light or too heavy."""
    below = around.below.load_kg if around.below else None
    above = around.above.load_kg if around.above else None
    params = {"target_kg": target_kg, "below_kg": below, "above_kg": above}
    if around.at:
        return Reason("loadable.can_be_made", params)
    if around.below is None:
        return Reason("loadable.under_the_lightest", params)
    return Reason("loadable.over_the_heaviest" if around.above is None else "loadable.between_two", params)


def loads_near(sorted_options: Sequence[Option], target_kg: Kilograms, count: int = 5) -> tuple[Option, ...]:
    """Return the ``count`` options nearest to a load, from light to heavy; the lighter wins a tie."""
    if not isfinite(target_kg):
        raise OutsideValidity(target_kg=target_kg)
    by_distance = sorted(sorted_options, key=lambda o: (abs(o.load_kg - target_kg), o.load_kg))
    return tuple(sorted(by_distance[:count], key=lambda o: o.load_kg))


def plates_per_side(bar: Bar, plates: Sequence[PlatePair], target: Mass) -> tuple[tuple[Mass, int], ...]:
    """Return the fewest plates that go on each sleeve for a load, heaviest first, as (plate, how many).

    Raises NothingLoadable with the nearest loads below and above where the bar cannot make it exactly.
    """
    ordered = heaviest_first(plates)
    sums = plate_sums(plate_kinds(ordered, Fraction(bar.sleeves, 2)))
    wanted = (target.exact_kg - bar.mass.exact_kg) / bar.sleeves * sums.denominator
    whole = wanted.numerator if wanted.denominator == 1 else -1
    found: list[int] = np.flatnonzero(sums.whole == whole).tolist()
    if found:
        counts = sums.steps[found[0]].tolist()
        return tuple((plate.mass, count) for plate, count in zip(ordered, counts, strict=True) if count)
    around = nearest(options((bar, *plates), "total"), target.kg)
    raise NothingLoadable(
        target=str(target),
        below_kg=around.below.load_kg if around.below else None,
        above_kg=around.above.load_kg if around.above else None,
    )
