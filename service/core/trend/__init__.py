"""Whether strength rises, stands or falls over some weeks, beyond noise, and when fewer sets for a week may pay."""

from service.core.trend.changes import Change, change_between, common_change, gaussian_change, settled
from service.core.trend.deciding import MODEL_VERSION, WORTHWHILE, State, Trend, decide_trend
from service.core.trend.stretch import Stretch, Visited, comparable_stretch

__all__ = [
    "MODEL_VERSION",
    "WORTHWHILE",
    "Change",
    "State",
    "Stretch",
    "Trend",
    "Visited",
    "change_between",
    "common_change",
    "comparable_stretch",
    "decide_trend",
    "gaussian_change",
    "settled",
]
