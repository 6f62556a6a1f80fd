"""The change feed under writers that overlap, pause and give up: nothing lost, nothing twice, in the order of commits."""

import random
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from threading import Event
from typing import Any
from uuid import UUID, uuid4

import pytest
from sqlalchemy import create_engine, func, insert, pool, select, text, update
from starlette.testclient import TestClient

from service.store.database import Database
from service.store.feed import Feed
from service.store.tables import changes as changes_table
from service.store.tables import feed_counters
from service.store.unit_of_work import PostgresStore
from service.usecases.changes import list_changes
from service.usecases.documents import fingerprint
from service.usecases.kinds import ATHLETE, SET, SITE
from service.usecases.ports import Caller, FeedState, Reach
from service.usecases.records.log import LoggedSet
from service.usecases.records.people import Athlete
from service.usecases.records.places import Site
from tests.store.furnished import SET_BODY, furnish
from tests.world import ALL_SCOPES, SetClock, World

WRITERS = 12
SECONDS = 2.5
PLACE = Site(name="invented", time_zone="Europe/Riga")


class GaveUp(Exception):
    """A writer that rolls back."""


@dataclass
class Journal:
    """What was committed and what a poller saw, in its order."""

    written: list[UUID] = field(default_factory=list)
    polled: list[tuple[int, UUID]] = field(default_factory=list)

    @property
    def lost(self) -> int:
        return len(set(self.written) - {id for _, id in self.polled})

    @property
    def positions(self) -> list[int]:
        return [position for position, _ in self.polled]


@pytest.fixture
def store(shared_world: World) -> Iterator[PostgresStore]:
    """A store wide enough for every writer and the pollers."""
    made = PostgresStore(Database(shared_world.url, pool_size=2 * WRITERS + 4), SetClock())
    yield made
    made.close()


def caller_of(world: World) -> Caller:
    return Caller(world.tenant(), uuid4(), frozenset(ALL_SCOPES))


def write_on(
    store: PostgresStore, caller: Caller, seed: int, until: float, *, feed_early: bool
) -> list[UUID]:
    """Write sites in transactions of different lengths, a fifth of which are rolled back; return what was kept."""
    chance, kept = random.Random(seed), []
    while time.monotonic() < until:
        ids = [uuid4() for _ in range(chance.choice([1, 1, 1, 3]))]
        try:
            with store.write(caller) as work:
                for id in ids:
                    work.note_change(
                        SITE, work.resources.insert(SITE, id, None, PLACE, fingerprint(PLACE)), "put"
                    )
                if feed_early:
                    work.position()
                time.sleep(chance.choice([0, 0, 0.001, 0.02]))
                if chance.random() < 0.2:
                    raise GaveUp
            kept += ids
        except GaveUp:
            pass
        time.sleep(chance.choice([0, 0.001]))
    return kept


def poll(store: PostgresStore, caller: Caller, writing: Event) -> list[tuple[int, UUID]]:
    """Follow the feed without a pause until the writers are done and nothing is left."""
    seen: list[tuple[int, UUID]] = []
    cursor = None
    last_round = False
    while True:
        with store.read(caller) as work:
            found = list_changes(work, cursor, 50, None)
        seen += [(item.position, item.id) for item in found.items]
        cursor = found.next_cursor
        if last_round and not found.has_more:
            return seen
        last_round = not writing.is_set()


def run(store: PostgresStore, caller: Caller, *, feed_early: bool = False) -> Journal:
    writing, until = Event(), time.monotonic() + SECONDS
    writing.set()
    with ThreadPoolExecutor(WRITERS + 1) as threads:
        poller = threads.submit(poll, store, caller, writing)
        writers = [
            threads.submit(write_on, store, caller, seed, until, feed_early=feed_early)
            for seed in range(WRITERS)
        ]
        wait(writers)
        writing.clear()
        return Journal([id for writer in writers for id in writer.result()], poller.result())


def test_a_poller_sees_every_commit_once_and_in_order(shared_world: World, store: PostgresStore) -> None:
    one, other = caller_of(shared_world), caller_of(shared_world)
    with ThreadPoolExecutor(2) as threads:
        journals = list(threads.map(lambda caller: run(store, caller), (one, other)))
    for journal in journals:
        assert len(journal.written) > 200
        assert journal.lost == 0
        assert sorted(id for _, id in journal.polled) == sorted(journal.written)
        # Each tenant counts for itself, and a rolled back transaction leaves no hole.
        assert journal.positions == list(range(1, len(journal.written) + 1))


class SequenceFeed(Feed):
    """The feed that many services have: positions from a sequence, taken when the change is made."""

    def append(self, noted: Any, now: Any) -> int:
        position = 0
        for change in noted:
            position = self._connection.execute(select(func.nextval("feed_sequence"))).scalar_one()
            self._connection.execute(insert(changes_table).values(self._row(position, change, now)))
        return position

    def state(self) -> FeedState:
        newest = select(func.coalesce(func.max(changes_table.c.position), 0)).where(
            changes_table.c.tenant_id == self._caller.tenant_id
        )
        return FeedState(UUID(int=0), self._connection.execute(newest).scalar_one(), 0)


def test_the_poller_would_notice_a_feed_that_loses_changes(
    shared_world: World, store: PostgresStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    owner = create_engine(shared_world.url, poolclass=pool.NullPool)
    with owner.begin() as connection:
        connection.execute(text("CREATE SEQUENCE feed_sequence"))
        connection.execute(text("GRANT USAGE ON SEQUENCE feed_sequence TO steelyard_runtime"))
    monkeypatch.setattr(Feed, "append", SequenceFeed.append)
    monkeypatch.setattr(Feed, "state", SequenceFeed.state)
    journal = run(store, caller_of(shared_world), feed_early=True)
    assert journal.lost > 0


def tenant_of(world: World) -> tuple[UUID, TestClient]:
    tenant = world.tenant()
    client = world.client(world.key(tenant))
    for _ in range(5):
        assert client.put(f"/v1/athletes/{uuid4()}", json={"time_zone": "Europe/Riga"}).status_code == 201
    return tenant, client


def as_owner(world: World, tenant: UUID, **values: Any) -> None:
    """Change the tenant's counter, as a restore and the pruning do."""
    engine = create_engine(world.url, poolclass=pool.NullPool)
    with engine.begin() as connection:
        connection.execute(select(func.set_config("steelyard.tenant_id", str(tenant), True)))
        changed = update(feed_counters).where(feed_counters.c.tenant_id == tenant).values(**values)
        assert connection.execute(changed).rowcount == 1


def cursor_at(client: TestClient, size: int) -> str:
    cursor: str = client.get("/v1/changes", params={"page_size": size}).json()["next_cursor"]
    return cursor


def followed(client: TestClient, cursor: str) -> tuple[int, str | None]:
    answer = client.get("/v1/changes", params={"cursor": cursor})
    return answer.status_code, answer.json().get("code")


def test_after_a_restore_every_old_cursor_has_expired(shared_world: World) -> None:
    tenant, client = tenant_of(shared_world)
    cursors = [cursor_at(client, 2), cursor_at(client, 100)]
    assert [followed(client, cursor) for cursor in cursors] == [(200, None)] * 2
    as_owner(shared_world, tenant, epoch=uuid4())
    assert [followed(client, cursor) for cursor in cursors] == [(410, "cursor_expired")] * 2
    assert len(client.get("/v1/changes").json()["items"]) == 5


def test_a_restore_to_an_earlier_position_is_noticed_even_within_one_epoch(shared_world: World) -> None:
    tenant, client = tenant_of(shared_world)
    ahead = cursor_at(client, 100)
    as_owner(shared_world, tenant, position=3)
    assert followed(client, ahead) == (410, "cursor_expired")


def test_below_what_is_kept_a_cursor_has_expired_and_a_new_reader_starts_at_the_floor(
    shared_world: World,
) -> None:
    tenant, client = tenant_of(shared_world)
    before, at, above = (cursor_at(client, size) for size in (2, 3, 4))
    as_owner(shared_world, tenant, floor=3)
    assert followed(client, before) == (410, "cursor_expired")
    assert [followed(client, cursor) for cursor in (at, above)] == [(200, None)] * 2
    items = client.get("/v1/changes").json()["items"]
    assert [item["position"] for item in items] == ["4", "5"]


def test_a_reader_of_few_athletes_sees_only_theirs_and_still_gets_on(shared_world: World) -> None:
    mine = furnish(shared_world)
    others = furnish(shared_world, mine.client)
    reach = Reach(False, group_ids=(UUID(mine.ids["group_id"]),))
    narrow = shared_world.client(shared_world.key(mine.id, reach=reach))
    seen: list[dict[str, Any]] = []
    cursor: str | None = None
    for _ in range(100):
        page = narrow.get(
            "/v1/changes", params={"page_size": 2} | ({"cursor": cursor} if cursor else {})
        ).json()
        seen, cursor = seen + page["items"], page["next_cursor"]
        if not page["has_more"]:
            break
    whole = mine.client.get("/v1/changes", params={"page_size": 1000}).json()
    own = [item for item in whole["items"] if item.get("athlete_id") == mine.ids["athlete_id"]]
    assert [item for item in seen if item["kind"] != "exercise"] == [
        item for item in whole["items"] if item in own or item["id"] == mine.ids["group_id"]
    ]
    assert others.ids["athlete_id"] not in str(seen)
    assert cursor == whole["next_cursor"]


def test_a_position_is_fed_only_when_its_transaction_commits(
    shared_world: World, store: PostgresStore
) -> None:
    caller = caller_of(shared_world)
    record = Athlete(time_zone="Europe/Riga")
    athlete_id = uuid4()
    with store.write(caller) as work:
        work.note_change(
            ATHLETE, work.resources.insert(ATHLETE, athlete_id, None, record, fingerprint(record)), "put"
        )
        assert work.position() == 1
        with store.read(caller) as reader:
            assert list_changes(reader, None, 10, None).items == []
    with pytest.raises(GaveUp):
        feed_and_give_up(store, caller, athlete_id)
    with store.read(caller) as reader:
        assert [item.id for item in list_changes(reader, None, 10, None).items] == [athlete_id]
        assert reader.feed.state().position == 1


def feed_and_give_up(store: PostgresStore, caller: Caller, athlete_id: UUID) -> None:
    with store.write(caller) as work:
        body = LoggedSet(exercise_id="bench-press", performed_at=work.now, reps=6)
        work.note_change(SET, work.resources.insert(SET, uuid4(), athlete_id, body, fingerprint(body)), "put")
        assert work.position() == 2
        raise GaveUp


Call = Callable[[], Any]


def test_what_changes_nothing_is_not_fed(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    where, gone = f"{athlete}/sets/{uuid4()}", f"{athlete}/sets/{uuid4()}"
    patch = {"Content-Type": "application/merge-patch+json"}
    deeds: list[tuple[Call, int]] = [
        (lambda: client.put(where, json=SET_BODY), 2),
        (lambda: client.put(where, json=SET_BODY), 2),
        (lambda: client.put(where, json={**SET_BODY, "reps": 9}), 2),
        (lambda: client.patch(where, content='{"reps": 6}', headers=patch), 2),
        (lambda: client.post(f"{athlete}/sets", json={"sets": [{"id": where[-36:], **SET_BODY}]}), 2),
        (lambda: client.patch(where, content='{"reps": 7}', headers=patch), 3),
        (lambda: client.delete(gone), 4),
        (lambda: client.delete(gone), 4),
    ]
    for deed, position in deeds:
        deed()
        assert len(client.get("/v1/changes").json()["items"]) == position
