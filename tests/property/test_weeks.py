"""Training weeks for any zone, start of the week, offset and instant."""

from datetime import UTC, date, datetime, timedelta, timezone
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.usecases.answers.weeks import TrainingCalendar, instants_around
from service.usecases.records.people import Weekday

pytestmark = pytest.mark.quick

ZONES = (
    "Pacific/Auckland", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Europe/Riga", "America/St_Johns", "Asia/Beirut",
    "Asia/Kathmandu", "Africa/Cairo", "America/Havana", "Australia/Lord_Howe", "UTC",
)  # fmt: skip
calendars = st.builds(TrainingCalendar, st.sampled_from(ZONES), st.sampled_from(get_args(Weekday)))
days = st.dates(date(2005, 1, 1), date(2035, 12, 31))
_FIRST = datetime(2005, 1, 1, tzinfo=UTC)
instants = st.floats(0.0, 30.0 * 365.0).map(lambda elapsed: _FIRST + timedelta(days=elapsed))
offsets = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


@given(calendars, days)
def test_every_day_lies_in_exactly_one_week(calendar: TrainingCalendar, day: date) -> None:
    week = calendar.week_of(day)
    assert week.holds(day)
    assert not week.earlier(1).holds(day)
    assert not week.earlier(-1).holds(day)
    assert week.first_day.strftime("%A").lower() == calendar.week_starts_on


@given(calendars, days)
def test_weeks_follow_on_each_other_without_gap_or_overlap(calendar: TrainingCalendar, day: date) -> None:
    week = calendar.week_of(day)
    assert week.earlier(1).end == week.start
    assert 166.0 <= week.hours <= 170.0
    assert week.start < week.end


@given(calendars, instants)
def test_an_instant_in_the_athletes_own_zone_lies_between_its_weeks_instants(
    calendar: TrainingCalendar, instant: datetime
) -> None:
    for entered in (instant, instant.astimezone(ZoneInfo(calendar.time_zone))):
        week = calendar.week_of(calendar.day_of(entered))
        assert week.start <= instant < week.end


@given(calendars, st.sampled_from(ZONES), instants, offsets)
def test_an_entered_offset_outlives_a_change_of_zone(
    calendar: TrainingCalendar, other: str, instant: datetime, offset: timezone
) -> None:
    entered = instant.astimezone(offset)
    if not entered.utcoffset():
        return
    moved = TrainingCalendar(other, calendar.week_starts_on)
    assert moved.day_of(entered) == calendar.day_of(entered) == entered.date()


@given(calendars, instants, offsets)
def test_whatever_a_week_holds_lies_within_the_instants_that_are_read(
    calendar: TrainingCalendar, instant: datetime, offset: timezone
) -> None:
    week = calendar.week_of(calendar.day_of(instant.astimezone(offset)))
    begin, end = instants_around(week, week)
    assert begin < instant < end
