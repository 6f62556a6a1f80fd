"""A logged set as a row of the wide table, and back.

What the fold and the filters read has a column of its own; the rest lies in ``details``, which most sets leave empty.
"""

from datetime import datetime, timedelta, timezone
from typing import Any

from service.core.units import mass_to_kg
from service.usecases.documents import from_document, to_document
from service.usecases.records.base import Mass
from service.usecases.records.log import LoggedSet

_PLAIN = (
    "session_id", "ordinal", "exercise_id", "side", "stage", "stage_of", "reps", "reps_in_reserve", "to_failure", "purpose",
)  # fmt: skip
_IN_COLUMNS = frozenset({*_PLAIN, "performed_at", "load"})
#: The columns of a tombstone hold nothing.
EMPTY: dict[str, Any] = dict.fromkeys(
    (*_PLAIN, "utc_offset_min", "clock_offset_s", "load_value", "load_unit", "load_kg", "details")
)


def to_row(record: LoggedSet) -> dict[str, Any]:
    """Return the columns of a set."""
    offset = record.performed_at.utcoffset() or timedelta(0)
    row: dict[str, Any] = {name: getattr(record, name) for name in _PLAIN}
    row["performed_at"] = record.performed_at
    row["utc_offset_min"] = int(offset.total_seconds() // 60)
    row["load_value"] = record.load.value if record.load else None
    row["load_unit"] = record.load.unit if record.load else None
    row["load_kg"] = mass_to_kg(record.load.value, record.load.unit) if record.load else None
    details = {
        name: part for name, part in to_document(record).items() if name not in _IN_COLUMNS and part != []
    }
    row["details"] = details or None
    return row


def performed_at(row: Any) -> datetime:
    """Return the instant with the offset that was entered."""
    zone = timezone(timedelta(minutes=row.utc_offset_min))
    return row.performed_at.astimezone(zone)  # type: ignore[no-any-return]


def to_record(row: Any) -> LoggedSet:
    """Return the set that a row holds."""
    plain: dict[str, Any] = {name: getattr(row, name) for name in _PLAIN}
    plain["performed_at"] = performed_at(row)
    if row.load_value is not None:
        plain["load"] = Mass(value=row.load_value, unit=row.load_unit)
    if not row.details:
        return LoggedSet(**plain)
    document = {**to_document(plain), **row.details}
    return from_document(LoggedSet, document)
