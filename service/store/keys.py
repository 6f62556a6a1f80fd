"""API keys of a tenant, and the kept results of requests that carried an Idempotency-Key."""

from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, func, insert, select, update

from service.store.tables import api_keys, keyed_results
from service.usecases.documents import from_document, to_document
from service.usecases.ports import Caller, KeyRow, Reach
from service.usecases.records.base import Record


class ReachBody(Record, frozen=True, kw_only=True):
    """A reach as it is kept."""

    everyone: bool
    group_ids: list[UUID] = []
    site_ids: list[UUID] = []
    athlete_ids: list[UUID] = []


def reach_from(body: dict[str, Any]) -> Reach:
    """Return the reach that a row holds."""
    kept = from_document(ReachBody, body)
    return Reach(kept.everyone, tuple(kept.group_ids), tuple(kept.site_ids), tuple(kept.athlete_ids))


def reach_to(reach: Reach) -> dict[str, Any]:
    """Return the document that keeps a reach."""
    lists = (list(reach.group_ids), list(reach.site_ids), list(reach.athlete_ids))
    return to_document(
        ReachBody(everyone=reach.everyone, group_ids=lists[0], site_ids=lists[1], athlete_ids=lists[2])
    )


def _key_row(row: Row[Any]) -> KeyRow:
    return KeyRow(
        row.id,
        row.name,
        tuple(row.scopes),
        reach_from(row.reach),
        row.created_at,
        row.expires_at,
        row.revoked_at,
    )


class Keys:
    """One tenant's keys in one transaction."""

    def __init__(self, connection: Connection, caller: Caller, now: datetime) -> None:
        self._connection = connection
        self._caller = caller
        self._now = now

    def add(self, row: KeyRow, secret_hash: bytes) -> None:
        """Keep a key; the secret itself is never stored."""
        values = {
            "tenant_id": self._caller.tenant_id, "id": row.id, "name": row.name, "secret_hash": secret_hash,
            "scopes": list(row.scopes), "reach": reach_to(row.reach), "created_at": row.created_at,
            "expires_at": row.expires_at,
        }  # fmt: skip
        self._connection.execute(insert(api_keys).values(values))

    def every(self) -> list[KeyRow]:
        """Return every key that was made, newest last."""
        query = select(api_keys).where(api_keys.c.tenant_id == self._caller.tenant_id)
        return [
            _key_row(row)
            for row in self._connection.execute(query.order_by(api_keys.c.created_at, api_keys.c.id))
        ]

    def get(self, key_id: UUID) -> KeyRow | None:
        """Return one key."""
        query = select(api_keys).where(
            api_keys.c.tenant_id == self._caller.tenant_id, api_keys.c.id == key_id
        )
        row = self._connection.execute(query).first()
        return _key_row(row) if row else None

    def revoke(self, key_id: UUID) -> None:
        """End a key at once; ending it again changes nothing."""
        self._connection.execute(
            update(api_keys)
            .where(api_keys.c.tenant_id == self._caller.tenant_id, api_keys.c.id == key_id)
            .where(api_keys.c.revoked_at.is_(None))
            .values(revoked_at=self._now)
        )

    def claim(self, key: str) -> None:
        """Hold an Idempotency-Key until the transaction ends, so that two requests with one key run one after another."""
        whose = f"{self._caller.tenant_id}:{self._caller.key_id}:{key}"
        self._connection.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(whose, 0))))

    def stored_result(self, key: str) -> tuple[bytes, dict[str, Any] | None] | None:
        """Return the fingerprint and result kept under an Idempotency-Key of this caller."""
        query = select(keyed_results.c.fingerprint, keyed_results.c.result).where(*self._keyed(key))
        row = self._connection.execute(query).first()
        return (bytes(row.fingerprint), row.result) if row else None

    def keep_result(self, key: str, fingerprint: bytes, result: dict[str, Any]) -> None:
        """Keep what a keyed request answered, in the same transaction as what it did."""
        values = {
            "tenant_id": self._caller.tenant_id, "key_id": self._caller.key_id, "key": key,
            "fingerprint": fingerprint, "result": result,
        }  # fmt: skip
        self._connection.execute(insert(keyed_results).values(values))

    def _keyed(self, key: str) -> tuple[Any, ...]:
        return (
            keyed_results.c.tenant_id == self._caller.tenant_id,
            keyed_results.c.key_id == self._caller.key_id,
            keyed_results.c.key == key,
        )
