"""The athlete's training week: which local day a set belongs to, and where a week begins and ends.

A local day comes from the offset that was entered with the time, so that moving to another time zone leaves the past
where it was. Only a time entered in UTC, which names no place, is read in the athlete's present zone; and the instants
at which a week is said to begin and end are those of the present zone. The sets of a session take the day on which the
session began, also past midnight.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import get_args
from uuid import UUID
from zoneinfo import ZoneInfo

from service.usecases.local_days import day_began, first_instant, local_day
from service.usecases.records.log import LoggedSet, Session
from service.usecases.records.people import Athlete, Weekday

DAYS_A_WEEK = 7
#: Offsets reach from -12 to +14 hours and a session may run past midnight: what belongs to a local day lies this near
#: to the same day of UTC.
REACH_OF_A_DAY = timedelta(days=2)
_WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)


@dataclass(frozen=True, slots=True)
class TrainingWeek:
    """Seven local days from ``first_day`` on; as instants half-open, ``start`` within and ``end`` without."""

    first_day: date
    time_zone: str

    @property
    def start(self) -> datetime:
        """The first instant of the first day, in the athlete's zone."""
        return first_instant(self.first_day, ZoneInfo(self.time_zone))

    @property
    def end(self) -> datetime:
        """The first instant after the week, in the athlete's zone."""
        return first_instant(self.first_day + timedelta(days=DAYS_A_WEEK), ZoneInfo(self.time_zone))

    @property
    def hours(self) -> float:
        """How long the week lasts: 168, or one more or less where the clocks change. [h]"""
        return (self.end - self.start) / timedelta(hours=1)

    def holds(self, day: date) -> bool:
        """Whether a local day lies in this week."""
        return self.first_day <= day < self.first_day + timedelta(days=DAYS_A_WEEK)

    def earlier(self, weeks: int) -> "TrainingWeek":
        """Return the week that lies so many weeks before."""
        return TrainingWeek(self.first_day - timedelta(days=DAYS_A_WEEK * weeks), self.time_zone)


@dataclass(frozen=True, slots=True)
class TrainingCalendar:
    """How one athlete counts days and weeks."""

    time_zone: str = "UTC"
    week_starts_on: Weekday = "monday"

    def day_of(self, instant: datetime) -> date:
        """Return the local day of an instant: by its entered offset, in the athlete's zone if entered in UTC."""
        return local_day(instant, self.time_zone)

    def began(self, instant: datetime) -> datetime:
        """Return the first instant of an instant's local day."""
        return day_began(instant, self.time_zone)

    def day_of_set(self, done: LoggedSet, sessions: Mapping[UUID, Session]) -> date:
        """Return the day a set counts for: that of its session's start, or its own where no session is known."""
        session = sessions.get(done.session_id) if done.session_id is not None else None
        return self.day_of(session.started_at if session is not None else done.performed_at)

    def week_of(self, day: date) -> TrainingWeek:
        """Return the week that holds a local day."""
        past_the_first = (day.weekday() - _WEEKDAYS.index(self.week_starts_on)) % DAYS_A_WEEK
        return TrainingWeek(day - timedelta(days=past_the_first), self.time_zone)

    def weeks_until(self, day: date, count: int) -> tuple[TrainingWeek, ...]:
        """Return so many weeks, oldest first, the last of which holds the day."""
        last = self.week_of(day)
        return tuple(last.earlier(back) for back in reversed(range(count)))


def calendar_of(athlete: Athlete) -> TrainingCalendar:
    """Return the calendar of an athlete."""
    return TrainingCalendar(athlete.time_zone, athlete.week_starts_on)


def instants_around(first: TrainingWeek, last: TrainingWeek) -> tuple[datetime, datetime]:
    """Return instants between which everything lies that these weeks can hold, whatever offset was entered."""
    begin = datetime.combine(first.first_day, time(), UTC) - REACH_OF_A_DAY
    end = datetime.combine(last.first_day + timedelta(days=DAYS_A_WEEK), time(), UTC) + REACH_OF_A_DAY
    return begin, end
