"""How much training a week held and how evenly, from how hard each session felt: a description, nothing more.

Load is a session's RPE times its minutes [Foster2001]_; monotony is a week's daily mean over its standard deviation and
strain the week's load times that [Foster1998]_. The abstract does not say which standard deviation: here it is the
population's, for the seven days are all there are; the sample's is offered beside it. No ratio of recent to longer load
is given: the one is part of the other [Lolli2019]_, and it says nothing of what a body will do.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, pstdev, stdev
from typing import Literal

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.estimates import Reason
from service.core.units import Days

SdConvention = Literal["population", "sample"]
#: The convention that answers use.
SD_CONVENTION: SdConvention = "population"
DAYS_A_WEEK = 7
#: Spans of the two weighted means, days. [Williams2017]_
RECENT_DAYS, LONGER_DAYS = 7.0, 28.0


@dataclass(frozen=True, slots=True)
class WeekOfLoad:
    """One week's load, None where no session of it told its own; monotony and strain are None where they cannot be reckoned.

    The reasons say why, and where the load is a lower bound.
    """

    load: float | None
    monotony: float | None
    strain: float | None
    sd_convention: SdConvention
    reasons: tuple[Reason, ...]


def session_load(rpe: float, minutes: float) -> float:
    """Return a session's load: RPE of 0 to 10 times minutes.

    Raises
    ------
    OutsideValidity
        If the RPE is outside 0 to 10 or the minutes are negative.

    References
    ----------
    [Foster2001]_
    """
    if not 0.0 <= rpe <= 10.0 or minutes < 0.0:
        raise OutsideValidity(rpe=rpe, minutes=minutes)
    return rpe * minutes


def describe_week(
    daily: Sequence[float],
    untold_sessions: int = 0,
    *,
    any_told: bool = True,
    over: bool = True,
    sd_convention: SdConvention = SD_CONVENTION,
) -> WeekOfLoad:
    """Return load, monotony and strain of seven days' loads, days without training among them as 0.

    ``untold_sessions`` are those whose RPE or minutes nobody said: then the load is a lower bound, or unknown where
    ``any_told`` says that no session told both, and monotony and strain are not given; nor are they for a week that is not
    ``over``, or whose days are all alike.

    Raises
    ------
    OutsideValidity
        If there are not seven days, or a load is negative.

    References
    ----------
    [Foster1998]_
    """
    if len(daily) != DAYS_A_WEEK or min(daily) < 0.0:
        raise OutsideValidity(days=len(daily))
    load = sum(daily)
    if untold_sessions and not any_told:
        unknown = Reason("tolerance.load_not_told", {"sessions": untold_sessions})
        return WeekOfLoad(None, None, None, sd_convention, (unknown,))
    if untold_sessions:
        reason = Reason("tolerance.load_incomplete", {"sessions": untold_sessions})
        return WeekOfLoad(load, None, None, sd_convention, (reason,))
    if not over:
        return WeekOfLoad(load, None, None, sd_convention, (Reason("tolerance.load_week_not_over"),))
    spread = pstdev(daily) if sd_convention == "population" else stdev(daily)
    if spread <= 0.0:
        code = "tolerance.load_every_day_alike" if load else "tolerance.load_none"
        return WeekOfLoad(load, None, None, sd_convention, (Reason(code),))
    monotony = fmean(daily) / spread
    return WeekOfLoad(load, monotony, load * monotony, sd_convention, (Reason("tolerance.load_describes"),))


def weight_of_a_day(span: Days) -> float:
    """Return the weight of the newest day in a mean over about so many days. [1]

    References
    ----------
    [Williams2017]_: 2 / (N + 1).
    """
    return 2.0 / (span + 1.0)


def weighted_mean(daily: Sequence[float], span: Days) -> float:
    """Return the mean of daily loads, oldest first, that weighs newer days more; it begins at the first day's.

    Raises
    ------
    TooFewObservations
        If there is no day.

    References
    ----------
    [Williams2017]_
    """
    if not daily:
        raise TooFewObservations(days=0)
    newest, mean = weight_of_a_day(span), daily[0]
    for load in daily[1:]:
        mean += newest * (load - mean)
    return mean
