"""Progress, stall, regression, or not decided: what the distribution of a change allows to say."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log1p
from typing import Annotated, Final, Literal

from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.trend.changes import Change
from service.core.units import LogRatio, Share

Weeks = Annotated[float, "wk"]
MODEL_VERSION: Final = "trend/2"
#: `not_decided` is an answer: the absence of a record is no plateau.
State = Literal["progress", "stall", "regression", "not_decided"]

#: A change of strength below this over the window is not worth acting on. (judgement)
WORTHWHILE: Final[LogRatio] = 0.02
#: Chance that a state must have to be called. (judgement)
DECIDED: Final[Share] = 0.80
#: Weight of the hypothesis that the lift is still being learnt from which the answer says so. (judgement)
LEARNING: Final[Share] = 0.5


@dataclass(frozen=True, slots=True)
class Trend:
    """What can be said of a change over some weeks.

    ``change`` [%] is that of the load for the repetitions trained. The three chances add up to 1: risen by more than
    ``worthwhile`` [1], fallen by more than it, or changed by less.
    """

    state: State
    change: Estimate
    weekly: Estimate
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
    told = [_said(state, percent, weeks, {"progress": rose, "regression": fell, "stall": held}, worthwhile)]
    if state == "progress" and novice > LEARNING:
        told.append(Reason("trend.mostly_learning"))
    return Trend(
        state, percent, _weekly(percent, weeks), rose, fell, held, worthwhile, weeks, basis, (*told, *reasons)
    )


def _state(rose: Share, fell: Share, held: Share) -> State:
    if rose >= DECIDED:
        return "progress"
    if fell >= DECIDED:
        return "regression"
    return "stall" if held >= DECIDED else "not_decided"


def _said(
    state: State, percent: Estimate, weeks: Weeks, chances: dict[str, Share], worthwhile: LogRatio
) -> Reason:
    likeliest = max(chances, key=lambda name: chances[name])
    return Reason(
        f"trend.{state}",
        {
            "percent": percent.value,
            "lower": percent.interval.lower,
            "upper": percent.interval.upper,
            "weeks": weeks,
            "chance": 100.0 * chances[likeliest if state == "not_decided" else state],
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
