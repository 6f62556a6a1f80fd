"""To which visit a set belongs, and at which site it was done."""

from datetime import date, datetime
from uuid import UUID

from service.usecases.answers.situation import Situation
from service.usecases.answers.weeks import TrainingCalendar
from service.usecases.records.log import LoggedSet


def session_of(
    record: LoggedSet, situation: Situation, calendar: TrainingCalendar
) -> tuple[str, date, datetime]:
    """Return what ties the sets of one visit together, its local date, and when it began.

    A set whose session has not arrived, or that names none, belongs to its own day.
    """
    session = situation.sessions.get(record.session_id) if record.session_id is not None else None
    if session is not None:
        return f"session {record.session_id}", calendar.day_of(session.started_at), session.started_at
    on, midnight = calendar.day_of(record.performed_at), calendar.began(record.performed_at)
    if record.session_id is not None:
        return f"session {record.session_id}", on, midnight
    return f"day {on.isoformat()}", on, midnight


def site_of_set(record: LoggedSet, situation: Situation) -> UUID | None:
    """Return where a set was done: at its session's site, else at the home site."""
    session = situation.sessions.get(record.session_id) if record.session_id is not None else None
    named = session.site_id if session is not None else None
    return named or situation.athlete.home_site_id
