"""Which weeks built what is there: those in which a muscle was trained, not the ones since."""

from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
#: Weeks whose mean dose is taken for what builds.
BUILDING_WEEKS: Final = 12
#: Empty weeks in a row that are a break and no week off (judgement).
BREAK_WEEKS: Final = 3


def weeks_that_built(weekly: Array) -> Array:
    """Return the last of some weekly doses, oldest first, that built: none before the first or after the last trained week.

    Breaks in between are left out, single weeks off are not: they belong to how the muscle was trained. [hard sets]
    """
    trained = np.flatnonzero(weekly)
    if not trained.size:
        return weekly[:0]
    kept = np.ones(len(weekly), dtype=bool)
    kept[: trained[0]] = kept[trained[-1] + 1 :] = False
    for before, after in pairwise(trained):
        if after - before > BREAK_WEEKS:
            kept[before + 1 : after] = False
    return weekly[kept][-BUILDING_WEEKS:]
