"""The athlete's log, read in the canonical order of the fold."""

from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Table, and_, func, select

from service.store import set_rows
from service.store.tables import checkins, measurements, sessions, sets
from service.usecases.documents import from_document
from service.usecases.ports import Caller, Stored
from service.usecases.records.log import Checkin, Measurement, Session


def _from_body(row: Any, kind: Any) -> Stored:
    record = from_document(kind, row.body)
    return Stored(
        row.id, row.athlete_id, row.version, row.fingerprint, record, row.received_at, row.updated_at
    )


class Log:
    """One tenant's logs in one transaction. Every read is bounded by time, so its cost does not grow with history."""

    def __init__(self, connection: Connection, caller: Caller) -> None:
        self._connection = connection
        self._caller = caller

    def sets_between(
        self, athlete_id: UUID, after: datetime, until: datetime, exercise_id: str | None = None
    ) -> list[Stored]:
        """Return the sets performed in (after, until], in canonical order.

        The order is (session start, session id, ordinal, performed at, id): it depends on what happened and not on the
        order of arrival, so that every arrival order folds to the same answer. A set whose session has not arrived
        stands where it was performed.
        """
        start = func.coalesce(sessions.c.started_at, sets.c.performed_at)
        joined = sets.outerjoin(
            sessions,
            and_(
                sessions.c.tenant_id == sets.c.tenant_id,
                sessions.c.athlete_id == sets.c.athlete_id,
                sessions.c.id == sets.c.session_id,
            ),
        )
        query = (
            select(sets)
            .select_from(joined)
            .where(
                sets.c.tenant_id == self._caller.tenant_id,
                sets.c.athlete_id == athlete_id,
                sets.c.performed_at > after,
                sets.c.performed_at <= until,
                sets.c.deleted_at.is_(None),
            )
            .order_by(start, sets.c.session_id, sets.c.ordinal, sets.c.performed_at, sets.c.id)
        )
        if exercise_id is not None:
            query = query.where(sets.c.exercise_id == exercise_id)
        return [
            Stored(
                row.id, row.athlete_id, row.version, row.fingerprint, set_rows.to_record(row),
                row.received_at, row.updated_at,
            )
            for row in self._connection.execute(query)
        ]  # fmt: skip

    def sessions_between(self, athlete_id: UUID, after: datetime, until: datetime) -> list[Stored]:
        """Return the sessions begun in (after, until], oldest first."""
        return [
            _from_body(row, Session) for row in self._rows(sessions, "started_at", athlete_id, after, until)
        ]

    def checkins_between(self, athlete_id: UUID, after: datetime, until: datetime) -> list[Stored]:
        """Return the check-ins in (after, until], oldest first."""
        return [_from_body(row, Checkin) for row in self._rows(checkins, "at", athlete_id, after, until)]

    def measurements_between(
        self, athlete_id: UUID, after: datetime, until: datetime, kind: str | None = None
    ) -> list[Stored]:
        """Return the measurements in (after, until], of one kind if named, oldest first."""
        rows = self._rows(measurements, "at", athlete_id, after, until)
        return [_from_body(row, Measurement) for row in rows if kind is None or row.measured == kind]

    def session_set_ids(self, athlete_id: UUID, session_id: UUID) -> list[UUID]:
        """Return the ids of the sets of one session that still stand."""
        query = select(sets.c.id).where(
            sets.c.tenant_id == self._caller.tenant_id,
            sets.c.athlete_id == athlete_id,
            sets.c.session_id == session_id,
            sets.c.deleted_at.is_(None),
        )
        return list(self._connection.execute(query.order_by(sets.c.id)).scalars())

    def _rows(self, table: Table, by: str, athlete_id: UUID, after: datetime, until: datetime) -> list[Any]:
        query = (
            select(table)
            .where(
                table.c.tenant_id == self._caller.tenant_id,
                table.c.athlete_id == athlete_id,
                table.c[by] > after,
                table.c[by] <= until,
                table.c.deleted_at.is_(None),
            )
            .order_by(table.c[by], table.c.id)
        )
        return list(self._connection.execute(query))
