"""Progress, stall, regression, or not decided: what the distribution of a change allows to say."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log1p
from typing import Annotated, Final, Literal

from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.trend.changes import Change
from service.core.units import LogRatio, Share

Weeks = Annotated[float, "wk"]
MODEL_VERSION: Final = "trend/3"
#: `not_decided` is an answer: the absence of a record is no plateau.
State = Literal["progress", "stall", "regression", "not_decided"]

#: What a change is one of: the load for some repetitions, a level for them, which has no mass, or the load for a time or a
#: way that it is held or carried.
Measured = Literal["load", "level", "length"]
_CODES: Final[dict[Measured, str]] = {"load": "trend.", "level": "trend.level_", "length": "trend.length_"}

#: A change of strength below this over the window is not worth acting on. (judgement)
WORTHWHILE: Final[LogRatio] = 0.02
#: Chance that a state must have to be called. (judgement)
DECIDED: Final[Share] = 0.80
#: Weight of the hypothesis that the lift is still being learnt from which the answer says so. (judgement)
LEARNING: Final[Share] = 0.5

#: What was not followed for a week has no weekly change: days compounded to a week tell of noise alone. [week]
_A_WEEK: Final = 1.0


@dataclass(frozen=True, slots=True)
class Trend:
    """What can be said of a change over some weeks.

    ``change`` [%] is that of the load for the repetitions trained, None on levels: their direction is all there is.
    ``weekly`` [%] is None there too, and over less than a week. The three chances add up to 1: risen by more than
    ``worthwhile`` [1], fallen by more than it, or changed by less.
    """

    state: State
    change: Estimate | None
    weekly: Estimate | None
    p_progress: Share
    p_regression: Share
    p_stall: Share
    worthwhile: LogRatio
    weeks: Weeks
    basis: Basis
    reasons: tuple[Reason, ...]


def decide_trend(
    change: Change,
    weeks: Weeks,
    basis: Basis,
    *,
    measured: Measured = "load",
    novice: Share = 0.0,
    reasons: Sequence[Reason] = (),
    worthwhile: LogRatio = WORTHWHILE,
    mass: Share = DEFAULT_MASS,
) -> Trend:
    """Return the state that a change shows, with its chances.

    A stall must be shown like any other state: a wide interval around no change is `not_decided`.
    """
    rose = change.probability_above(worthwhile)
    fell = 1.0 - change.probability_above(-worthwhile)
    held = max(1.0 - rose - fell, 0.0)
    state = _state(rose, fell, held)
    percent = change.percent(mass)
    chances = {"progress": rose, "regression": fell, "stall": held}
    told = [_said(state, measured, percent, weeks, chances, worthwhile)]
    if state == "progress" and novice > LEARNING:
        told.append(Reason("trend.mostly_learning"))
    size = percent if measured != "level" else None
    weekly = _weekly(percent, weeks) if size is not None and weeks >= _A_WEEK else None
    return Trend(state, size, weekly, rose, fell, held, worthwhile, weeks, basis, (*told, *reasons))


def _state(rose: Share, fell: Share, held: Share) -> State:
    if rose >= DECIDED:
        return "progress"
    if fell >= DECIDED:
        return "regression"
    return "stall" if held >= DECIDED else "not_decided"


def _said(
    state: State,
    measured: Measured,
    percent: Estimate,
    weeks: Weeks,
    chances: dict[str, Share],
    worthwhile: LogRatio,
) -> Reason:
    likeliest = max(chances, key=lambda name: chances[name])
    chance = 100.0 * chances[likeliest if state == "not_decided" else state]
    if measured == "level":
        return Reason(f"{_CODES[measured]}{state}", {"weeks": weeks, "chance": chance})
    return Reason(
        f"{_CODES[measured]}{state}",
        {
            "percent": percent.value,
            "lower": percent.interval.lower,
            "upper": percent.interval.upper,
            "weeks": weeks,
            "chance": chance,
            "smallest": 100.0 * (exp(worthwhile) - 1.0),
        },
    )


def _weekly(percent: Estimate, weeks: Weeks) -> Estimate:
    """Return the change of one week that makes the whole one, compounded. [%]"""
    low, middle, high = (
        100.0 * (exp(log1p(value / 100.0) / weeks) - 1.0)
        for value in (percent.interval.lower, percent.value, percent.interval.upper)
    )
    interval = Interval(low, high, percent.interval.mass, percent.interval.kind)
    return Estimate(middle, "%", percent.sd / weeks, interval, percent.statistic)
