"""From a tape to growth: a girth's changes as readings of how the muscles under it grew.

Area goes with the square of a girth, so that ln girth changes by half of what the area does, and the area by the muscles'
growth times their shares. One girth cannot tell its muscles apart. Of all but one the slope is split into what it shares
with that one, which moves with it, and the rest, which is noise, by means and variances of slopes that are not below zero:
exact but for that cut, for the root that holds size, which is taken at its mean in the others, and for downturns, which
the others do not have here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.errors import OutsideValidity
from service.core.units import Days, Share
from service.core.volume.growth_series import GIRTH_SHARE, GrowthSeries
from service.core.volume.nodes import ROOT_TO_HOLD, ROOT_TO_HOLD_LOG_SD
from service.core.volume.response import (
    PERSON_SHARE,
    SlopePrior,
)

Array = NDArray[np.float64]
#: Change of ln girth for one of ln body mass that is no growth of the muscles there: mean and sd, and the same where skin
#: and fat were taken off. At one height all girths grow by half of it if everything grows alike; fat goes to the trunk
#: first, and what the muscle itself weighs is not to be taken off. (judgement)
MASS_ON_GIRTH: Final = (0.25, 0.25)
MASS_ON_CORRECTED: Final = (0.05, 0.12)
#: How body mass wanders where nobody told it, a root week. (judgement) [ln]
MASS_WALK: Final = 0.006
#: A plain girth says nothing of muscle over a stretch in which body mass changed by more than this. (judgement) [ln]
MOST_MASS_CHANGE: Final = 0.05
#: What differs from visit to visit besides the tape: water, pump, hour of the day (judgement). [ln]
VISIT_SD: Final = 0.004
#: Bone in the area that is left when skin and fat are taken off: 6.3 of some 60 cm2 at the arm. [Heymsfield1979]_
BONE_SHARE: Final = 0.1
#: Shortest time from the first to the last visit. [d]
LEAST_SPAN: Final[Days] = 28.0
_DAYS_A_WEEK: Final = 7.0
_SAYS_NOTHING: Final = 1.0
#: Mean and sd of the root that holds size: moments of its log-normal.
_ROOT_MEAN: Final = ROOT_TO_HOLD * exp(0.5 * ROOT_TO_HOLD_LOG_SD**2)
_ROOT_SD: Final = _ROOT_MEAN * sqrt(exp(ROOT_TO_HOLD_LOG_SD**2) - 1.0)


@dataclass(frozen=True, slots=True)
class TapeVisits:
    """What one place read on visits, oldest first: ln girth [ln(cm)] with its error variance, on days [d].

    ``ln_masses`` is the body mass of the day [ln(kg)], None where it is not known; ``corrected`` says that skin and fat
    were taken off.

    Raises:
        OutsideValidity: lengths differ, or days do not rise.
    """

    days: tuple[Days, ...]
    ln_girths: tuple[float, ...]
    variances: tuple[float, ...]
    ln_masses: tuple[float | None, ...]
    corrected: bool = False

    def __post_init__(self) -> None:
        count = len(self.days)
        if {count} != {len(self.ln_girths), len(self.variances), len(self.ln_masses)} or any(
            np.diff(self.days) <= 0.0
        ):
            raise OutsideValidity(visits=count)

    @property
    def spans_enough(self) -> bool:
        """Whether the visits lie far enough apart to tell growth from noise."""
        return len(self.days) > 1 and self.days[-1] - self.days[0] >= LEAST_SPAN


@dataclass(frozen=True, slots=True)
class UnderTape:
    """One muscle at a place: its share of the muscle area, and its root sets over the stretches between visits (k)."""

    share: Share
    roots: Array
    doses: Array


@dataclass(frozen=True, slots=True)
class GirthReading:
    """A girth as a series of one muscle's growth, over ``weeks`` [week]; ``left_out`` stretches told more of body mass."""

    series: GrowthSeries
    weeks: float
    left_out: int


def mass_changes(visits: TapeVisits) -> Array:
    """Return the change of ln body mass over each stretch, not a number where it is not known."""
    told = np.array([np.nan if mass is None else mass for mass in visits.ln_masses])
    return np.diff(told)


def growth_from_girths(
    visits: TapeVisits,
    own: UnderTape,
    others: Sequence[UnderTape],
    muscle_share: Share,
    doubt: float,
    believed: SlopePrior,
    population: SlopePrior,
) -> GirthReading:
    """Return a place's changes as a series that one muscle's slope answers for.

    ``muscle_share`` is the part of the whole cross-section that is muscle, ``doubt`` the relative sd of what the table of
    shares makes of a growth, ``believed`` the slope's prior and ``population`` that of anybody: between them lies what
    muscles share.
    """
    weeks = np.diff(visits.days) / _DAYS_A_WEEK
    part = (1.0 - BONE_SHARE) if visits.corrected else muscle_share
    moved, expected, spread = _of_others(others, weeks, believed, population)
    half = part / GIRTH_SHARE
    mine = own.share * (own.roots - _ROOT_MEAN * weeks)
    mean, sd = believed.moments
    size = mean**2 + sd**2
    whole = mine + sum((one.share * (one.roots - _ROOT_MEAN * weeks) for one in others), np.zeros(len(weeks)))
    steps = np.diff(np.eye(len(visits.days)), axis=0)
    covariance = steps @ np.diag(np.array(visits.variances) + VISIT_SD**2) @ steps.T
    covariance = covariance + half**2 * (spread + doubt**2 * size * np.outer(whole, whole))
    shift, of_mass, kept = _of_mass(visits, weeks)
    # A stretch that is left out keeps its place with an error that drowns it, so that the others keep theirs.
    covariance = covariance + of_mass + np.diag(np.where(kept, 0.0, _SAYS_NOTHING**2))
    changes = np.diff(visits.ln_girths) - half * expected - shift
    series = GrowthSeries(
        "girth", changes, covariance, weeks, own.roots, own.doses,
        visits.days[0] / _DAYS_A_WEEK, part * own.share, part * moved,
    )  # fmt: skip
    return GirthReading(series, float(weeks[kept].sum()), int((~kept).sum()))


def _of_others(
    others: Sequence[UnderTape], weeks: Array, believed: SlopePrior, population: SlopePrior
) -> tuple[Array, Array, Array]:
    """Return of the other muscles what moves with the slope, what is expected of the rest, and that one's covariance."""
    (mean, sd), (_, usual_sd) = believed.moments, population.moments
    variance = sd**2
    own_variance = min((1.0 - PERSON_SHARE) * usual_sd**2, variance)
    alike = (variance - own_variance) / variance
    grown = np.array([one.share * (one.roots - _ROOT_MEAN * weeks) for one in others]).reshape(-1, len(weeks))
    total = grown.sum(axis=0)
    shared = (1.0 - alike) * alike * variance * np.outer(total, total)
    spread = shared + own_variance * grown.T @ grown
    held = sum(one.share for one in others) * weeks
    doubt = _ROOT_SD**2 * (mean**2 + variance) * np.outer(held, held)
    return alike * total, (1.0 - alike) * mean * total, spread + doubt


def _of_mass(visits: TapeVisits, weeks: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return what body mass did to a girth, the doubt about it, and the stretches that still tell of muscle."""
    mean, sd = MASS_ON_CORRECTED if visits.corrected else MASS_ON_GIRTH
    told = mass_changes(visits)
    known = np.isfinite(told)
    change = np.where(known, told, 0.0)
    unknown = np.where(known, 0.0, MASS_WALK**2 * weeks) * (mean**2 + sd**2)
    kept = np.abs(change) <= MOST_MASS_CHANGE if not visits.corrected else np.ones(len(weeks), dtype=bool)
    return mean * change, sd**2 * np.outer(change, change) + np.diag(unknown), kept
