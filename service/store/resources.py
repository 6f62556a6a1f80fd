"""Reads and writes of every kind of resource, tombstones included, bound to one tenant."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Connection,
    Row,
    Table,
    and_,
    delete,
    false,
    insert,
    select,
    true,
    tuple_,
    update,
)
from sqlalchemy.dialects import postgresql

from service.store import set_rows
from service.store.reach import reachable
from service.store.tables import DOCUMENT_TABLES, athletes, group_members, sets
from service.usecases.documents import from_document, to_document
from service.usecases.kinds import Kind
from service.usecases.ports import Caller, Page, Stored, TakenMeanwhile

#: Columns beside the body that a kind's filters, order or reach need, taken from its record.
_OWN_COLUMNS: dict[str, tuple[str, ...]] = {
    "athlete": ("home_site_id", "external_ref"),
    "session": ("started_at", "site_id"),
    "checkin": ("at",),
    "measurement": ("at",),
}
#: The column by which a kind is listed before its id; the others are listed by id.
_LISTED_BY = {"session": "started_at", "set": "performed_at", "checkin": "at", "measurement": "at"}
#: Filters whose column has another name than the member that clients see.
_FILTERED_BY = {"site_id": "home_site_id", "kind": "measured"}


def table_of(kind: Kind) -> Table:
    """Return the table that holds a kind."""
    return sets if kind.name == "set" else DOCUMENT_TABLES[kind.name]


class Resources:
    """All kinds, for one caller, in one transaction."""

    def __init__(self, connection: Connection, caller: Caller, now: datetime) -> None:
        self._connection = connection
        self._caller = caller
        self._now = now
        self._clock_offset_s: int | None = None

    def note_clock_offset(self, seconds: int | None) -> None:
        """Keep with the sets that follow how far their sender's clock was ahead of ours. [s]"""
        self._clock_offset_s = seconds

    def get(self, kind: Kind, id: UUID, athlete_id: UUID | None = None) -> Stored | None:
        """Return what the id holds, a tombstone included."""
        return self.get_many(kind, [id], athlete_id).get(id)

    def lock(self, kind: Kind, id: UUID) -> Stored | None:
        """Return what the id of a tenant's own resource holds, and keep others from changing it until the end."""
        table = table_of(kind)
        query = select(table).where(self._within(table, None), table.c.id == id)
        row = self._connection.execute(query.with_for_update(key_share=True, of=table)).first()
        return self._stored(kind, row) if row else None

    def get_many(self, kind: Kind, ids: Sequence[UUID], athlete_id: UUID | None = None) -> dict[UUID, Stored]:
        """Return what each id holds; an id that was never seen is left out."""
        table = table_of(kind)
        query = select(table).where(self._within(table, athlete_id), table.c.id.in_(list(ids)))
        return {row.id: self._stored(kind, row) for row in self._connection.execute(query)}

    def insert(
        self, kind: Kind, id: UUID, athlete_id: UUID | None, record: Any, fingerprint: bytes
    ) -> Stored:
        """Keep a first version; raises ``TakenMeanwhile``."""
        self._insert_new(kind, self._first_row(kind, id, athlete_id, record, fingerprint))
        self._after_write(kind, id, record)
        return self._first(id, athlete_id, record, fingerprint)

    def insert_many(
        self, kind: Kind, athlete_id: UUID, rows: Sequence[tuple[UUID, Any, bytes]]
    ) -> list[Stored]:
        """Keep many first versions in one statement."""
        if rows:
            values = [self._first_row(kind, id, athlete_id, record, print_) for id, record, print_ in rows]
            self._connection.execute(insert(table_of(kind)), values)
        return [self._first(id, athlete_id, record, print_) for id, record, print_ in rows]

    def replace(self, kind: Kind, stored: Stored, record: Any, fingerprint: bytes) -> Stored:
        """Keep the next version in place of the stored one."""
        version = stored.version + 1
        changed = {
            **self._columns(kind, record),
            "fingerprint": fingerprint,
            "version": version,
            "updated_at": self._now,
            "deleted_at": None,
        }
        self._update(kind, stored.id, stored.athlete_id, changed)
        self._after_write(kind, stored.id, record)
        return Stored(
            stored.id, stored.athlete_id, version, fingerprint, record, stored.received_at, self._now
        )

    def bury(self, kind: Kind, id: UUID, athlete_id: UUID | None, stored: Stored | None) -> Stored:
        """Leave a tombstone, also for an id that was never seen; nothing of the body stays."""
        version = stored.version + 1 if stored else 1
        grave = {
            **self._empty(kind), "fingerprint": None, "version": version,
            "updated_at": self._now, "deleted_at": self._now,
        }  # fmt: skip
        if stored:
            self._update(kind, id, athlete_id, grave)
        else:
            where = {"performed_at": self._now} if kind.name == "set" else {}
            keys = self._keys(id, athlete_id)
            self._insert_new(kind, {**keys, **grave, **where, "received_at": self._now})
        if kind.name == "group":
            self._set_members(id, [])
        received = stored.received_at if stored else self._now
        return Stored(id, athlete_id, version, None, None, received, self._now, self._now)

    def page(self, kind: Kind, athlete_id: UUID | None, page: Page) -> list[tuple[Stored, tuple[Any, ...]]]:
        """Return the next page in listing order, each with the key from which the page after would start."""
        table = table_of(kind)
        by = [table.c[_LISTED_BY[kind.name]]] if kind.name in _LISTED_BY else []
        order = [*by, table.c.id]
        query = select(table).where(self._within(table, athlete_id), table.c.deleted_at.is_(None))
        query = query.where(*self._filters(kind, table, page)).order_by(*order).limit(page.limit)
        if page.after is not None:
            query = query.where(tuple_(*order) > tuple_(*page.after))
        rows = self._connection.execute(query).all()
        return [
            (self._stored(kind, row), tuple(getattr(row, column.name) for column in order)) for row in rows
        ]

    def all_of(self, kind: Kind, athlete_id: UUID | None) -> list[Stored]:
        """Return all of a kind that few are kept of, such as an athlete's limits and aims."""
        return [stored for stored, _ in self.page(kind, athlete_id, Page(limit=1000))]

    def _within(self, table: Table, athlete_id: UUID | None) -> ColumnElement[bool]:
        mine = table.c.tenant_id == self._caller.tenant_id
        if table is athletes:
            return and_(mine, reachable(self._caller.reach, self._caller.tenant_id))
        return and_(mine, table.c.athlete_id == athlete_id) if athlete_id is not None else mine

    def _filters(self, kind: Kind, table: Table, page: Page) -> list[ColumnElement[bool]]:
        made: list[ColumnElement[bool]] = [true()]
        listed = table.c[_LISTED_BY[kind.name]] if kind.name in _LISTED_BY else None
        for name, value in page.filters.items():
            if name == "from" and listed is not None:
                made.append(listed >= value)
            elif name == "to" and listed is not None:
                made.append(listed < value)
            elif name == "group_id":
                made.append(self._in_group(value))
            elif name == "ids":
                made.append(table.c.id.in_(value))
            else:
                made.append(table.c[_FILTERED_BY.get(name, name)] == value)
        return made

    def _in_group(self, group_id: UUID) -> ColumnElement[bool]:
        reach = self._caller.reach
        if not reach.everyone and group_id not in reach.group_ids:
            return false()
        return (
            select(group_members.c.athlete_id)
            .where(
                group_members.c.tenant_id == self._caller.tenant_id,
                group_members.c.group_id == group_id,
                group_members.c.athlete_id == athletes.c.id,
            )
            .correlate(athletes)
            .exists()
        )

    def _keys(self, id: UUID, athlete_id: UUID | None) -> dict[str, Any]:
        keys: dict[str, Any] = {"tenant_id": self._caller.tenant_id, "id": id}
        return {**keys, "athlete_id": athlete_id} if athlete_id is not None else keys

    def _columns(self, kind: Kind, record: Any) -> dict[str, Any]:
        if kind.name == "set":
            return {**set_rows.to_row(record), "clock_offset_s": self._clock_offset_s}
        own = {name: getattr(record, name) for name in _OWN_COLUMNS.get(kind.name, ())}
        body = to_document(record)
        if kind.name == "measurement":
            own["measured"] = body["kind"]
        return {**own, "body": body}

    def _empty(self, kind: Kind) -> dict[str, Any]:
        if kind.name == "set":
            return set_rows.EMPTY
        own = dict.fromkeys(_OWN_COLUMNS.get(kind.name, ()))
        # A site's keys must still find the tombstone: they follow the feed, and repeat the delete.
        own.pop("home_site_id", None)
        return {**own, "body": None}

    def _first_row(
        self, kind: Kind, id: UUID, athlete_id: UUID | None, record: Any, fingerprint: bytes
    ) -> dict[str, Any]:
        kept = {"version": 1, "fingerprint": fingerprint, "received_at": self._now, "updated_at": self._now}
        return {**self._keys(id, athlete_id), **self._columns(kind, record), **kept}

    def _first(self, id: UUID, athlete_id: UUID | None, record: Any, fingerprint: bytes) -> Stored:
        return Stored(id, athlete_id, 1, fingerprint, record, self._now, self._now)

    def _insert_new(self, kind: Kind, row: dict[str, Any]) -> None:
        # Waits for whoever is writing the same id. A unique violation would end the transaction; this lets it look again.
        table = table_of(kind)
        statement = postgresql.insert(table).values(row).on_conflict_do_nothing().returning(table.c.id)
        if self._connection.execute(statement).first() is None:
            raise TakenMeanwhile

    def _update(self, kind: Kind, id: UUID, athlete_id: UUID | None, values: dict[str, Any]) -> None:
        table = table_of(kind)
        self._connection.execute(
            update(table).where(self._within(table, athlete_id), table.c.id == id).values(values)
        )

    def _after_write(self, kind: Kind, id: UUID, record: Any) -> None:
        if kind.name == "group":
            self._set_members(id, record.athlete_ids)

    def _set_members(self, group_id: UUID, athlete_ids: Sequence[UUID]) -> None:
        mine = and_(group_members.c.tenant_id == self._caller.tenant_id, group_members.c.group_id == group_id)
        self._connection.execute(delete(group_members).where(mine))
        if athlete_ids:
            keys = {"tenant_id": self._caller.tenant_id, "group_id": group_id}
            self._connection.execute(
                insert(group_members),
                [{**keys, "athlete_id": member} for member in dict.fromkeys(athlete_ids)],
            )

    def _stored(self, kind: Kind, row: Row[Any]) -> Stored:
        record = None if row.deleted_at is not None else self._record(kind, row)
        athlete_id = row.athlete_id if kind.of_athlete else None
        return Stored(
            row.id,
            athlete_id,
            row.version,
            row.fingerprint,
            record,
            row.received_at,
            row.updated_at,
            row.deleted_at,
        )

    def _record(self, kind: Kind, row: Row[Any]) -> Any:
        return set_rows.to_record(row) if kind.name == "set" else from_document(kind.record, row.body)
