"""One rule for every answer that counts sets: what a set was, and how much of a hard set it comes to."""

from dataclasses import dataclass
from typing import Final

from service.core.curve import Work, time_held
from service.core.units import Metres, Repetitions, Seconds, Share
from service.core.volume.hard_sets import (
    NOT_COUNTED,
    SECONDS_PER_REPETITION,
    HardSet,
    TrainingAge,
    hard_hold,
    hard_set,
    missed_lift,
)

#: Sets for practice are easy on purpose: without a told reserve they count nothing (judgement).
EASY_ON_PURPOSE: Final = frozenset({"technique", "rehab", "reduced"})


@dataclass(frozen=True, slots=True)
class DoneSet:
    """All that a set's count hangs on: repetitions, or else seconds held or metres carried; then 0 repetitions are none, and of
    a lift that is held or carried any are. Where both seconds and metres are told `core.curve` says which of them counts.

    The reserve counts repetitions, of a hold or a carry pieces of `SECONDS_PER_REPETITION`. ``p_warm_up`` is the
    probability that it was a warm-up, 1 where that was told. ``expected_reserve`` is mean and sd of the reserve that
    capability tells where nobody said. ``work`` is what the lift is counted in, as far as is known.
    """

    reps: Repetitions | None = None
    hold_s: Seconds | None = None
    distance_m: Metres | None = None
    reps_in_reserve: Repetitions | None = None
    to_failure: bool = False
    purpose: str = "unknown"
    p_warm_up: Share = 0.0
    fraction_of_1rm: Share | None = None
    expected_reserve: tuple[float, float] | None = None
    work: Work = "repetitions"

    @property
    def effort_told(self) -> bool:
        """Whether anything was said of how hard it was."""
        return self.to_failure or self.reps_in_reserve is not None

    @property
    def is_timed(self) -> bool:
        """Whether it was held or carried, not repeated."""
        told = self.hold_s is not None or self.distance_m is not None
        return told and not (self.work == "repetitions" and self.reps)

    @property
    def time_s(self) -> Seconds:
        """For how long it was held or carried. [s]"""
        return time_held(self.work, self.hold_s, self.distance_m)

    @property
    def is_missed(self) -> bool:
        """Whether it was tried to failure and did not go up once."""
        return self.work == "repetitions" and self.reps == 0 and self.to_failure and not self.time_s


def why_not_counted(done: DoneSet) -> str | None:
    """Return the code of why a set counts nothing at all, None where it counts."""
    if done.purpose == "warm_up" or done.p_warm_up >= 1.0:
        return "volume.not_counted_warm_up"
    if done.purpose in EASY_ON_PURPOSE and not done.effort_told:
        return "volume.not_counted_practice"
    repeated = done.reps != 0 or done.is_missed
    if not (done.time_s if done.is_timed else repeated):
        return "volume.not_counted_nothing_done"
    return None


def count_set(done: DoneSet, training: TrainingAge) -> HardSet:
    """Return how much of a hard set one set comes to.

    Raises:
        OutsideValidity: a count is negative, or the probability outside 0 to 1.
    """
    if why_not_counted(done) is not None:
        return NOT_COUNTED
    if done.is_missed:
        return missed_lift(done.fraction_of_1rm)
    if done.is_timed:
        left = None if done.reps_in_reserve is None else done.reps_in_reserve * SECONDS_PER_REPETITION
        return hard_hold(done.time_s, left, done.to_failure, training=training)
    return hard_set(
        done.reps,
        done.reps_in_reserve,
        done.to_failure,
        done.fraction_of_1rm,
        done.expected_reserve,
        training=training,
        p_warm_up=done.p_warm_up,
    )
