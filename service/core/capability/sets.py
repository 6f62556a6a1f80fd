"""What the capability filter is told: one athlete's sets, session by session."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, isfinite
from typing import Literal

from service.core.capability.parameters import Training
from service.core.curve import CurvePrior
from service.core.errors import OutsideValidity
from service.core.units import Days, Kilograms, LogRatio, Repetitions, Seconds, Share

Side = Literal["left", "right", "both", "unspecified"]
#: ``bound`` is a set for practice, rehabilitation or on a reduced day: at least so much was possible, no more.
Purpose = Literal["work", "test", "warm_up", "bound", "unknown"]


@dataclass(frozen=True, slots=True)
class SetEvidence:
    """One set as evidence of strength.

    ``series`` names what shares one strength: an exercise, or an exercise at a station whose levels are no
    mass. ``load_kg`` is the effective load [kg], ``reps`` the repetitions done, of a hold the pieces of `core.curve`,
    ``reps_in_reserve`` what was reported, ``setup`` a variant
    of range or grip that shares the series' strength, empty for the usual one. ``stage`` counts drops.
    ``rest_s`` [s] is the rest before it (``None``: about two minutes), ``ln_load_sd`` [1] widens a remembered
    load, ``pain`` is the worst that was told, 0 to 10. ``timed`` marks a hold or a carry: it says nothing of the
    endurance that repetitions share, nor of whether those are planned.

    Raises:
        OutsideValidity: the load is not positive, or a number is negative or not finite.
    """

    series: str
    load_kg: Kilograms
    reps: Repetitions
    reps_in_reserve: float | None = None
    to_failure: bool = False
    side: Side = "both"
    purpose: Purpose = "unknown"
    setup: str = ""
    stage: int = 0
    rest_s: Seconds | None = None
    ln_load_sd: LogRatio = 0.0
    pain: float | None = None
    timed: bool = False

    def __post_init__(self) -> None:
        if not (
            0.0 < self.load_kg < inf and self.reps >= 0 and 0.0 <= self.ln_load_sd < inf and self.stage >= 0
        ):
            raise OutsideValidity(load_kg=self.load_kg, reps=self.reps, ln_load_sd=self.ln_load_sd)
        reserve, rest = self.reps_in_reserve or 0.0, self.rest_s or 0.0
        if not (isfinite(reserve) and reserve >= 0.0 and isfinite(rest) and rest >= 0.0):
            raise OutsideValidity(reps_in_reserve=reserve, rest_s=rest)


@dataclass(frozen=True, slots=True)
class SessionEvidence:
    """The sets of one visit in the order done; ``day`` is when it began [d] on the caller's axis."""

    day: Days
    sets: tuple[SetEvidence, ...]


@dataclass(frozen=True, slots=True)
class SeriesPrior:
    """What is believed of a series before its first set.

    ``one_sided`` says that each limb is loaded by itself. ``half_gap_sd`` is the sd of half the right-left
    difference [1]: 0.03, and 0.1 after an injury (judgement). ``ln_one_rep_max`` is mean and sd of ln 1RM
    [ln kg] where another lift or a test tells it.
    """

    curve: CurvePrior
    one_sided: bool = False
    half_gap_sd: float = 0.03
    ln_one_rep_max: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class AthleteModel:
    """What does not change from session to session.

    ``kinship(one, other)`` is the share of a hard set of one series that tires the other. [0 to 1]
    """

    series_prior: Callable[[str], SeriesPrior]
    kinship: Callable[[str, str], Share]
    training: Training = "unknown"
