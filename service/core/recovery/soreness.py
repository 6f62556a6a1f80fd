"""What soreness tells of readiness: that a loss is greater than sets say, and that something was done that nobody logged.

It is weak evidence either way, since people's own sense of readiness agrees poorly with performance [Helland2020]_.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from service.core.recovery.fatigue import TRIAL_HARD_SETS, FatigueBelief, MuscleSession
from service.core.units import HardSets, Hours

#: Soreness of 0-10 shifts the expected loss by this much a point from 2 on (judgement).
SORENESS_USUAL = 2.0
SORENESS_LOG_SHIFT = 0.05
#: Logged sets of so many hours explain soreness; what they leave unexplained counts as sets done so long ago, in the middle
#: of the days in which soreness is felt: at 10 of 10 the dose of the trial that losses come from. (judgement)
SORENESS_LASTS: Hours = 96.0
UNLOGGED_AGO: Hours = 48.0
UNLOGGED_AT_MOST: HardSets = TRIAL_HARD_SETS
_WORST = 10.0


def shifted(belief: FatigueBelief, soreness: float | None) -> FatigueBelief:
    """Return what is believed of a loss, seeing soreness of 0-10; None where nobody told it."""
    if soreness is None:
        return belief
    return replace(belief, ln_loss=belief.ln_loss + SORENESS_LOG_SHIFT * (soreness - SORENESS_USUAL))


def unlogged(sessions: Sequence[MuscleSession], soreness: float | None) -> HardSets:
    """Return the hard sets that soreness counts as beyond what was logged; 0 where logged sets explain it.

    Losses grow by the root of the sets, and so does what logged sets explain.
    """
    above = max((soreness or 0.0) - SORENESS_USUAL, 0.0) / (_WORST - SORENESS_USUAL)
    logged = sum(one.hard_sets for one in sessions if one.hours_ago <= SORENESS_LASTS)
    return max(sqrt(UNLOGGED_AT_MOST * above) - sqrt(logged), 0.0) ** 2


def with_unlogged(sessions: Sequence[MuscleSession], soreness: float | None) -> Sequence[MuscleSession]:
    """Return the sessions, and one more where soreness is more than they explain."""
    missing = unlogged(sessions, soreness)
    return (*sessions, MuscleSession(UNLOGGED_AGO, missing)) if missing > 0.0 else sessions
