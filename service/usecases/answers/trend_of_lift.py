"""The trend of one lift and side: which sessions are compared, and how strength changed between any two days of them."""

from dataclasses import dataclass
from typing import Final

from service.core.capability import Line, Side
from service.core.estimates import Reason
from service.core.trend import Change, Measured, Stretch, change_between, change_over, on_levels, settled
from service.core.units import Days
from service.usecases.answers.history import ExerciseHistory
from service.usecases.answers.trend_sessions import Done

_DAYS_A_WEEK: Final = 7.0


@dataclass(frozen=True)
class LiftTrend:
    """The comparable sessions of one lift and side, its line, and the change along it, None where it cannot be told.

    ``sets`` are those of these sessions that tell strength. The lift was ``logged`` for so long before them [d], of which
    ``log_age`` [d] settles what is believed of it: a pause makes a log young again.
    ``notes`` are reasons that a muscle's trend must tell too where this one is pooled into it.
    """

    history: ExerciseHistory
    side: Side
    stretch: Stretch
    line: Line | None
    change: Change | None
    sets: tuple[Done, ...]
    logged: Days
    log_age: Days
    measured: Measured
    notes: tuple[Reason, ...] = ()

    @property
    def weeks(self) -> float:
        """How far the first and the last comparable session lie apart. [wk]"""
        days = self.stretch.days
        return (days[-1] - days[0]) / _DAYS_A_WEEK if days else 0.0

    def change_over(self, start: Days, end: Days) -> Change | None:
        """Return the change between two days from the first to the last of these sessions. [d]"""
        if self.line is None or self.change is None:
            return None
        change = settled(change_over(self.line, start, end), self.age_on(start))
        return on_levels(change) if self.measured == "level" else change

    def age_on(self, day: Days) -> Days:
        """Return how old the log counts as on one of these days. [d]"""
        return self.log_age + day - self.stretch.days[0]

    @property
    def weeks_logged(self) -> float:
        """How far the first session of all, in the log's window, and the last comparable one lie apart. [wk]"""
        return self.weeks + self.logged / _DAYS_A_WEEK


def change_along(stretch: Stretch, line: Line | None, log_age: Days) -> Change | None:
    """Return the change of a line between the first and last session that may be compared; ``log_age`` as in `LiftTrend`."""
    if not stretch.enough or line is None or not set(stretch.days) <= set(line.days):
        return None
    first, last = line.days.index(stretch.days[0]), line.days.index(stretch.days[-1])
    return settled(change_between(line, first, last), log_age)
