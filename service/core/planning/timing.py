"""How long sets take: work, rest, the way to a station and the ramp. [s]"""

from service.core.planning.request import Candidate
from service.core.units import Seconds

#: Finding and setting up a station. (judgement)
SET_UP_S = 60.0
#: Three warm-up sets on the way to the first working set, with short rests. (judgement)
RAMP_S = 150.0
#: Changing sides within a set of a one-sided lift. (judgement)
CHANGE_OF_SIDE_S = 20.0


def ramps(candidate: Candidate) -> bool:
    """Whether a lift gets its own ramp: compound lifts with lighter loads do."""
    return candidate.ramped and candidate.compound and not candidate.trunk


def seconds_of(candidate: Candidate, left: int, right: int) -> Seconds:
    """Return how long an exercise takes with so many sets a side, rests and set-up included. [s]

    Both sides of a one-sided lift share one rest; the rest after the last set is the way to what follows.
    """
    if not left and not right:
        return 0.0
    rounds = max(left, right)
    sides_worked = left + right if candidate.limbs == "one_sided" else rounds
    changes = min(left, right) if candidate.limbs == "one_sided" else 0
    work = sides_worked * candidate.work_s + changes * CHANGE_OF_SIDE_S + rounds * candidate.rest_s
    return SET_UP_S + (RAMP_S if ramps(candidate) else 0.0) + work


def first_ramp_s(chosen: tuple[Candidate, ...]) -> Seconds:
    """Return the ramp that a session without a ramped lift owes to its first one with lighter loads. [s]"""
    if any(ramps(candidate) for candidate in chosen) or not any(candidate.ramped for candidate in chosen):
        return 0.0
    return RAMP_S
