"""What the hot statements cost: counted in statements, plan nodes and pages, never in time."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from sqlalchemy import Engine, create_engine, func, insert, pool, select, text
from starlette.testclient import TestClient

from service.catalogue import load_catalogue
from service.store.database import Database
from service.store.tables import changes, feed_counters, sets
from service.usecases.api_keys import parse
from service.usecases.exercises import book_of
from service.usecases.folding.refolding import refold
from service.usecases.kinds import SET
from service.usecases.ports import Caller, Page, UnitOfWork
from tests.store.furnished import SET_BODY
from tests.store.statements import Sent, listening
from tests.world import ALL_SCOPES, World

NOW = datetime(2026, 11, 23, 18, 0, tzinfo=UTC)
SHORT, LONG = 100, 5000


@dataclass(frozen=True, slots=True)
class Histories:
    """A tenant with athletes of short and long history, whose last weeks are equally full."""

    caller: Caller
    client: TestClient
    athletes: dict[int, UUID]
    set_ids: dict[int, UUID]


@pytest.fixture(scope="module")
def histories(shared_world: World) -> Histories:
    made, *_ = [tenant_with_histories(shared_world) for _ in range(3)]
    engine = create_engine(shared_world.url, poolclass=pool.NullPool)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as owner:
        owner.execute(text("ANALYZE"))
    return made


def tenant_with_histories(world: World) -> Histories:
    client = world.signed_in()
    parsed = parse(client.headers["authorization"].removeprefix("Bearer "))
    assert parsed is not None
    athletes = {count: uuid4() for count in (SHORT, LONG, 50, 51, 52)}
    for athlete_id in athletes.values():
        client.put(f"/v1/athletes/{athlete_id}", json={"time_zone": "Europe/Riga"})
    ids = {}
    engine = create_engine(world.url, poolclass=pool.NullPool)
    with engine.begin() as owner:
        owner.execute(select(func.set_config("steelyard.tenant_id", str(parsed.tenant_id), True)))
        for count, athlete_id in athletes.items():
            rows = [row(parsed.tenant_id, athlete_id, number) for number in range(count)]
            owner.execute(insert(sets), rows)
            ids[count] = rows[0]["id"]
        owner.execute(insert(changes), [change(parsed.tenant_id, position) for position in range(100, 5100)])
        owner.execute(feed_counters.update().values(position=5099))
    caller = Caller(parsed.tenant_id, parsed.key_id, frozenset(ALL_SCOPES))
    return Histories(caller, client, athletes, ids)


def row(tenant_id: UUID, athlete_id: UUID, number: int) -> dict[str, Any]:
    """Return a set of ten a day, the first one the newest."""
    at = NOW - timedelta(days=number // 10, minutes=number % 10)
    return {
        "tenant_id": tenant_id, "athlete_id": athlete_id, "performed_at": at, "id": uuid4(), "received_at": at,
        "updated_at": at, "version": 1, "ordinal": number % 10, "utc_offset_min": 0, "stage": 0, "reps": 6,
        "exercise_id": "bench-press", "side": "both", "load_value": 80.0, "load_unit": "kg", "load_kg": 80.0,
        "purpose": "unknown", "fingerprint": b"invented",
    }  # fmt: skip


def change(tenant_id: UUID, position: int) -> dict[str, Any]:
    return {
        "tenant_id": tenant_id, "position": position, "kind": "set", "id": uuid4(), "athlete_id": uuid4(),
        "op": "put", "etag": '"1"', "at": NOW,
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Plan:
    """What the planner chose, and the pages that it touched."""

    nodes: list[dict[str, Any]]
    pages: int

    @property
    def relations(self) -> set[str]:
        return {node["Relation Name"] for node in self.nodes if "Relation Name" in node}

    @property
    def indexes(self) -> set[str]:
        return {node["Index Name"] for node in self.nodes if "Index Name" in node}

    @property
    def kinds(self) -> set[str]:
        return {node["Node Type"] for node in self.nodes}


def nodes_of(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for inner in node.get("Plans", ()):
        yield from nodes_of(inner)


Read = Callable[[UnitOfWork], Any]


@pytest.fixture
def explain(shared_world: World, histories: Histories) -> Callable[[Read, str], Plan]:
    """Explain the last statement on a table that a read sends, run as the runtime role under the policies."""
    store = shared_world.app.state.services.store
    database: Database = store.database

    def explained(read: Read, table: str) -> Plan:
        with listening(database.engine) as sent, store.read(histories.caller) as work:
            read(work)
        statement = [one for one in sent if f"FROM {table}" in one.text][-1]
        return plan_of(database, histories.caller.tenant_id, statement)

    return explained


def plan_of(database: Database, tenant_id: UUID, statement: Sent) -> Plan:
    question = f"EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) {statement.text}"
    with database.transaction(tenant_id, read_only=True) as connection:
        # What the embedded server is set to; a server of one's own on solid disks should be too.
        connection.execute(text("SELECT set_config('random_page_cost', '1.1', true)"))
        for _ in range(2):  # The second time, nothing is read from disk and no hint bit is left to set.
            answer = connection.exec_driver_sql(question, statement.parameters).scalar_one()
    whole = answer if isinstance(answer, list) else json.loads(answer)
    top = whole[0]["Plan"]
    pages = top["Shared Hit Blocks"] + top["Shared Read Blocks"]
    return Plan(list(nodes_of(top)), pages)


def week_of(histories: Histories, count: int) -> Read:
    return lambda work: work.log.sets_between(histories.athletes[count], NOW - timedelta(days=7), NOW)


def test_a_week_of_one_athlete_is_read_from_one_partition_by_its_key(
    explain: Callable[[Read, str], Plan], histories: Histories
) -> None:
    plan = explain(week_of(histories, LONG), "sets")
    partitions = {name for name in plan.relations if name.startswith("sets")}
    assert len(partitions) == 1
    assert partitions != {"sets"}
    assert f"{partitions.pop()}_pkey" in plan.indexes
    scan = next(node for node in plan.nodes if node.get("Relation Name", "").startswith("sets"))
    assert scan["Actual Rows"] == 70
    assert scan.get("Rows Removed by Filter", 0) == 0
    assert plan.pages < 110


def test_a_week_costs_the_same_whatever_the_length_of_the_history(
    explain: Callable[[Read, str], Plan], histories: Histories
) -> None:
    short, long = (explain(week_of(histories, count), "sets").pages for count in (SHORT, LONG))
    assert 0.5 < long / short < 1.5, (short, long)


@pytest.mark.parametrize("start", [0, 2500])
def test_a_page_of_sets_is_read_in_key_order_without_a_sort(
    explain: Callable[[Read, str], Plan], histories: Histories, start: int
) -> None:
    after = (NOW - timedelta(days=(LONG - start) // 10), UUID(int=0))
    page = Page({"from": NOW - timedelta(days=1000)}, 100, after)
    plan = explain(lambda work: work.resources.page(SET, histories.athletes[LONG], page), "sets")
    assert {name for name in plan.indexes if name.endswith("_pkey")}
    assert not {kind for kind in plan.kinds if "Sort" in kind or kind == "Seq Scan"}
    assert plan.pages < 130, plan.pages


def test_one_set_is_found_by_its_id_in_one_partition(
    explain: Callable[[Read, str], Plan], histories: Histories
) -> None:
    one = histories.set_ids[LONG]
    plan = explain(lambda work: work.resources.get(SET, one, histories.athletes[LONG]), "sets")
    assert len(plan.relations) == 1
    assert all("athlete_id_id" in name for name in plan.indexes)
    assert plan.pages <= 6, plan.pages


def test_the_feed_is_read_from_its_position_on(
    explain: Callable[[Read, str], Plan], histories: Histories
) -> None:
    plan = explain(lambda work: work.feed.after(5000, 50, None), "changes")
    assert plan.indexes == {"changes_pk"}
    assert not {kind for kind in plan.kinds if "Sort" in kind or kind == "Seq Scan"}
    assert plan.pages <= 12, plan.pages


def sent_by(world: World, deed: Callable[[], Any]) -> int:
    """Return how many statements a request sends, the two that open each transaction included."""
    engine: Engine = world.app.state.services.store.database.engine
    with listening(engine) as sent:
        answer = deed()
    assert answer.status_code < 300, answer.text
    return len(sent)


#: Of the day of the newest sets; and of the day after it.
TODAY = {**SET_BODY, "performed_at": "2026-11-23T16:20:00Z"}
TOMORROW = {**SET_BODY, "performed_at": "2026-11-24T16:20:00Z"}


@pytest.fixture(scope="module")
def folded(shared_world: World, histories: Histories) -> Histories:
    """Both histories with a state that a refold made, in parts."""
    store = shared_world.app.state.services.store
    for length in (SHORT, LONG):
        done = False
        while not done:
            with store.write(histories.caller) as work:
                done = refold(work, book_of(work, load_catalogue()), histories.athletes[length], part=1000)
    return histories


def test_a_request_sends_a_fixed_number_of_statements(shared_world: World, folded: Histories) -> None:
    """Two to authenticate, one to open, then the request's own; the same with 100 sets behind it and with 5,000."""
    client = folded.client
    counts = {}
    for length in (SHORT, LONG):
        athlete = f"/v1/athletes/{folded.athletes[length]}"
        where, next_day = (f"{athlete}/sets/{uuid4()}" for _ in range(2))
        counts[length] = {
            "put": sent_by(shared_world, lambda where=where: client.put(where, json=TODAY)),
            "put again": sent_by(shared_world, lambda where=where: client.put(where, json=TODAY)),
            "get": sent_by(shared_world, lambda where=where: client.get(where)),
            "delete": sent_by(shared_world, lambda where=where: client.delete(where)),
            "list": sent_by(shared_world, lambda athlete=athlete: client.get(f"{athlete}/sets")),
            "first of a new day": sent_by(
                shared_world, lambda next_day=next_day: client.put(next_day, json=TOMORROW)
            ),
        }
    assert counts[SHORT] == counts[LONG]
    # put: authenticate 2, open 1, lock the athlete, look, insert, ask how far the state reaches, raise the counter, feed.
    # delete: one more, to see whether the newest session is still there. A new day: athlete, screenings, state, sets,
    # measurements; then checkpoints added and dropped, and the state.
    expected = {"put": 9, "put again": 6, "get": 5, "delete": 10, "list": 5, "first of a new day": 17}
    assert counts[LONG] == expected


def test_a_hundred_sets_cost_as_many_statements_as_one(shared_world: World, folded: Histories) -> None:
    path = f"/v1/athletes/{folded.athletes[SHORT]}/sets"

    def batch(size: int) -> int:
        rows = [{"id": str(uuid4()), **TOMORROW} for _ in range(size)]
        return sent_by(shared_world, lambda: folded.client.post(path, json={"sets": rows}))

    batch(1)  # whatever came before, this session is the newest now
    assert batch(1) == batch(100) == 9
