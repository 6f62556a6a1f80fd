"""The constants of the capability model, named, and as the vectors that the kernel reads.

All are judgement unless a source stands beside them: starting values tried on simulated athletes, never fitted to
people whose data a test uses.
"""

from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, fields, replace
from math import log
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Training = Literal["novice", "trained", "unknown"]

#: Share of a later top load up to which an early set of unknown purpose is taken for a warm-up, and how
#: surely (judgement).
WARM_UP_SHARE: Final = 0.8
WARM_UP_PROBABILITY: Final = 0.9
#: The same of a ramp's last step: so much lighter than what follows, and so few repetitions (judgement).
RAMP_SHARE: Final = 0.9
RAMP_REPETITIONS: Final = 5
RAMP_PROBABILITY: Final = 0.6
#: Athletes whose training age is unknown are taken for novices with this probability (judgement).
NOVICE_SHARE: Final = 0.25
#: How surely a told training age holds: people come back to training, and learn new lifts (judgement).
TOLD_TRAINING: Final = 0.95


@dataclass(frozen=True, slots=True)
class Constants:
    """What one hypothesis about an athlete believes; ln strengths are natural logarithms [1].

    ``trend`` is the person's gain [1/week] with its sd between people, ``drift_sd`` a lift's own; both fade
    at ``fading`` [1/week]. ``*_walk`` are [1 per root week]. ``habit`` is the reserve left where nothing is
    planned otherwise [repetitions], ``stop_sd`` how it varies from session to session, ``stop_within`` from
    set to set.
    """

    trend: float = 0.0005
    trend_sd: float = 0.0012
    drift_sd: float = 0.0012
    fading: float = 1.0 / 26.0
    drift_walk: float = 0.0006
    strength_walk: float = 0.006
    ln_k_walk: float = 0.013
    gap_walk: float = 0.003
    gap_ln_k_walk: float = 0.001
    first_strength_sd: float = 0.25
    person_ln_k_sd: float = 0.18
    gap_ln_k_sd: float = 0.02
    day_sd: float = 0.027
    own_day_sd: float = 0.025
    side_day_sd: float = 0.007
    set_sd: float = 0.018
    # Longer rests allow more repetitions: [Senna2011]_, abstract; the form is judgement.
    tiring_floor: float = 0.016
    tiring_fresh: float = 0.06
    tiring_time_s: float = 60.0
    usual_rest_s: float = 120.0
    tiring_sd: float = 0.30
    own_tiring_sd: float = 0.28
    tiring_shared: float = 0.009
    tiring_other_side: float = 0.005
    # People have about one repetition more left than they say: [Halperin2022]_, abstract; and the more is left, the
    # more they keep back: [Zourdos2021]_. The form and the share kept back are judgement.
    bias: float = -0.8
    bias_sd: float = 0.5
    report_share: float = 0.1
    bias_pace: float = 0.1
    silent_habit_pace: float = 0.1
    told_habit_pace: float = 1.0
    report_sd_at_failure: float = 0.5
    report_sd_slope: float = 0.3
    habit: float = 2.5
    habit_sd: float = 1.3
    stop_sd: float = 1.0
    stop_weeks: float = 8.0
    stop_curve: float = 1.0
    stop_within: float = 2.4
    stop_tail: float = 4.0
    # Who plans repetitions stops at them whatever is left: the odds of it, moved by every further set at a load
    # that repeats the repetitions of the one before, or does not; and what such a stop still says.
    planning: float = -0.4
    planning_alike: float = 1.0
    planning_unlike: float = -1.0
    planning_most: float = 5.0
    planned_power: float = 0.1
    planned_curve: float = 0.2
    # Reserves told pile up at the highest that an athlete has a word for. Before they do the highest ever told is that word
    # as likely as not.
    cap_least: float = 3.0
    cap_pile: float = 1.1
    cap_count: float = 2.0
    cap_plan: float = 4.0
    cap_share: float = 0.5
    count_sd: float = 0.35
    outlier: float = 2.5e-4
    shock_sd: float = 0.05
    # Strength may move at once, by illness, injury or another machine: how often before a set, and how far. (judgement)
    jump_share: float = 0.0001
    jump_sd: float = 0.15
    # A set of the usual repetitions that is off by fewer sd is off by chance, by more because strength has changed: from
    # where to where that grows sure, of both limbs and of one side. (judgement) [sd]
    change_from: float = 1.5
    change_sure: float = 3.0
    side_change_from: float = 2.0
    side_change_sure: float = 4.0
    # Strength may move and stay, of both sides or of one: how often before a session. (judgement)
    shift_share: float = 0.003
    gap_shift_share: float = 0.002
    layoff_free_weeks: float = 1.2
    # Who logs rarely has not stopped training between two entries: gaps up to so many usual ones cost nothing.
    layoff_free_gaps: float = 2.0
    usual_gap_pace: float = 0.2
    layoff_loss: float = 0.009
    layoff_loss_sd: float = 0.005
    layoff_longest_weeks: float = 30.0
    regain_share: float = 0.8
    regain_sd_share: float = 0.4
    repeated_power: float = 0.5
    matched_power: float = 0.02
    copied_power: float = 0.25
    pain_from: float = 2.0
    pain_ln_sd: float = 0.05
    day_prior_weight: float = 6.0
    drop_far: float = log(0.85)
    drop_near: float = log(0.6)
    drop_sd: float = 0.35
    drop_set_sd: float = 0.25
    partial_shift: float = 0.15
    partial_sd: float = 0.12
    setup_sd: float = 0.02
    extrapolation_sd: float = 0.12
    load_extrapolation_sd: float = 0.25
    hard_reserve: float = 6.0
    hard_fade: float = 0.8


TRAINED: Final = Constants()
#: Novices gain half and more of their strength in twelve weeks: their gain starts high and halves every 8 weeks.
NOVICE: Final = replace(
    TRAINED,
    trend=0.025,
    trend_sd=0.012,
    drift_sd=0.009,
    fading=log(2.0) / 8.0,
    drift_walk=0.002,
    strength_walk=0.010,
    habit=3.5,
    habit_sd=2.0,
)
HYPOTHESES: Final = (TRAINED, NOVICE)
#: Prior weights of the hypotheses, trained first.
WEIGHTS: Final[Mapping[Training, tuple[float, float]]] = MappingProxyType(
    {
        "trained": (TOLD_TRAINING, 1.0 - TOLD_TRAINING),
        "novice": (1.0 - TOLD_TRAINING, TOLD_TRAINING),
        "unknown": (1.0 - NOVICE_SHARE, NOVICE_SHARE),
    }
)


_RECORD: Final = np.dtype([(field.name, np.float64) for field in fields(Constants)])


def table_of(hypotheses: Sequence[Constants]) -> NDArray[np.void]:
    """Return hypotheses as the kernel reads them: one record each, its fields named as here."""
    rows = np.array([astuple(constants) for constants in hypotheses], dtype=_RECORD)
    return rows.view(np.recarray)
