"""Athletes in reach, their consents and screenings."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, Table, insert, select

from service.store.reach import reachable
from service.store.tables import athletes, consents, group_members, screenings
from service.usecases.documents import from_document, to_document
from service.usecases.ports import Caller, Stored
from service.usecases.records.people import Athlete, Consent, Screening


def _athlete(row: Row[Any]) -> Stored:
    record = None if row.deleted_at is not None else from_document(Athlete, row.body)
    return Stored(
        row.id, None, row.version, row.fingerprint, record, row.received_at, row.updated_at, row.deleted_at
    )


class People:
    """The people whom one caller may reach, in one transaction."""

    def __init__(self, connection: Connection, caller: Caller) -> None:
        self._connection = connection
        self._caller = caller
        self._held: dict[UUID, Stored] = {}

    def athlete(self, athlete_id: UUID) -> Stored | None:
        """Return an athlete in reach, or a tombstone; None looks the same for unknown and out of reach."""
        row = self._connection.execute(self._mine().where(athletes.c.id == athlete_id)).first()
        return _athlete(row) if row else None

    def lock(self, athlete_id: UUID) -> Stored | None:
        """Return the athlete and hold it until the transaction ends: the unit of every write to a log.

        One lock per athlete keeps concurrent writers from folding over each other, and cannot deadlock.
        """
        query = self._mine().where(athletes.c.id == athlete_id).with_for_update(key_share=True, of=athletes)
        row = self._connection.execute(query).first()
        if row is None:
            return None
        stored = _athlete(row)
        self._held.setdefault(athlete_id, stored)
        return stored

    def held(self, athlete_id: UUID) -> Stored | None:
        """Return an athlete as it stood when this transaction first locked it, None where it has not; asks nothing."""
        return self._held.get(athlete_id)

    def in_reach(self, athlete_ids: Sequence[UUID]) -> set[UUID]:
        """Return those of the ids that are living athletes in reach."""
        query = self._mine().where(athletes.c.id.in_(list(athlete_ids)), athletes.c.deleted_at.is_(None))
        return {row.id for row in self._connection.execute(query)}

    def group_in_reach(self, group_id: UUID) -> bool:
        """Whether the caller may see the group."""
        return self._caller.reach.everyone or group_id in self._caller.reach.group_ids

    def site_in_reach(self, site_id: UUID) -> bool:
        """Whether the caller may see the site."""
        return self._caller.reach.everyone or site_id in self._caller.reach.site_ids

    def roster(self, group_id: UUID | None, after: UUID | None, limit: int) -> list[Stored]:
        """Return the next athletes in reach by id, of one group if named."""
        query = self._mine().where(athletes.c.deleted_at.is_(None)).order_by(athletes.c.id).limit(limit)
        if after is not None:
            query = query.where(athletes.c.id > after)
        if group_id is not None and not self.group_in_reach(group_id):
            return []
        if group_id is not None:
            query = query.join(
                group_members,
                (group_members.c.tenant_id == athletes.c.tenant_id)
                & (group_members.c.athlete_id == athletes.c.id),
            ).where(group_members.c.tenant_id == self._caller.tenant_id, group_members.c.group_id == group_id)
        return [_athlete(row) for row in self._connection.execute(query)]

    def add_consent(self, athlete_id: UUID, id: UUID, consent: Consent) -> None:
        """Append a decision."""
        self._append(consents, athlete_id, id, consent)

    def consents(self, athlete_id: UUID, until: datetime | None = None) -> list[tuple[UUID, Consent]]:
        """Return the decisions recorded up to an instant, oldest first."""
        return self._appended(consents, Consent, athlete_id, until)

    def add_screening(self, athlete_id: UUID, id: UUID, screening: Screening) -> None:
        """Append an outcome."""
        self._append(screenings, athlete_id, id, screening)

    def screenings(self, athlete_id: UUID, until: datetime | None = None) -> list[tuple[UUID, Screening]]:
        """Return the outcomes recorded up to an instant, oldest first."""
        return self._appended(screenings, Screening, athlete_id, until)

    def _mine(self) -> Select[Any]:
        return select(athletes).where(
            athletes.c.tenant_id == self._caller.tenant_id,
            reachable(self._caller.reach, self._caller.tenant_id),
        )

    def _append(self, table: Table, athlete_id: UUID, id: UUID, record: Consent | Screening) -> None:
        row = {
            "tenant_id": self._caller.tenant_id, "athlete_id": athlete_id, "id": id,
            "recorded_at": record.recorded_at, "body": to_document(record),
        }  # fmt: skip
        self._connection.execute(insert(table).values(row))

    def _appended(
        self, table: Table, kind: Any, athlete_id: UUID, until: datetime | None
    ) -> list[tuple[UUID, Any]]:
        query = select(table.c.id, table.c.body).where(
            table.c.tenant_id == self._caller.tenant_id, table.c.athlete_id == athlete_id
        )
        if until is not None:
            query = query.where(table.c.recorded_at <= until)
        ordered = query.order_by(table.c.recorded_at, table.c.id)
        return [(row.id, from_document(kind, row.body)) for row in self._connection.execute(ordered)]
