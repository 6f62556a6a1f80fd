"""Sets stored, folded and fed against the bare statements for the same rows; and a refold from database to database."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

from sqlalchemy import bindparam, create_engine, insert, select, text

from service.store.database import Database
from service.store.tables import changes, feed_counters, sets
from service.store.tenants import create_tenant
from service.store.unit_of_work import PostgresStore
from service.usecases import resources
from service.usecases.batches import create_sets
from service.usecases.exercises import book_of
from service.usecases.folding.refolding import Refolder
from service.usecases.kinds import ATHLETE, SET
from service.usecases.ports import Caller
from service.usecases.records.base import Mass
from service.usecases.records.log import LoggedSet
from service.usecases.records.people import Athlete
from service.usecases.resources import Target
from tests.bench.__main__ import compare, show, show_ratio, spread, timed
from tests.bench.logs import CATALOGUE, SETS_PER_SESSION, rows_of, sets_of

ONE_BY_ONE = 4 * SETS_PER_SESSION
AT_ONCE = 2_000
LONG = 15_000


def run(url: str) -> None:
    """Print what the fold and the rules cost beside the statements that no service can do without."""
    bench = Bench(url)
    one, raw = compare(lambda: bench.put_each(ONE_BY_ONE), lambda: bench.raw_each(ONE_BY_ONE))
    show(
        "a set stored, folded, fed: throughput of raw SQL [share]",
        spread([b / a for a, b in zip(one, raw, strict=True)]),
    )
    show("a set stored, folded, fed [ms each]", spread([1000 * a / ONE_BY_ONE for a in one]))
    many, raw = compare(lambda: bench.create(AT_ONCE), lambda: bench.raw_at_once(AT_ONCE))
    show(
        f"{AT_ONCE:,} sets at once: throughput of raw SQL [share]",
        spread([b / a for a, b in zip(many, raw, strict=True)]),
    )
    athlete_id = bench.with_log(LONG)
    refolder = Refolder(bench.store, CATALOGUE)
    again = [timed(lambda: refolder.athlete(bench.tenant, athlete_id, anew=True)) for _ in range(7)]
    show(f"refold of {LONG:,} sets from database to database [ms]", spread([1000 * each for each in again]))
    reading, _ = compare(lambda: bench.read_rows(athlete_id), lambda: None)
    show_ratio("the same / reading its rows", again, reading)


class Bench:
    """A tenant, whose athletes come and go."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.tenant = uuid4()
        create_tenant(url, self.tenant, "invented tenant", datetime.now(UTC))
        self.store = PostgresStore(Database(url, pool_size=2), lambda: datetime.now(UTC))
        self.caller = Caller(self.tenant, UUID(int=0), frozenset())
        self.engine = create_engine(url)

    def athlete(self) -> UUID:
        """Make an athlete."""
        athlete_id = uuid4()
        with self.store.write(self.caller) as work:
            target = Target(ATHLETE, athlete_id)
            resources.put(work, book_of(work, CATALOGUE), target, Athlete(time_zone="Europe/Riga"), None)
        return athlete_id

    def with_log(self, count: int) -> UUID:
        """Make an athlete with a log that nobody folded."""
        athlete_id = self.athlete()
        rows = list(rows_of(self.tenant, athlete_id, count))
        with self._raw() as connection:
            for first in range(0, count, 5_000):
                connection.execute(insert(sets), rows[first : first + 5_000])
        with self.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as owner:
            owner.execute(text("ANALYZE"))
        return athlete_id

    def put_each(self, count: int) -> None:
        """Put sets one by one, each in a transaction of its own."""
        athlete_id = self.athlete()
        for record in _records(count):
            with self.store.write(self.caller) as work:
                target = Target(SET, uuid4(), athlete_id)
                resources.put(work, book_of(work, CATALOGUE), target, record, None)

    def create(self, count: int) -> None:
        """Create sets at once."""
        athlete_id = self.athlete()
        with self.store.write(self.caller) as work:
            rows = [(uuid4(), record) for record in _records(count)]
            create_sets(work, book_of(work, CATALOGUE), athlete_id, rows)

    def raw_each(self, count: int) -> None:
        """Do what `put_each` cannot do without: lock, insert, raise the counter, feed."""
        athlete_id = self.athlete()
        for row in rows_of(self.tenant, athlete_id, count):
            self._write(athlete_id, [row])

    def raw_at_once(self, count: int) -> None:
        """Do the same for many at once."""
        athlete_id = self.athlete()
        self._write(athlete_id, list(rows_of(self.tenant, athlete_id, count)))

    def read_rows(self, athlete_id: UUID) -> None:
        """Read every row of a log."""
        with self._raw() as connection:
            mine = (sets.c.tenant_id == self.tenant, sets.c.athlete_id == athlete_id)
            connection.execute(select(sets).where(*mine).order_by(sets.c.performed_at, sets.c.id)).all()

    def _write(self, athlete_id: UUID, rows: list[dict[str, Any]]) -> None:
        with self._raw() as connection:
            connection.execute(_LOCK, {"tenant": self.tenant, "athlete": athlete_id})
            connection.execute(insert(sets), rows)
            position = connection.execute(_RAISE, {"tenant": self.tenant, "by": len(rows)}).scalar_one()
            fed = [
                {
                    "tenant_id": self.tenant, "position": position - at, "kind": "set", "id": row["id"],
                    "athlete_id": athlete_id, "op": "put", "etag": '"1"', "at": row["received_at"],
                }
                for at, row in enumerate(rows)
            ]  # fmt: skip
            connection.execute(insert(changes), fed)

    def _raw(self) -> Any:
        return self.store.database.transaction(self.tenant, read_only=False)


_LOCK = text("SELECT id FROM athletes WHERE tenant_id = :tenant AND id = :athlete FOR NO KEY UPDATE")
_RAISE = (
    feed_counters.update()
    .where(feed_counters.c.tenant_id == bindparam("tenant"))
    .values(position=feed_counters.c.position + bindparam("by"))
    .returning(feed_counters.c.position)
)


def _records(count: int) -> list[LoggedSet]:
    return [
        LoggedSet(
            exercise_id=lift, performed_at=at, ordinal=number % SETS_PER_SESSION, load=Mass(value=load, unit="kg"),
            reps=reps, reps_in_reserve=float(reserve),
        )
        for number, (_, at, lift, load, reps, reserve) in enumerate(sets_of(count))
    ]  # fmt: skip
