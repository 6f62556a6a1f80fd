"""The log cut into sessions in canonical order: a function of what happened, never of the order of arrival."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from service.core.units import Days
from service.usecases.fold_rows import LogRow, SessionKey, ToldMeasurement
from service.usecases.local_days import LONGEST_DAY, day_began
from service.usecases.records.log import LoggedSet, TestedMaximum

#: A set belongs to its session if it was done within a day of the session's start (judgement: no visit is longer);
#: one that says otherwise stands on its own day. It bounds the part of the log where a session's sets can lie.
SPAN = timedelta(hours=24)
#: No set lies further from the start of its session, be that a visit or the athlete's local day.
REACH = max(SPAN, LONGEST_DAY)
#: Before anything that can be logged: where a fold of the whole log begins.
BEGINNING = datetime(1900, 1, 1, tzinfo=UTC)
_SECONDS_PER_DAY = 86_400.0


def day_of(instant: datetime) -> Days:
    """Return an instant on the axis of elapsed days since 1970, UTC. [d]"""
    return instant.timestamp() / _SECONDS_PER_DAY


@dataclass(frozen=True, slots=True)
class Visit:
    """One session: its sets in the order done, or one tested maximum, which is a session of its own."""

    key: SessionKey
    rows: Sequence[LogRow] = ()
    test: ToldMeasurement | None = None

    @property
    def through(self) -> datetime:
        """The latest instant at which anything of it was performed."""
        return max((row.record.performed_at for row in self.rows), default=self.key[0])


def key_of_set(
    record: LoggedSet, session_started_at: datetime | None, time_zone: Callable[[], str]
) -> SessionKey:
    """Return the session that a set belongs to.

    Without a session, or before it has arrived, that is the set's own local day; the athlete's ``time_zone`` is asked
    for only where the set was entered in UTC.
    """
    name = str(record.session_id) if record.session_id is not None else ""
    if session_started_at is not None and abs(record.performed_at - session_started_at) <= SPAN:
        return session_started_at.astimezone(UTC), name
    here = record.performed_at
    began = day_began(here, "UTC" if here.utcoffset() else time_zone())
    return began.astimezone(UTC), name


def key_of_test(told: ToldMeasurement) -> SessionKey:
    """Return the session that a tested maximum is."""
    return told.record.at.astimezone(UTC), f"test {told.id}"


def visits_of(
    rows: Iterable[LogRow],
    told: Iterable[ToldMeasurement],
    time_zone: str,
    after: SessionKey | None = None,
) -> list[Visit]:
    """Return the sessions after one in canonical order: (start, name); inside, (ordinal, performed at, id)."""
    grouped: dict[SessionKey, list[LogRow]] = defaultdict(list)
    for row in rows:
        grouped[key_of_set(row.record, row.session_started_at, lambda: time_zone)].append(row)
    visits = [Visit(key, sorted(held, key=_order)) for key, held in grouped.items()]
    visits += [Visit(key_of_test(one), test=one) for one in told if isinstance(one.record, TestedMaximum)]
    return sorted(
        (visit for visit in visits if after is None or visit.key > after), key=lambda visit: visit.key
    )


def _order(row: LogRow) -> tuple[int, datetime, bytes]:
    return row.record.ordinal, row.record.performed_at, row.id.bytes


def earliest_row(after: SessionKey | None) -> datetime | None:
    """Return the instant before which no set of a later session can have been performed; None for all."""
    return after[0] - SPAN if after is not None else None
