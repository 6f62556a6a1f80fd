"""Every sum that a set of plates can make, with the fewest plates for each.

Sums run on whole multiples of the largest unit that all masses share, so they are exact for any mixture of
kilograms and pounds. Between equally few plates the heavier ones go on first, which is also how federations
load (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import numpy as np
from numpy.typing import NDArray

from service.core.errors import OutsideValidity

#: Above this the grid of whole numbers would overflow 64 bits; no site comes near it.
_LARGEST_WHOLE = 2**62
#: So many sums at once at most (judgement): thirty times a large gym's, and still well under a second.
_MOST_SUMS = 500_000


@dataclass(frozen=True, slots=True)
class PlateKind:
    """Plates of one mass: how heavy one step of them is, and how many steps there are."""

    mass: Fraction
    steps: int


@dataclass(frozen=True, slots=True)
class PlateSums:
    """All sums in rising order as ``whole / denominator`` [kg], and the steps of each kind that make them."""

    whole: NDArray[np.int64]
    denominator: int
    steps: NDArray[np.int64]

    def sum_at(self, position: int) -> Fraction:
        """Return one sum, exact. [kg]"""
        return Fraction(int(self.whole[position]), self.denominator)


@dataclass(frozen=True, slots=True)
class _Partial:
    whole: NDArray[np.int64]
    plates: NDArray[np.int64]
    order: NDArray[np.int64]
    steps: NDArray[np.int64]


def _add_kind(partial: _Partial, whole: int, steps: int, highest: int) -> _Partial:
    """Lay 0 to ``steps`` plates of the next lighter kind on every sum; keep the best way to each new sum."""
    if partial.whole.size * (steps + 1) > _MOST_SUMS:
        raise OutsideValidity(sums=partial.whole.size * (steps + 1), at_most=_MOST_SUMS)
    taken = np.arange(steps + 1, dtype=np.int64)
    sums = (partial.whole[:, None] + whole * taken).ravel()
    plates = (partial.plates[:, None] + taken).ravel()
    order = (partial.order[:, None] * (steps + 1) + taken).ravel()
    ranking = np.lexsort((-order, plates, sums))
    ranking = ranking[sums[ranking] <= highest]
    first = np.ones(ranking.size, dtype=bool)
    first[1:] = sums[ranking][1:] != sums[ranking][:-1]
    chosen = ranking[first]
    came_from, took = np.divmod(chosen, steps + 1)
    history = np.column_stack((partial.steps[came_from], took))
    ranks = np.unique(order[chosen], return_inverse=True)[1]  # the values themselves would outgrow any number
    return _Partial(sums[chosen], plates[chosen], ranks, history)


def plate_sums(kinds: Sequence[PlateKind], highest: Fraction | None = None) -> PlateSums:
    """Return every sum that the kinds can make, up to ``highest`` [kg]; columns of ``steps`` follow ``kinds``.

    Raises OutsideValidity for an inventory so large or so finely divided that it cannot be added up.
    """
    denominator = lcm(*(kind.mass.denominator for kind in kinds)) if kinds else 1
    total = sum((kind.mass * kind.steps for kind in kinds), Fraction(0))
    limit = total if highest is None else min(total, highest)
    if total * denominator > _LARGEST_WHOLE:
        raise OutsideValidity(plates_kg=float(total), steps_per_kg=denominator)
    heaviest_first = sorted(range(len(kinds)), key=lambda i: -kinds[i].mass)
    zero = np.zeros(1, dtype=np.int64)
    partial = _Partial(zero, zero, zero, np.zeros((1, 0), dtype=np.int64))
    for index in heaviest_first:
        whole = int(kinds[index].mass * denominator)
        partial = _add_kind(partial, whole, kinds[index].steps, int(limit * denominator))
    back = np.argsort(heaviest_first) if kinds else np.zeros(0, dtype=np.int64)
    return PlateSums(partial.whole, denominator, partial.steps[:, back])
