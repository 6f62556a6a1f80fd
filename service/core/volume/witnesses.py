"""What each lift and girth had to say: how far the growth that is expected would lie elsewhere without it."""

from collections.abc import Sequence
from typing import Final

from service.core.units import HardSets, Share
from service.core.volume.growth import growth_at
from service.core.volume.growth_series import GrowthSeries, evidence_of
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.response import (
    SlopePrior,
    respond,
)

#: A change of the growth over 12 weeks that is worth a word (judgement). [1]
WORTH_TELLING: Final[Share] = 0.0005


def sways_of(
    series: Sequence[GrowthSeries], training: TrainingAge, prior: SlopePrior, weekly_sets: HardSets
) -> tuple[Share, ...]:
    """Return for each series what it changed of the growth expected over 12 weeks at so many weekly sets. [1]

    That is the growth with all of them less the growth with all but that one; where several say the same, each of them
    changes little.
    """
    everything, _ = growth_at(weekly_sets, respond(evidence_of(series), training, prior))
    without = (evidence_of([*series[:place], *series[place + 1 :]]) for place in range(len(series)))
    return tuple(everything - growth_at(weekly_sets, respond(one, training, prior))[0] for one in without)
