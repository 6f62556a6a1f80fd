"""The tenant's change feed: position order is commit order, because the counter is raised last."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, insert, or_, select, update

from service.store.reach import reachable
from service.store.tables import athletes, changes, feed_counters
from service.usecases.ports import Caller, Change, FeedState, Noted


class Feed:
    """One tenant's feed in one transaction."""

    def __init__(self, connection: Connection, caller: Caller) -> None:
        self._connection = connection
        self._caller = caller

    def state(self) -> FeedState:
        """Return where the feed stands."""
        query = select(feed_counters).where(feed_counters.c.tenant_id == self._caller.tenant_id)
        row = self._connection.execute(query).one()
        return FeedState(row.epoch, row.position, row.floor)

    def after(self, position: int, limit: int, athlete_id: UUID | None) -> list[Change]:
        """Return the next changes that the caller may see, oldest first."""
        query = select(changes).where(
            changes.c.tenant_id == self._caller.tenant_id, changes.c.position > position
        )
        if athlete_id is not None:
            query = query.where(changes.c.athlete_id == athlete_id)
        if not self._caller.reach.everyone:
            query = query.where(self._visible())
        rows = self._connection.execute(query.order_by(changes.c.position).limit(limit))
        return [
            Change(row.position, row.kind, row.id, row.athlete_id, row.op, row.etag, row.at) for row in rows
        ]

    def append(self, noted: Sequence[Noted], now: datetime) -> int:
        """Raise the counter and write the noted changes; must be the transaction's last statements.

        The counter row is locked from here to the commit, which makes the order of positions the order of commits.
        Taken earlier it would serialise the tenant's writers for the whole of their work.
        """
        raised = self._connection.execute(
            update(feed_counters)
            .where(feed_counters.c.tenant_id == self._caller.tenant_id)
            .values(position=feed_counters.c.position + len(noted))
            .returning(feed_counters.c.position)
        ).scalar_one()
        first = raised - len(noted) + 1
        rows = [self._row(first + index, change, now) for index, change in enumerate(noted)]
        self._connection.execute(insert(changes), rows)
        return int(raised)

    def _row(self, position: int, change: Noted, now: datetime) -> dict[str, Any]:
        return {
            "tenant_id": self._caller.tenant_id, "position": position, "kind": change.kind, "id": change.id,
            "athlete_id": change.athlete_id, "op": change.op, "etag": change.etag, "at": now,
        }  # fmt: skip

    def _visible(self) -> Any:
        reach = self._caller.reach
        mine = select(athletes.c.id).where(
            athletes.c.tenant_id == self._caller.tenant_id, reachable(reach, self._caller.tenant_id)
        )
        return or_(
            changes.c.athlete_id.in_(mine),
            changes.c.kind == "exercise",
            changes.c.kind.in_(("site", "implements")) & changes.c.id.in_(reach.site_ids),
            (changes.c.kind == "group") & changes.c.id.in_(reach.group_ids),
        )
