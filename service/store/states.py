"""Packed states of athletes, their checkpoints, and the jobs that fold them anew."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, Row, Select, Table, and_, delete, func, or_, select, text
from sqlalchemy.dialects import postgresql

from service.store.tables import athletes, capability_checkpoints, capability_states, sets
from service.usecases.fold_rows import FoldStanding, KeptFold, Packing, SessionKey
from service.usecases.ports import Caller

_FOLDED = (
    "folded_start", "folded_key", "folded_through", "session_count", "set_count", "layout", "model_version", "inputs", "state",
)  # fmt: skip
#: The queue's own function takes the tenant from the transaction, so that nobody can name another one.
_DEFER = text("SELECT jobs.defer_refold(CAST(:athlete_id AS uuid))")


def _key(start: datetime | None, key: str | None) -> SessionKey | None:
    return (start, key) if start is not None and key is not None else None


def _kept(row: Row[Any]) -> KeptFold:
    return KeptFold(
        row.session_count, row.set_count, _key(row.folded_start, row.folded_key), row.folded_through,
        Packing(row.model_version, row.layout), row.inputs, row.state,
    )  # fmt: skip


class States:
    """One tenant's states in one transaction. All writes need the athlete's lock."""

    def __init__(self, connection: Connection, caller: Caller) -> None:
        self._connection = connection
        self._caller = caller

    def standing(self, athlete_id: UUID) -> FoldStanding | None:
        """Return how far the state reaches, None where nothing was ever folded. Reads no state's bytes."""
        table = capability_states
        query = select(
            table.c.folded_start, table.c.folded_key, table.c.open_start, table.c.open_key, table.c.stale_from,
            table.c.model_version, table.c.layout,
        ).where(self._of(table, athlete_id))  # fmt: skip
        row = self._connection.execute(query).first()
        if row is None:
            return None
        return FoldStanding(
            _key(row.folded_start, row.folded_key),
            _key(row.open_start, row.open_key),
            row.stale_from,
            Packing(row.model_version, row.layout),
        )

    def newest(
        self,
        athlete_id: UUID,
        packing: Packing,
        *,
        before: datetime | None = None,
        through: datetime | None = None,
        fewer_than: int | None = None,
    ) -> KeptFold | None:
        """Return the state that reaches furthest, made by this packing and not stale, with its bytes.

        Only sessions that began before ``before``, only sets performed up to ``through``, and fewer sessions than
        ``fewer_than`` may be in it, where these are given.
        """
        stale = select(capability_states.c.stale_from).where(self._of(capability_states, athlete_id))
        found = []
        for table in (capability_states, capability_checkpoints):
            usable = self._usable(table, packing, before, through, fewer_than)
            query = (
                select(*(table.c[name] for name in _FOLDED))
                .where(self._of(table, athlete_id), *usable)
                .where(table.c.folded_start < func.coalesce(stale.scalar_subquery(), text("'infinity'")))
            )
            found.append(query.order_by(table.c.session_count.desc()).limit(1).subquery())
        both = found[0].select().union_all(found[1].select()).subquery()
        row = self._connection.execute(select(both).order_by(both.c.session_count.desc()).limit(1)).first()
        return _kept(row) if row else None

    def keep(self, athlete_id: UUID, fold: KeptFold, open_session: SessionKey | None) -> None:
        """Make a fold the athlete's state; whatever was stale is so no more."""
        start, key = open_session if open_session is not None else (None, None)
        values = {**self._values(fold), "open_start": start, "open_key": key, "stale_from": None}
        self._upsert(capability_states, athlete_id, values, ["tenant_id", "athlete_id"])

    def add_checkpoints(self, athlete_id: UUID, folds: Iterable[KeptFold]) -> None:
        """Keep further states to come back to; one of as many sessions is replaced."""
        rows = [{**self._keys(athlete_id), **self._values(fold)} for fold in folds]
        if not rows:
            return
        statement = postgresql.insert(capability_checkpoints)
        given = {name: statement.excluded[name] for name in _FOLDED if name != "session_count"}
        key = ["tenant_id", "athlete_id", "session_count"]
        self._connection.execute(statement.on_conflict_do_update(index_elements=key, set_=given), rows)

    def drop_checkpoints(self, athlete_id: UUID, *, keep: Iterable[int]) -> None:
        """Forget every checkpoint but those of so many sessions."""
        table = capability_checkpoints
        kept = [int(count) for count in keep]
        self._connection.execute(
            delete(table).where(self._of(table, athlete_id), table.c.session_count.not_in(kept))
        )

    def mark_stale(self, athlete_id: UUID, since: datetime, packing: Packing) -> None:
        """Say that every state of sessions from an instant on is wrong until a job has folded anew."""
        table = capability_states
        empty = KeptFold(0, 0, None, None, packing, b"", None)
        values = {**self._keys(athlete_id), **self._values(empty), "stale_from": since}
        earliest = func.least(func.coalesce(table.c.stale_from, since), since)
        self._connection.execute(
            postgresql.insert(table)
            .values(values)
            .on_conflict_do_update(index_elements=["tenant_id", "athlete_id"], set_={"stale_from": earliest})
        )

    def refolded_before(self, athlete_id: UUID, since: datetime, packing: Packing) -> None:
        """Say that checkpoints of sessions before an instant are right again, and the state itself is not."""
        empty = KeptFold(0, 0, None, None, packing, b"", None)
        values = {**self._values(empty), "open_start": None, "open_key": None, "stale_from": since}
        self._upsert(capability_states, athlete_id, values, ["tenant_id", "athlete_id"])

    def forget(self, athlete_id: UUID) -> None:
        """Drop the athlete's state and checkpoints."""
        for table in (capability_checkpoints, capability_states):
            self._connection.execute(delete(table).where(self._of(table, athlete_id)))

    def outdated(self, packing: Packing, after: UUID | None, limit: int) -> list[UUID]:
        """Return the next athletes with sets whose state is stale, missing, or made by another packing, by id."""
        table = capability_states
        joined = athletes.outerjoin(
            table, and_(table.c.tenant_id == athletes.c.tenant_id, table.c.athlete_id == athletes.c.id)
        )
        unfolded = and_(table.c.athlete_id.is_(None), self._has_sets())
        other = or_(
            unfolded,
            table.c.stale_from.is_not(None),
            table.c.model_version != packing.model_version,
            table.c.layout != packing.layout,
        )
        query = (
            select(athletes.c.id)
            .select_from(joined)
            .where(athletes.c.tenant_id == self._caller.tenant_id, athletes.c.deleted_at.is_(None), other)
        )
        return self._page(query, athletes.c.id, after, limit)

    def _has_sets(self) -> ColumnElement[bool]:
        return (
            select(sets.c.id)
            .where(
                sets.c.tenant_id == self._caller.tenant_id,
                sets.c.athlete_id == athletes.c.id,
                sets.c.deleted_at.is_(None),
            )
            .correlate(athletes)
            .exists()
        )

    def folded(self, after: UUID | None, limit: int) -> list[UUID]:
        """Return the next athletes who have a state, by id."""
        table = capability_states
        query = select(table.c.athlete_id).where(table.c.tenant_id == self._caller.tenant_id)
        return self._page(query, table.c.athlete_id, after, limit)

    def defer_refold(self, athlete_id: UUID | None) -> None:
        """Ask for a job that folds an athlete anew, or with None all of the tenant's; one that waits is enough."""
        self._connection.execute(_DEFER, {"athlete_id": athlete_id})

    def _page(
        self, query: Select[UUID], by: ColumnElement[UUID], after: UUID | None, limit: int
    ) -> list[UUID]:
        if after is not None:
            query = query.where(by > after)
        return list(self._connection.execute(query.order_by(by).limit(limit)).scalars())

    def _usable(
        self,
        table: Table,
        packing: Packing,
        before: datetime | None,
        through: datetime | None,
        fewer_than: int | None,
    ) -> list[ColumnElement[bool]]:
        made: list[ColumnElement[bool]] = [
            table.c.state.is_not(None),
            table.c.model_version == packing.model_version,
            table.c.layout == packing.layout,
        ]
        if before is not None:
            made.append(table.c.folded_start < before)
        if through is not None:
            made.append(table.c.folded_through <= through)
        if fewer_than is not None:
            made.append(table.c.session_count < fewer_than)
        return made

    def _of(self, table: Table, athlete_id: UUID) -> ColumnElement[bool]:
        return and_(table.c.tenant_id == self._caller.tenant_id, table.c.athlete_id == athlete_id)

    def _keys(self, athlete_id: UUID) -> dict[str, Any]:
        return {"tenant_id": self._caller.tenant_id, "athlete_id": athlete_id}

    def _values(self, fold: KeptFold) -> dict[str, Any]:
        start, key = fold.last if fold.last is not None else (None, None)
        return {
            "folded_start": start, "folded_key": key, "folded_through": fold.through,
            "session_count": fold.session_count, "set_count": fold.set_count, "layout": fold.packing.layout,
            "model_version": fold.packing.model_version, "inputs": fold.inputs, "state": fold.state,
        }  # fmt: skip

    def _upsert(self, table: Table, athlete_id: UUID, values: Mapping[str, Any], key: list[str]) -> None:
        statement = postgresql.insert(table).values({**self._keys(athlete_id), **values})
        self._connection.execute(statement.on_conflict_do_update(index_elements=key, set_=dict(values)))
