"""What the store keeps of a fold, and the log's rows as a fold reads them."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from service.usecases.records.log import BodyMass, LoggedSet, TestedMaximum

#: Where a session stands in the canonical order: when it began, and what names it among those that began then.
SessionKey = tuple[datetime, str]


@dataclass(frozen=True, slots=True)
class Packing:
    """What a packed state was made by: bytes of another model version or layout are never decoded."""

    model_version: str
    layout: int


@dataclass(frozen=True, slots=True)
class KeptFold:
    """A packed state of the first ``session_count`` sessions in canonical order.

    ``last`` is the newest session folded, ``through`` the latest instant at which any of their sets was performed, both
    None before the first; ``inputs`` is the print of everything beside the log that the fold depends on.
    """

    session_count: int
    set_count: int
    last: SessionKey | None
    through: datetime | None
    packing: Packing
    inputs: bytes
    state: bytes | None


@dataclass(frozen=True, slots=True)
class FoldStanding:
    """How far an athlete's state reaches, without its bytes.

    ``open`` is the newest session, which is not folded yet; from ``stale_from`` on a job has to fold anew.
    """

    last: SessionKey | None
    open: SessionKey | None
    stale_from: datetime | None
    packing: Packing


@dataclass(frozen=True, slots=True)
class LogRow:
    """A living set with the start and site of its session, None where that has not arrived."""

    id: UUID
    record: LoggedSet
    session_started_at: datetime | None
    session_site_id: UUID | None


@dataclass(frozen=True, slots=True)
class ToldMeasurement:
    """A body mass or a tested maximum."""

    id: UUID
    record: BodyMass | TestedMaximum


@dataclass(slots=True)
class Touched:
    """What a transaction has written of one athlete that a fold depends on, told as it is written.

    ``sets`` pairs each set's record with whether it is gone (deleted, or the body before a change), ``tests`` each
    tested maximum's place likewise. ``starts`` are the starts that a session had or has, ``masses`` the instants from
    which body masses told otherwise. ``whole`` asks for a fold of the whole log, ``gone`` that it be forgotten.
    """

    sets: list[tuple[LoggedSet, bool]] = field(default_factory=list)
    starts: dict[UUID, list[datetime]] = field(default_factory=dict)
    tests: list[tuple[SessionKey, bool]] = field(default_factory=list)
    masses: list[datetime] = field(default_factory=list)
    whole: bool = False
    gone: bool = False
