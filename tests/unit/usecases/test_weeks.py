"""The training week: half-open, in the athlete's zone, with days that come from what was entered."""

from datetime import UTC, date, datetime
from uuid import UUID, uuid4

import pytest

from service.usecases.answers.weeks import TrainingCalendar, calendar_of, instants_around
from service.usecases.records.log import LoggedSet, Session
from service.usecases.records.people import Athlete

pytestmark = pytest.mark.quick


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def a_set(performed_at: str, session_id: UUID | None = None) -> LoggedSet:
    return LoggedSet(exercise_id="bench-press", performed_at=at(performed_at), session_id=session_id)


def test_the_last_second_of_sunday_in_auckland_belongs_to_the_week_that_ends() -> None:
    calendar = TrainingCalendar("Pacific/Auckland")
    sunday = calendar.day_of(at("2026-11-29T23:59:59+13:00"))
    assert sunday == date(2026, 11, 29)
    week = calendar.week_of(sunday)
    assert week.first_day == date(2026, 11, 23)
    assert week.start <= at("2026-11-29T23:59:59+13:00") < week.end
    assert calendar.week_of(calendar.day_of(at("2026-11-30T00:00:00+13:00"))).start == week.end


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        # Directive 2000/84/EC: forward on the last Sunday of March, back on the last of October.
        ("Europe/Riga", date(2026, 3, 29), 167),
        ("Europe/Riga", date(2026, 10, 25), 169),
        ("America/New_York", date(2026, 3, 8), 167),  # the second Sunday of March (15 USC 260a)
        ("Asia/Tokyo", date(2026, 3, 29), 168),
        ("Australia/Lord_Howe", date(2026, 4, 5), 168.5),  # half an hour
    ],
)
def test_a_week_in_which_the_clocks_change_is_longer_or_shorter(zone: str, day: date, hours: float) -> None:
    assert TrainingCalendar(zone).week_of(day).hours == hours


def test_a_week_may_start_on_sunday() -> None:
    week = TrainingCalendar("Europe/Riga", "sunday").week_of(date(2026, 11, 23))
    assert week.first_day == date(2026, 11, 22)
    assert week.first_day.strftime("%A") == "Sunday"
    assert week.holds(date(2026, 11, 28))
    assert not week.holds(date(2026, 11, 29))


def test_a_set_after_midnight_counts_for_the_day_its_session_began() -> None:
    calendar = TrainingCalendar("Europe/Riga")
    session_id = uuid4()
    sessions = {session_id: Session(started_at=at("2026-11-29T23:10:00+02:00"))}
    late = a_set("2026-11-30T00:20:00+02:00", session_id)
    assert calendar.day_of_set(late, sessions) == date(2026, 11, 29)
    assert calendar.day_of_set(late, {}) == date(2026, 11, 30)


def test_a_time_entered_in_utc_is_read_in_the_athletes_zone() -> None:
    assert TrainingCalendar("Pacific/Auckland").day_of(at("2026-11-29T11:30:00+00:00")) == date(2026, 11, 30)


def test_moving_to_another_zone_leaves_days_with_an_entered_offset_where_they_were() -> None:
    entered = at("2026-11-29T23:59:59+13:00")
    days = {TrainingCalendar(zone).day_of(entered) for zone in ("Pacific/Auckland", "America/Lima", "UTC")}
    assert days == {date(2026, 11, 29)}


def test_a_skipped_midnight_begins_the_day_at_the_change() -> None:
    # Beirut's clocks go forward at midnight, so that 29 March 2026 begins at 01:00.
    week = TrainingCalendar("Asia/Beirut", "sunday").week_of(date(2026, 3, 29))
    assert week.start.isoformat() == "2026-03-29T01:00:00+03:00"
    assert week.start.astimezone(UTC) == at("2026-03-28T22:00:00+00:00")


def test_the_weeks_until_a_day_come_oldest_first() -> None:
    weeks = TrainingCalendar("Europe/Riga").weeks_until(date(2026, 11, 25), 3)
    assert [week.first_day for week in weeks] == [date(2026, 11, 9), date(2026, 11, 16), date(2026, 11, 23)]
    begin, end = instants_around(weeks[0], weeks[-1])
    assert begin < weeks[0].start
    assert weeks[-1].end < end


def test_the_calendar_is_the_athletes_own() -> None:
    athlete = Athlete(time_zone="America/Lima", week_starts_on="saturday")
    assert calendar_of(athlete) == TrainingCalendar("America/Lima", "saturday")


@pytest.mark.parametrize(
    ("zone", "entered", "began"),
    [
        ("America/Los_Angeles", "2026-11-25T00:10:00Z", "2026-11-24T08:00:00Z"),
        ("Pacific/Auckland", "2026-11-26T20:30:00Z", "2026-11-26T11:00:00Z"),
        ("Europe/Riga", "2026-11-24T18:00:00+13:00", "2026-11-23T11:00:00Z"),
    ],
)
def test_a_day_begins_where_it_was_entered_or_else_at_home(zone: str, entered: str, began: str) -> None:
    assert TrainingCalendar(zone).began(at(entered)) == at(began)
