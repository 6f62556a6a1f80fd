"""What the use cases need from the store, as Protocols that the store fulfils."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal, Protocol
from uuid import UUID

from service.usecases.fold_rows import (
    FoldStanding,
    KeptFold,
    LogRow,
    Packing,
    SessionKey,
    ToldMeasurement,
    Touched,
)
from service.usecases.kinds import Kind
from service.usecases.records.people import Consent, Screening

Operation = Literal["put", "delete"]
#: What a line of the feed says: a resource was put or deleted, or an athlete's answers were computed anew.
FedOperation = Literal["put", "delete", "recomputed"]


@dataclass(frozen=True, slots=True)
class Reach:
    """Whom a caller may see: everyone, or the athletes of these groups and sites and these athletes."""

    everyone: bool = True
    group_ids: tuple[UUID, ...] = ()
    site_ids: tuple[UUID, ...] = ()
    athlete_ids: tuple[UUID, ...] = ()


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks: the tenant, the key, what it may do and whom it may reach."""

    tenant_id: UUID
    key_id: UUID
    scopes: frozenset[str]
    reach: Reach = field(default_factory=Reach)


@dataclass(frozen=True, slots=True)
class Stored:
    """A record as the store holds it; ``record`` is None for a tombstone."""

    id: UUID
    athlete_id: UUID | None
    version: int
    fingerprint: bytes | None
    record: Any
    received_at: datetime
    updated_at: datetime
    deleted_at: datetime | None = None

    @property
    def etag(self) -> str:
        """The strong entity tag, quoted as HTTP wants it."""
        return f'"{self.version}"'


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the feed."""

    position: int
    kind: str
    id: UUID
    athlete_id: UUID | None
    op: FedOperation
    etag: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Noted:
    """A change that a transaction feeds when it ends."""

    kind: str
    id: UUID
    athlete_id: UUID | None
    op: FedOperation
    etag: str


@dataclass(frozen=True, slots=True)
class FeedState:
    """Where the tenant's feed stands: its epoch, newest position, and the position below which it was pruned."""

    epoch: UUID
    position: int
    floor: int


@dataclass(frozen=True, slots=True)
class Page:
    """What to list: filters by column, how many, and the last key of the page before."""

    filters: Mapping[str, Any] = field(default_factory=dict)
    limit: int = 100
    after: tuple[Any, ...] | None = None


class TakenMeanwhile(Exception):
    """Between a look that found nothing under an id and the insert, another transaction filled it."""


class ResourceStore(Protocol):
    """Reads and writes of every kind, tombstones included; all bound to the caller's tenant and reach.

    ``lock`` is ``get`` for what lies under no athlete, held until the transaction ends. ``insert``, and ``bury`` of what
    was never seen, raise ``TakenMeanwhile``.
    """

    def note_clock_offset(self, seconds: int | None) -> None: ...
    def get(self, kind: Kind, id: UUID, athlete_id: UUID | None = None) -> Stored | None: ...
    def lock(self, kind: Kind, id: UUID) -> Stored | None: ...
    def get_many(
        self, kind: Kind, ids: Sequence[UUID], athlete_id: UUID | None = None
    ) -> dict[UUID, Stored]: ...
    def insert(
        self, kind: Kind, id: UUID, athlete_id: UUID | None, record: Any, fingerprint: bytes
    ) -> Stored: ...
    def insert_many(
        self, kind: Kind, athlete_id: UUID, rows: Sequence[tuple[UUID, Any, bytes]]
    ) -> list[Stored]: ...
    def replace(self, kind: Kind, stored: Stored, record: Any, fingerprint: bytes) -> Stored: ...
    def bury(self, kind: Kind, id: UUID, athlete_id: UUID | None, stored: Stored | None) -> Stored: ...
    def page(
        self, kind: Kind, athlete_id: UUID | None, page: Page
    ) -> list[tuple[Stored, tuple[Any, ...]]]: ...
    def all_of(self, kind: Kind, athlete_id: UUID | None) -> list[Stored]: ...


class LogStore(Protocol):
    """The athlete's log, read in the canonical order of the fold."""

    def sets_between(
        self,
        athlete_id: UUID,
        after: datetime,
        until: datetime,
        exercise_id: str | None = None,
        newest: int | None = None,
    ) -> list[Stored]: ...
    def sessions_of(self, athlete_id: UUID, session_ids: Collection[UUID]) -> list[Stored]: ...
    def sessions_between(self, athlete_id: UUID, after: datetime, until: datetime) -> list[Stored]: ...
    def checkins_between(self, athlete_id: UUID, after: datetime, until: datetime) -> list[Stored]: ...
    def measurements_between(
        self, athlete_id: UUID, after: datetime, until: datetime, kind: str | None = None
    ) -> list[Stored]: ...
    def session_set_ids(self, athlete_id: UUID, session_id: UUID) -> list[UUID]: ...
    def rows_to_fold(
        self,
        athlete_id: UUID,
        since: datetime | None,
        until: datetime | None = None,
        limit: int | None = None,
    ) -> list[LogRow]: ...
    def told_to_fold(
        self, athlete_id: UUID, since: datetime | None, until: datetime | None = None
    ) -> list[ToldMeasurement]: ...
    def session_starts(self, athlete_id: UUID, session_ids: Collection[UUID]) -> dict[UUID, datetime]: ...
    def first_with_bars(self, site_id: UUID, bars: Collection[str]) -> dict[UUID, datetime]: ...


class StateStore(Protocol):
    """Packed states, their checkpoints, and the jobs that fold anew; writes need the athlete's lock."""

    def standing(self, athlete_id: UUID) -> FoldStanding | None: ...
    def newest(
        self,
        athlete_id: UUID,
        packing: Packing,
        *,
        before: datetime | None = None,
        through: datetime | None = None,
        fewer_than: int | None = None,
    ) -> KeptFold | None: ...
    def keep(self, athlete_id: UUID, fold: KeptFold, open_session: SessionKey | None) -> None: ...
    def add_checkpoints(self, athlete_id: UUID, folds: Iterable[KeptFold]) -> None: ...
    def drop_checkpoints(self, athlete_id: UUID, *, keep: Iterable[int]) -> None: ...
    def mark_stale(self, athlete_id: UUID, since: datetime, packing: Packing) -> None: ...
    def refolded_before(self, athlete_id: UUID, since: datetime, packing: Packing) -> None: ...
    def forget(self, athlete_id: UUID) -> None: ...
    def outdated(self, packing: Packing, after: UUID | None, limit: int) -> list[UUID]: ...
    def folded(self, after: UUID | None, limit: int) -> list[UUID]: ...
    def defer_refold(self, athlete_id: UUID | None) -> None: ...


class PersonStore(Protocol):
    """Athletes in reach, their consents and screenings."""

    def athlete(self, athlete_id: UUID) -> Stored | None: ...
    def lock(self, athlete_id: UUID) -> Stored | None: ...
    def held(self, athlete_id: UUID) -> Stored | None: ...
    def in_reach(self, athlete_ids: Sequence[UUID]) -> set[UUID]: ...
    def group_in_reach(self, group_id: UUID) -> bool: ...
    def site_in_reach(self, site_id: UUID) -> bool: ...
    def roster(self, group_id: UUID | None, after: UUID | None, limit: int) -> list[Stored]: ...
    def add_consent(self, athlete_id: UUID, id: UUID, consent: Consent) -> None: ...
    def consents(self, athlete_id: UUID, until: datetime | None = None) -> list[tuple[UUID, Consent]]: ...
    def add_screening(self, athlete_id: UUID, id: UUID, screening: Screening) -> None: ...
    def screenings(self, athlete_id: UUID, until: datetime | None = None) -> list[tuple[UUID, Screening]]: ...


@dataclass(frozen=True, slots=True)
class KeyRow:
    """An API key without its secret."""

    id: UUID
    name: str
    scopes: tuple[str, ...]
    reach: Reach
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None


class KeyStore(Protocol):
    """API keys of the tenant, and the results of keyed requests."""

    def add(self, row: KeyRow, secret_hash: bytes) -> None: ...
    def every(self) -> list[KeyRow]: ...
    def get(self, key_id: UUID) -> KeyRow | None: ...
    def revoke(self, key_id: UUID) -> None: ...
    def claim(self, key: str) -> None: ...
    def stored_result(self, key: str) -> tuple[bytes, dict[str, Any] | None] | None: ...
    def keep_result(self, key: str, fingerprint: bytes, result: dict[str, Any]) -> None: ...


class FeedStore(Protocol):
    """The tenant's change feed."""

    def state(self) -> FeedState: ...
    def after(self, position: int, limit: int, athlete_id: UUID | None) -> list[Change]: ...


class UnitOfWork(Protocol):
    """One transaction. Leaving it without an exception commits; changes noted in it are fed last."""

    @property
    def now(self) -> datetime: ...
    @property
    def caller(self) -> Caller: ...
    @property
    def touched(self) -> dict[UUID, Touched]: ...
    @property
    def resources(self) -> ResourceStore: ...
    @property
    def log(self) -> LogStore: ...
    @property
    def states(self) -> StateStore: ...
    @property
    def people(self) -> PersonStore: ...
    @property
    def keys(self) -> KeyStore: ...
    @property
    def feed(self) -> FeedStore: ...
    def note_change(self, kind: Kind, stored: Stored, op: Operation) -> None: ...
    def note_recomputed(self, athlete_id: UUID, model_version: str) -> None: ...
    def position(self) -> int: ...


class Store(Protocol):
    """Where everything is kept."""

    def write(self, caller: Caller) -> AbstractContextManager[UnitOfWork]: ...
    def read(self, caller: Caller) -> AbstractContextManager[UnitOfWork]: ...
    def authenticate(self, tenant_id: UUID, key_id: UUID, secret_hash: bytes) -> Caller | None: ...
    def readiness(self) -> Mapping[str, bool]: ...
    def close(self) -> None: ...


class Clock(Protocol):
    """The time, handed down so that a test can set it."""

    def __call__(self) -> datetime: ...


RowStream = Iterator[dict[str, Any]]
