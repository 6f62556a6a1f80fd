"""What the capability filter is told of one logged set."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.units import Days, Kilograms, LogRatio, Seconds, Share

Side = Literal["left", "right", "both", "unspecified"]
EvidenceKind = Literal["work", "test", "warm_up"]

#: Share of a later top load up to which an early set of unknown purpose is taken for a warm-up, and how
#: surely (judgement).
WARM_UP_SHARE = 0.8
WARM_UP_PROBABILITY = 0.9


@dataclass(frozen=True, slots=True)
class SetEvidence:
    """One set as evidence of strength.

    ``day`` is elapsed days [d] on the caller's axis, ``session`` an id that rises with time, ``load_kg`` the
    effective load [kg]. ``reps_in_reserve`` is what was reported. ``hard_sets_before`` counts this
    exercise's earlier hard sets of the session on the same side, after ``rest_s`` [s] of rest (``None``:
    about two minutes). ``ln_load_sd`` [1] widens a remembered load, a partial range, pain, or a drop.
    ``warm_up`` is the probability that it was a warm-up; ``matched`` marks a second side stopped at the
    first side's repetitions: a lower bound, no more.
    """

    day: Days
    session: int
    load_kg: Kilograms
    reps: int
    reps_in_reserve: float | None = None
    to_failure: bool = False
    side: Side = "both"
    hard_sets_before: float = 0.0
    ln_load_sd: LogRatio = 0.0
    kind: EvidenceKind = "work"
    warm_up: Share = 0.0
    rest_s: Seconds | None = None
    matched: bool = False

    def __post_init__(self) -> None:
        if not (0.0 < self.load_kg < inf and self.reps >= 0 and self.ln_load_sd >= 0.0):
            raise OutsideValidity(load_kg=self.load_kg, reps=self.reps, ln_load_sd=self.ln_load_sd)

    @property
    def is_bound_only(self) -> bool:
        """Whether the set says only that at least so many repetitions were possible."""
        return self.matched or self.kind == "warm_up" or self.warm_up >= 0.5


def infer_warm_up(loads_kg: Sequence[Kilograms], purpose_known: Sequence[bool]) -> tuple[Share, ...]:
    """Return, for the sets of one exercise in the order done, the probability that each was a warm-up. [1]

    A set whose purpose was stated gets 0: the statement holds. Judgement, see `WARM_UP_SHARE`.
    """
    probabilities: list[float] = []
    for position, (load, known) in enumerate(zip(loads_kg, purpose_known, strict=True)):
        later_top = max(loads_kg[position + 1 :], default=0.0)
        early_and_light = load <= WARM_UP_SHARE * later_top
        probabilities.append(WARM_UP_PROBABILITY if early_and_light and not known else 0.0)
    return tuple(probabilities)
