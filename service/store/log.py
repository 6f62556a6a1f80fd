"""The athlete's log, read in the canonical order of the fold."""

from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, FromClause, Table, and_, func, select

from service.store import set_rows
from service.store.tables import athletes, checkins, measurements, sessions, sets
from service.usecases.documents import from_document
from service.usecases.fold_rows import LogRow, ToldMeasurement
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
        self,
        athlete_id: UUID,
        after: datetime,
        until: datetime,
        exercise_id: str | None = None,
        newest: int | None = None,
    ) -> list[Stored]:
        """Return the sets performed in (after, until], of one exercise and only so many of the ``newest`` if named.

        The order is canonical: (session start, session id, ordinal, performed at, id): it depends on what happened and not on the
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
        if newest is not None:
            last = select(sets.c.id).where(
                self._standing(sets, athlete_id),
                sets.c.performed_at > after,
                sets.c.performed_at <= until,
            )
            if exercise_id is not None:
                last = last.where(sets.c.exercise_id == exercise_id)
            last = last.order_by(sets.c.performed_at.desc(), sets.c.id.desc()).limit(newest)
            query = query.where(sets.c.id.in_(last))
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

    def sessions_of(self, athlete_id: UUID, session_ids: Collection[UUID]) -> list[Stored]:
        """Return those of some sessions that have arrived and still stand."""
        within = self._standing(sessions, athlete_id) & sessions.c.id.in_(list(session_ids))
        query = select(sessions).where(within).order_by(sessions.c.started_at, sessions.c.id)
        return [_from_body(row, Session) for row in self._connection.execute(query)]

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

    def rows_to_fold(
        self,
        athlete_id: UUID,
        since: datetime | None,
        until: datetime | None = None,
        limit: int | None = None,
    ) -> list[LogRow]:
        """Return the sets performed in [since, until], by instant and id, each with its session's start and site."""
        joined = sets.outerjoin(
            sessions,
            and_(
                sessions.c.tenant_id == sets.c.tenant_id,
                sessions.c.athlete_id == sets.c.athlete_id,
                sessions.c.id == sets.c.session_id,
            ),
        )
        query = (
            select(sets, sessions.c.started_at, sessions.c.site_id)
            .select_from(joined)
            .where(
                sets.c.tenant_id == self._caller.tenant_id,
                sets.c.athlete_id == athlete_id,
                sets.c.deleted_at.is_(None),
            )
            .order_by(sets.c.performed_at, sets.c.id)
        )
        if since is not None:
            query = query.where(sets.c.performed_at >= since)
        if until is not None:
            query = query.where(sets.c.performed_at <= until)
        rows = self._connection.execute(query.limit(limit) if limit is not None else query)
        return [LogRow(row.id, set_rows.to_record(row), row.started_at, row.site_id) for row in rows]

    def told_to_fold(
        self, athlete_id: UUID, since: datetime | None, until: datetime | None = None
    ) -> list[ToldMeasurement]:
        """Return body masses and tested maxima told in [since, until], oldest first, and the body mass before them."""
        table = measurements
        within = self._standing(table, athlete_id) & table.c.measured.in_(("body_mass", "tested_maximum"))
        if until is not None:
            within &= table.c.at <= until
        if since is not None:
            # The body mass told last before says what the body weighed then.
            masses = measurements.alias("masses")
            newest = select(func.max(masses.c.at)).where(
                self._standing(masses, athlete_id), masses.c.measured == "body_mass", masses.c.at < since
            )
            within &= table.c.at >= func.coalesce(newest.scalar_subquery(), since)
        query = select(table.c.id, table.c.body).where(within)
        rows = self._connection.execute(query.order_by(table.c.at, table.c.id))
        return [ToldMeasurement(row.id, from_document(Measurement, row.body)) for row in rows]  # type: ignore[arg-type]

    def session_starts(self, athlete_id: UUID, session_ids: Collection[UUID]) -> dict[UUID, datetime]:
        """Return when each of these sessions began, leaving out those that have not arrived or are deleted."""
        query = select(sessions.c.id, sessions.c.started_at).where(
            sessions.c.tenant_id == self._caller.tenant_id,
            sessions.c.athlete_id == athlete_id,
            sessions.c.id.in_(list(session_ids)),
            sessions.c.started_at.is_not(None),
        )
        return {row.id: row.started_at for row in self._connection.execute(query)}

    def first_with_bars(self, site_id: UUID, bars: Collection[str]) -> dict[UUID, datetime]:
        """Return, by athlete, the first set at a site, or of nowhere and its athlete at home there, loaded on one of these
        bars in plates a side."""
        its_session = and_(
            sessions.c.tenant_id == sets.c.tenant_id,
            sessions.c.athlete_id == sets.c.athlete_id,
            sessions.c.id == sets.c.session_id,
        )
        at_home = (
            sets.join(athletes, and_(athletes.c.tenant_id == sets.c.tenant_id, athletes.c.id == sets.c.athlete_id))
            .outerjoin(sessions, its_session)
        )  # fmt: skip
        found: dict[UUID, datetime] = {}
        # Two questions, so that neither reads the sets of athletes who never were at this site.
        for joined, there in (
            (sets.join(sessions, its_session), sessions.c.site_id == site_id),
            (at_home, and_(athletes.c.home_site_id == site_id, sessions.c.site_id.is_(None))),
        ):
            query = (
                select(sets.c.athlete_id, func.min(sets.c.performed_at).label("first"))
                .select_from(joined)
                .where(
                    there,
                    sets.c.tenant_id == self._caller.tenant_id,
                    sets.c.deleted_at.is_(None),
                    sets.c.details["plates_per_side"]["bar"].astext.in_(list(bars)),
                )
                .group_by(sets.c.athlete_id)
            )
            for row in self._connection.execute(query):
                found[row.athlete_id] = min(row.first, found.get(row.athlete_id, row.first))
        return dict(sorted(found.items()))

    def _standing(self, table: FromClause, athlete_id: UUID) -> ColumnElement[bool]:
        return and_(
            table.c.tenant_id == self._caller.tenant_id,
            table.c.athlete_id == athlete_id,
            table.c.deleted_at.is_(None),
        )

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
