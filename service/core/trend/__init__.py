"""Whether strength rises, stands or falls over some weeks, beyond noise, and when fewer sets for a week may pay."""

from service.core.trend.changes import (
    BETWEEN_LIFTS_SD,
    Change,
    change_between,
    change_over,
    common_change,
    gaussian_change,
    on_levels,
    settled,
    settling_variance,
    strangers,
)
from service.core.trend.deciding import MODEL_VERSION, WORTHWHILE, Measured, State, Trend, decide_trend
from service.core.trend.easing import EasierWeek, Strain, Suggestion, suggest_easier_week
from service.core.trend.spans import LEAST_SPAN, Span, common_span
from service.core.trend.steps import Shown, Step, moved_around, moved_between, sudden_steps
from service.core.trend.stretch import (
    FEWEST_SESSIONS,
    Run,
    Stretch,
    Visited,
    age_of_log,
    comparable_runs,
    comparable_stretch,
    of_one_side,
    where_both_were,
)

__all__ = [
    "BETWEEN_LIFTS_SD",
    "FEWEST_SESSIONS",
    "LEAST_SPAN",
    "MODEL_VERSION",
    "WORTHWHILE",
    "Change",
    "EasierWeek",
    "Measured",
    "Run",
    "Shown",
    "Span",
    "State",
    "Step",
    "Strain",
    "Stretch",
    "Suggestion",
    "Trend",
    "Visited",
    "age_of_log",
    "change_between",
    "change_over",
    "common_change",
    "common_span",
    "comparable_runs",
    "comparable_stretch",
    "decide_trend",
    "gaussian_change",
    "moved_around",
    "moved_between",
    "of_one_side",
    "on_levels",
    "settled",
    "settling_variance",
    "strangers",
    "sudden_steps",
    "suggest_easier_week",
    "where_both_were",
]
