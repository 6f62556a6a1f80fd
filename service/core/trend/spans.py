"""Over which days the changes of several lifts are counted together: the same for each, or they are no one change."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from service.core.errors import OutsideValidity
from service.core.trend.stretch import RARE_DAYS
from service.core.units import Days, Share

#: The days that lifts share are at least this share of the longest of them (judgement).
LEAST_SPAN: Final[Share] = 0.5


@dataclass(frozen=True, slots=True)
class Span:
    """The days from ``start`` to ``end`` [d], and the places of the lifts that were followed all along."""

    start: Days
    end: Days
    lifts: tuple[int, ...]


def common_span(stretches: Sequence[tuple[Days, Days]]) -> Span:
    """Return the days over which lifts, each followed from a first to a last day [d], are counted together.

    Of all such days those with the most lifts times days, the newest of equals: for two lifts that is the days they share
    wherever these are half of the longer one. A lift that ended long before the newest says nothing of the muscle now.

    Raises:
        OutsideValidity: there is no lift.
    """
    if not stretches:
        raise OutsideValidity(lifts=0)
    newest = max(end for _, end in stretches)
    current = [place for place, (_, end) in enumerate(stretches) if newest - end <= RARE_DAYS]
    starts, ends = zip(*(stretches[place] for place in current), strict=True)
    least = LEAST_SPAN * max(end - start for start, end in zip(starts, ends, strict=True))
    found = [
        _span(start, end, [place for place in current if _covers(stretches[place], start, end)])
        for start in set(starts)
        for end in set(ends)
        if end - start >= least
    ]
    return max(found, key=lambda one: (len(one.lifts) * (one.end - one.start), one.end, one.start))


def _covers(stretch: tuple[Days, Days], start: Days, end: Days) -> bool:
    return stretch[0] <= start and end <= stretch[1]


def _span(start: Days, end: Days, lifts: Sequence[int]) -> Span:
    return Span(start, end, tuple(lifts))
