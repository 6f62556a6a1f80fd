"""Which local day an instant belongs to, and when that day began: the same for the fold and for every answer.

The offset that was entered with a time decides, so that moving to another time zone leaves the past where it was. Only a
time entered in UTC, which names no place, is read in the athlete's present zone.
"""

from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Final
from zoneinfo import ZoneInfo

#: No local day lasts longer: 25 hours where clocks go back, 27 where a zone moved in living memory, and some to spare.
LONGEST_DAY: Final = timedelta(hours=36)


def local_day(instant: datetime, time_zone: str) -> date:
    """Return the local day of an instant: by its entered offset, in the athlete's zone if entered in UTC."""
    if instant.utcoffset():
        return instant.date()
    return instant.astimezone(ZoneInfo(time_zone)).date()


def day_began(instant: datetime, time_zone: str) -> datetime:
    """Return the first instant of an instant's local day."""
    zone = instant.tzinfo if instant.utcoffset() else None
    return first_instant(local_day(instant, time_zone), zone or ZoneInfo(time_zone))


def first_instant(day: date, zone: tzinfo) -> datetime:
    """Return the first instant of a local day; where the clocks skip midnight, that of the change."""
    # fold=0 reads a skipped midnight with the offset before the change, which is the instant of the change.
    local = datetime.combine(day, time(), zone).astimezone(UTC).astimezone(zone)
    # With the offset fixed, or else differences of instants in one zone would pass over a change of its clocks.
    return local.replace(tzinfo=timezone(local.utcoffset() or timedelta(0)))
