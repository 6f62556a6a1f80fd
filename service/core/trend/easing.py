"""When a week of fewer sets may pay, and how to take it: a suggestion with its reasons, never a command.

Three things speak for it: strength that falls beyond noise, sets that end short of what was expected, and weeks of work
without an easier one. None of them measures a risk of anything.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, sqrt
from statistics import median
from typing import Final, Literal

import numpy as np

from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Reason
from service.core.trend.deciding import Weeks
from service.core.units import Days, HardSets, Share

#: What may be suggested; `not_decided` where nothing of the three is known.
Suggestion = Literal["consider_now", "watch", "no_need", "not_decided"]

#: Coaches take such a week after so many weeks, mean and sd, for so many days: [Bell2023]_'s survey, from memory.
USUAL_EVERY: Final[tuple[Weeks, Weeks]] = (5.6, 2.3)
USUAL_LENGTH: Final[tuple[Days, Days]] = (6.4, 1.7)
#: Sets kept of the usual number, with the ends of what is customary; the load stays (judgement; that one session and
#: one set at the usual load hold strength and size for long: [Spiering2021]_, abstract).
SETS_KEPT: Final[tuple[Share, Share, Share]] = (0.5, 0.35, 0.65)
LEAST_RESERVE: Final = 3.0
#: A week with fewer than this share of the usual sets was an easier one (judgement).
EASIER_SHARE: Final[Share] = 0.6
#: Sets end short of the expected interval's lower end in a tenth of cases by itself; more often than this is a sign, and
#: so many invented sets stand for what is usual (judgement).
SHORT_BY_CHANCE: Final[Share] = 0.1
SHORT_TOO_OFTEN: Final[Share] = 0.2
PRIOR_SETS: Final = 10.0
#: Chances of being tired from which a suggestion follows (judgement).
CONSIDER: Final[Share] = 0.5
WATCH: Final[Share] = 0.25
_GRID: Final = (np.arange(2000) + 0.5) / 2000.0


@dataclass(frozen=True, slots=True)
class Strain:
    """What speaks for fewer sets.

    ``p_regression`` is the chance that strength fell beyond noise over the last weeks, None where undecidable. Of
    ``sets_told`` working sets whose effort was told, ``sets_short`` ended below the expected interval. ``weekly_sets``
    are the hard sets of whole weeks, oldest first; ``weeks_before`` says that the week before the first had sets too.
    """

    p_regression: Share | None
    sets_told: int
    sets_short: int
    weekly_sets: Sequence[HardSets]
    weeks_before: bool = False


@dataclass(frozen=True, slots=True)
class EasierWeek:
    """A suggestion: whether, in how many weeks, how long [d], and what share of the usual sets. [1]"""

    suggestion: Suggestion
    p_tired: Share | None
    in_weeks: Estimate | None
    lasts: Estimate
    sets_share: Estimate
    least_reserve: float
    weeks_in_a_row: int
    reasons: tuple[Reason, ...]


def suggest_easier_week(strain: Strain, mass: Share = DEFAULT_MASS) -> EasierWeek:
    """Return whether a week of fewer sets may pay, from what is known.

    The chances of two signs are put together as if they were independent (judgement): tired where either is true.
    Accumulated weeks alone never suggest one now; they say when others usually take it.
    """
    short = p_short_too_often(strain.sets_short, strain.sets_told) if strain.sets_told else None
    known = [chance for chance in (strain.p_regression, short) if chance is not None]
    tired = 1.0 - float(np.prod([1.0 - chance for chance in known])) if known else None
    in_a_row = weeks_in_a_row(strain.weekly_sets)
    suggestion = _suggestion(tired, in_a_row, strain.weekly_sets)
    return EasierWeek(
        suggestion,
        tired,
        _in_weeks(suggestion, in_a_row, mass),
        _around(*USUAL_LENGTH, "d", mass),
        _kept(mass),
        LEAST_RESERVE,
        in_a_row,
        _reasons(strain, short, in_a_row, suggestion),
    )


def p_short_too_often(short: int, told: int) -> Share:
    """Return the chance that sets end short more often than `SHORT_TOO_OFTEN`, by a conjugate count. [1]"""
    a = SHORT_BY_CHANCE * PRIOR_SETS + short
    b = (1.0 - SHORT_BY_CHANCE) * PRIOR_SETS + max(told - short, 0)
    log_density = (a - 1.0) * np.log(_GRID) + (b - 1.0) * np.log1p(-_GRID)
    density = np.exp(log_density - log_density.max())
    return float(density[_GRID > SHORT_TOO_OFTEN].sum() / density.sum())


def weeks_in_a_row(weekly_sets: Sequence[HardSets]) -> int:
    """Return how many of the last whole weeks had no easier one among them."""
    trained = [sets for sets in weekly_sets if sets > 0.0]
    if not trained:
        return 0
    usual, count = median(trained), 0
    for sets in reversed(weekly_sets):
        if sets < EASIER_SHARE * usual:
            break
        count += 1
    return count


def _suggestion(tired: Share | None, in_a_row: int, weekly: Sequence[HardSets]) -> Suggestion:
    if tired is None and not weekly:
        return "not_decided"
    if tired is not None and tired >= CONSIDER:
        return "consider_now"
    long = in_a_row > sum(USUAL_EVERY)
    if long or (tired is not None and tired >= WATCH):
        return "watch"
    return "no_need" if tired is not None else "not_decided"


def _in_weeks(suggestion: Suggestion, in_a_row: int, mass: Share) -> Estimate | None:
    """Return in how many weeks an easier one may come: by what is customary, now where signs speak for it. [wk]"""
    if suggestion == "not_decided":
        return None
    mean, sd = USUAL_EVERY
    left = max(mean - in_a_row, 0.0) if suggestion != "consider_now" else 0.0
    reach = _reach(mass) * sd
    upper = 1.0 if suggestion == "consider_now" else max(mean + reach - in_a_row, 1.0)
    lower = 0.0 if suggestion == "consider_now" else max(mean - reach - in_a_row, 0.0)
    return Estimate(left, "wk", sd, Interval(min(lower, left), max(upper, left), mass))


def _around(mean: float, sd: float, unit: str, mass: Share) -> Estimate:
    return Estimate(mean, unit, sd, Interval(mean - _reach(mass) * sd, mean + _reach(mass) * sd, mass))


def _kept(mass: Share) -> Estimate:
    middle, low, high = SETS_KEPT
    return Estimate(middle, "1", (high - low) / 2.0 / _reach(DEFAULT_MASS), Interval(low, high, mass))


def _reach(mass: Share) -> float:
    """Return how many standard deviations a central interval of a Gaussian reaches to either side. [1]"""
    low, high = 0.0, 10.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if erf(middle / sqrt(2.0)) < mass else (low, middle)
    return 0.5 * (low + high)


def _reasons(
    strain: Strain, short: Share | None, in_a_row: int, suggestion: Suggestion
) -> tuple[Reason, ...]:
    reasons = [Reason(f"trend.easier_week_{suggestion}")]
    if strain.p_regression is not None and strain.p_regression >= WATCH:
        reasons.append(Reason("trend.strength_falls", {"chance": 100.0 * strain.p_regression}))
    if short is not None and short >= WATCH:
        reasons.append(
            Reason("trend.sets_fall_short", {"short": strain.sets_short, "sets": strain.sets_told})
        )
    if in_a_row >= 1:
        mean, sd = USUAL_EVERY
        open_ended = strain.weeks_before and in_a_row == len(strain.weekly_sets)
        code = "trend.weeks_in_a_row_or_more" if open_ended else "trend.weeks_in_a_row"
        reasons.append(Reason(code, {"weeks": in_a_row, "usual": mean, "spread": sd}))
    return tuple(reasons)
