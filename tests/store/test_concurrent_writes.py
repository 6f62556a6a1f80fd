"""Writers at the same moment: one version of each thing, nothing lost, nothing fed twice, never a 500."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any
from uuid import UUID, uuid4

import pytest
from sqlalchemy import create_engine, text
from starlette.testclient import TestClient

from service.store.database import Deadlines
from service.usecases.api_keys import parse
from service.usecases.ports import Reach
from tests.world import World

ROUNDS = 12
RIGA = {"time_zone": "Europe/Riga"}
SET = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-23T18:20:00+02:00",
    "load": {"value": 82.5, "unit": "kg"},
    "reps": 6,
}
Call = Callable[[], Any]


def at_once(*calls: Call) -> list[Any]:
    """Run calls together, released by one barrier, and return what each answered."""
    barrier = Barrier(len(calls))

    def released(call: Call) -> Any:
        barrier.wait()
        return call()

    with ThreadPoolExecutor(len(calls)) as threads:
        return [future.result() for future in [threads.submit(released, call) for call in calls]]


def statuses(answers: list[Any]) -> list[int]:
    return sorted(answer.status_code for answer in answers)


def fed(client: TestClient, id: str) -> list[dict[str, Any]]:
    items = client.get("/v1/changes", params={"page_size": 1000}).json()["items"]
    return [item for item in items if item["id"] == id]


@pytest.fixture
def client(shared_world: World) -> TestClient:
    return shared_world.signed_in()


@pytest.fixture
def athlete(client: TestClient) -> str:
    path = f"/v1/athletes/{uuid4()}"
    assert client.put(path, json=RIGA).status_code == 201
    return path


CREATED_TWICE = {
    "athlete": ("/v1/athletes/{id}", RIGA),
    "group": ("/v1/groups/{id}", {"name": "invented"}),
    "site": ("/v1/sites/{id}", {"name": "invented", "time_zone": "Europe/Riga"}),
    "set": ("{athlete}/sets/{id}", SET),
    "session": ("{athlete}/sessions/{id}", {"started_at": "2026-11-23T18:00:00+02:00"}),
    "aim": ("{athlete}/aims/{id}", {"kind": "hold"}),
}


@pytest.mark.parametrize("kind", CREATED_TWICE)
def test_two_first_puts_of_one_body_make_one_resource_and_one_change(
    kind: str, client: TestClient, athlete: str
) -> None:
    path, body = CREATED_TWICE[kind]
    for _ in range(ROUNDS):
        id = str(uuid4())
        where = path.format(athlete=athlete, id=id)
        answers = at_once(*[lambda where=where: client.put(where, json=body)] * 2)
        assert statuses(answers) == [200, 201], [answer.text for answer in answers]
        assert {answer.headers["ETag"] for answer in answers} == {'"1"'}
        assert [item["op"] for item in fed(client, id)] == ["put"]


def test_two_first_puts_of_different_bodies_keep_one_and_refuse_the_other(
    client: TestClient, athlete: str
) -> None:
    for _ in range(ROUNDS):
        id = str(uuid4())
        where = f"{athlete}/sets/{id}"
        bodies = [{**SET, "reps": 6}, {**SET, "reps": 7}]
        answers = at_once(*[lambda where=where, body=body: client.put(where, json=body) for body in bodies])
        assert statuses(answers) == [201, 409]
        lost = next(answer for answer in answers if answer.status_code == 409)
        won = next(answer for answer in answers if answer.status_code == 201)
        assert lost.json()["code"] == "different_body"
        assert lost.json()["current"]["reps"] == won.json()["reps"] == client.get(where).json()["reps"]
        assert len(fed(client, id)) == 1


def test_two_devices_that_patch_one_set_are_both_kept(client: TestClient, athlete: str) -> None:
    headers = {"Content-Type": "application/merge-patch+json"}
    for _ in range(ROUNDS):
        where = f"{athlete}/sets/{uuid4()}"
        client.put(where, json=SET)
        patches = ('{"reps": 8}', '{"reps_in_reserve": 1}', '{"ordinal": 4}')
        answers = at_once(
            *[
                lambda where=where, patch=patch: client.patch(where, content=patch, headers=headers)
                for patch in patches
            ]
        )
        assert statuses(answers) == [200, 200, 200]
        kept = client.get(where).json()
        assert (kept["reps"], kept["reps_in_reserve"], kept["ordinal"]) == (8, 1, 4)
        assert sorted(answer.headers["ETag"] for answer in answers) == ['"2"', '"3"', '"4"']


REPLACED_AT_ONCE = {
    "athlete": ("/v1/athletes/{id}", RIGA, "display_name"),
    "group": ("/v1/groups/{id}", {"name": "invented"}, "name"),
    "site": ("/v1/sites/{id}", {"name": "invented", "time_zone": "Europe/Riga"}, "name"),
}


@pytest.mark.parametrize("kind", REPLACED_AT_ONCE)
def test_of_two_changes_with_one_etag_only_one_is_kept(kind: str, client: TestClient) -> None:
    path, body, member = REPLACED_AT_ONCE[kind]
    for _ in range(ROUNDS):
        where = path.format(id=uuid4())
        client.put(where, json=body)
        bodies = [{**body, member: "one"}, {**body, member: "two"}]
        send = [
            lambda where=where, body=body: client.put(where, json=body, headers={"If-Match": '"1"'})
            for body in bodies
        ]
        answers = at_once(*send)
        assert statuses(answers) == [200, 412], [answer.text for answer in answers]
        kept = next(answer for answer in answers if answer.status_code == 200)
        assert client.get(where).json()[member] == kept.json()[member]


def test_a_delete_and_a_put_at_once_end_in_one_of_two_orders(client: TestClient, athlete: str) -> None:
    for _ in range(ROUNDS):
        for path, body in (("/v1/athletes/{id}", RIGA), ("{athlete}/sets/{id}", SET)):
            id = str(uuid4())
            where = path.format(athlete=athlete, id=id)
            put, deleted = at_once(
                lambda where=where, body=body: client.put(where, json=body),
                lambda where=where: client.delete(where),
            )
            assert (put.status_code, deleted.status_code) in {(201, 204), (410, 204)}
            assert client.get(where).status_code == 410
            operations = [item["op"] for item in fed(client, id)]
            assert operations == (["put", "delete"] if put.status_code == 201 else ["delete"])


def test_no_inventory_outlives_the_site_that_is_deleted_at_the_same_moment(client: TestClient) -> None:
    for _ in range(ROUNDS):
        site = f"/v1/sites/{uuid4()}"
        client.put(site, json={"name": "invented", "time_zone": "Europe/Riga"})
        put, deleted = at_once(
            lambda site=site: client.put(f"{site}/implements", json={"items": []}),
            lambda site=site: client.delete(site),
        )
        assert deleted.status_code == 204
        assert put.status_code in {201, 410}
        assert client.get(f"{site}/implements").status_code in {404, 410}


def test_whole_queues_on_one_athlete_at_once_lose_nothing_and_do_not_deadlock(
    client: TestClient, athlete: str
) -> None:
    ids = [str(uuid4()) for _ in range(30)]

    def queue(order: list[str]) -> Any:
        entries = [{"op": "put", "type": "set", "id": id, "body": SET} for id in order]
        return client.post(f"{athlete}/operations", json={"mode": "each", "operations": entries})

    answers = at_once(lambda: queue(ids), lambda: queue(ids[::-1]), lambda: queue(ids[15:] + ids[:15]))
    assert statuses(answers) == [200, 200, 200]
    made = [line["id"] for answer in answers for line in answer.json()["items"] if line["status"] == 201]
    assert sorted(made) == sorted(ids)
    assert all(len(fed(client, id)) == 1 for id in ids)


def test_groups_that_share_athletes_in_opposite_order_do_not_deadlock(client: TestClient) -> None:
    athletes = [str(uuid4()) for _ in range(8)]
    for id in athletes:
        client.put(f"/v1/athletes/{id}", json=RIGA)
    for _ in range(ROUNDS):
        groups = [f"/v1/groups/{uuid4()}" for _ in range(4)]
        rosters = [athletes, athletes[::-1], athletes[4:] + athletes[:4], athletes[::2] + athletes[1::2]]
        puts = [
            lambda where=where, ids=ids: client.put(where, json={"name": "invented", "athlete_ids": ids})
            for where, ids in zip(groups, rosters, strict=True)
        ]
        writes = [
            lambda member=id: client.delete(f"/v1/athletes/{member}/sets/{uuid4()}") for id in athletes[:3]
        ]
        assert statuses(at_once(*puts, *writes)) == [201] * 4 + [204] * 3


def test_an_athlete_out_of_reach_cannot_be_overwritten_by_creating_it_again(shared_world: World) -> None:
    tenant = shared_world.tenant()
    wide = shared_world.client(shared_world.key(tenant))
    sites = [uuid4(), uuid4()]
    for site in sites:
        wide.put(f"/v1/sites/{site}", json={"name": "invented", "time_zone": "Europe/Riga"})
    where = f"/v1/athletes/{uuid4()}"
    wide.put(where, json={**RIGA, "home_site_id": str(sites[0])})
    narrow = shared_world.client(shared_world.key(tenant, reach=Reach(False, site_ids=(sites[1],))))
    for answer in (narrow.put(where, json={**RIGA, "home_site_id": str(sites[1])}), narrow.delete(where)):
        assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
    assert wide.get(where).json()["home_site_id"] == str(sites[0])


@pytest.fixture
def held_athlete(shared_world: World, client: TestClient, athlete: str) -> Iterator[str]:
    """An athlete whose row another transaction holds for the length of the test."""
    id = UUID(athlete.rsplit("/", 1)[1])
    engine = create_engine(shared_world.url)
    with engine.connect() as holder:
        tenant = api_tenant(client)
        holder.execute(text("SELECT set_config('steelyard.tenant_id', :t, true)"), {"t": str(tenant)})
        found = holder.execute(text("SELECT 1 FROM athletes WHERE id = :id FOR NO KEY UPDATE"), {"id": id})
        assert found.scalar() == 1
        yield athlete
    engine.dispose()


def api_tenant(client: TestClient) -> UUID:
    parsed = parse(client.headers["authorization"].removeprefix("Bearer "))
    assert parsed is not None
    return parsed.tenant_id


def test_a_held_athlete_stops_its_own_writers_but_no_reader_and_no_other_athlete(
    held_athlete: str, client: TestClient, shared_world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    database = shared_world.app.state.services.store.database
    monkeypatch.setattr(database, "deadlines", Deadlines(lock_ms=300))
    other = f"/v1/athletes/{uuid4()}"
    assert client.put(other, json=RIGA).status_code == 201
    assert client.put(f"{other}/sets/{uuid4()}", json=SET).status_code == 201
    assert client.get(held_athlete).status_code == 200
    refused = client.put(f"{held_athlete}/sets/{uuid4()}", json=SET)
    assert (refused.status_code, refused.json()["code"]) == (503, "store_unavailable")
    assert int(refused.headers["Retry-After"]) >= 1
