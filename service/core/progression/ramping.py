"""The warm-up on the way to a top load."""

from collections.abc import Sequence
from typing import Final

from service.core.progression.chances import at_or_below
from service.core.progression.situation import LoadOption, RampSet
from service.core.units import Kilograms

#: Share of the top load and repetitions of each warm-up set. (common practice, no source)
RAMP: Final = ((0.50, 6), (0.70, 4), (0.85, 2))


def ramp(top_load_kg: Kilograms, options: Sequence[LoadOption]) -> tuple[RampSet, ...]:
    """Return the warm-up sets below a top load, each at or below its share of it.

    Where the loads that exist are too coarse a set falls away: none is heavier than its share, and none is
    repeated.
    """
    sets: list[RampSet] = []
    for share, reps in RAMP:
        option = at_or_below(options, share * top_load_kg)
        if option is not None and all(option.index != earlier.option.index for earlier in sets):
            sets.append(RampSet(option, reps))
    return tuple(sets)
