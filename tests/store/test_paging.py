"""Lists: complete and without repetition while others write, each filter works, and a token fits only its query."""

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from threading import Event
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from tests.store.furnished import SET_BODY, furnish, operations
from tests.world import World

START = datetime.fromisoformat("2026-10-01T18:00:00+02:00")


def logged(minute: int) -> dict[str, Any]:
    # Every fourth shares its instant with the one before, so that only the id tells them apart.
    return {
        "id": str(uuid4()),
        **SET_BODY,
        "performed_at": (START + timedelta(minutes=minute // 4 * 4)).isoformat(),
    }


def walk(client: TestClient, path: str, **query: Any) -> list[str]:
    """Return the ids of a whole list, page by page."""
    ids: list[str] = []
    token: dict[str, str] = {}
    while True:
        answer = client.get(path, params={**query, **token})
        assert answer.status_code == 200, answer.text
        page = answer.json()
        ids += [item["id"] for item in page["items"]]
        assert len(ids) < 2000, "the pages do not end"
        if "next_page_token" not in page:
            return ids
        token = {"page_token": page["next_page_token"]}


@pytest.mark.parametrize("size", [1, 7, 40])
def test_pages_join_to_the_whole_list_in_a_stable_order(shared_world: World, size: int) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    sets = [logged(minute) for minute in range(40)]
    assert client.post(f"{athlete}/sets", json={"sets": sets[::-1]}).status_code == 201
    expected = [one["id"] for one in sorted(sets, key=lambda one: (one["performed_at"], one["id"]))]
    assert walk(client, f"{athlete}/sets", page_size=size) == expected
    third = START + timedelta(minutes=12)
    kept = [one["id"] for one in sorted(sets, key=lambda one: (one["performed_at"], one["id"]))]
    after = {one["id"] for one in sets if datetime.fromisoformat(one["performed_at"]) >= third}
    listed = walk(client, f"{athlete}/sets", page_size=size, **{"from": third.isoformat()})
    assert listed == [id for id in kept if id in after]


def test_rows_that_nobody_touches_are_listed_once_while_others_come_and_go(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    still, moving = (
        [logged(minute) for minute in range(0, 240, 2)],
        [logged(minute) for minute in range(1, 241, 2)],
    )
    client.post(f"{athlete}/sets", json={"sets": still + moving[::2]})
    paging = Event()
    paging.set()

    def disturb() -> int:
        deeds = 0
        while paging.is_set():
            for one in moving:
                body = {name: value for name, value in one.items() if name != "id"}
                if deeds % 2:
                    client.put(f"{athlete}/sets/{one['id']}", json=body)
                else:
                    client.delete(f"{athlete}/sets/{one['id']}")
                deeds += 1
                if not paging.is_set():
                    break
        return deeds

    with ThreadPoolExecutor(1) as threads:
        disturbing = threads.submit(disturb)
        walks = [walk(client, f"{athlete}/sets", page_size=13) for _ in range(6)]
        paging.clear()
        assert disturbing.result() > 20
    untouched = {one["id"] for one in still}
    order = [one["id"] for one in sorted(still, key=lambda one: (one["performed_at"], one["id"]))]
    for ids in walks:
        assert [id for id in ids if id in untouched] == order
        assert len(ids) == len(set(ids))


#: Plausible values of every filter that a list offers.
ASKED = {
    "from": "2026-01-01T00:00:00Z", "to": "2026-12-31T00:00:00Z", "exercise_id": "bench-press", "side": "left",
    "kind": "girth", "external_ref": "invented", "q": "press", "muscle_id": "biceps-brachii", "worth": "middle",
}  # fmt: skip
PAGING = {"page_size", "page_token", "cursor"}


def test_every_filter_of_every_list_is_answered_and_binds_the_token(shared_world: World) -> None:
    tenant = furnish(shared_world)
    lists = [one for one in operations(shared_world.app) if "page_token" in one.queries]
    tried = 0
    for one in lists:
        for name in set(one.queries) - PAGING:
            value = tenant.ids.get(name, ASKED.get(name))
            answer = one.send(tenant.client, tenant.ids, query={name: value})
            assert answer.status_code == 200, (one.id, name, answer.text)
            tried += 1
    assert tried >= 15


def test_a_token_with_another_filter_or_of_another_list_is_refused(shared_world: World) -> None:
    tenant = furnish(shared_world)
    sets = f"{tenant.athlete}/sets"
    tenant.client.post(sets, json={"sets": [logged(minute) for minute in range(12)]})
    first = tenant.client.get(sets, params={"page_size": 3, "side": "unspecified"}).json()
    token = {"page_token": first["next_page_token"]}
    same = tenant.client.get(sets, params={**token, "side": "unspecified", "page_size": 5})
    assert same.status_code == 200
    other = furnish(shared_world, tenant.client)
    altered = [
        (sets, {}),
        (sets, {"side": "left"}),
        (sets, {"side": "unspecified", "from": "2026-01-01T00:00:00Z"}),
        (f"{other.athlete}/sets", {"side": "unspecified"}),
        (f"{tenant.athlete}/sessions", {}),
        ("/v1/athletes", {}),
    ]
    for path, query in altered:
        answer = tenant.client.get(path, params={**token, **query})
        assert (answer.status_code, answer.json()["code"]) == (400, "unreadable_token"), (path, query)
    for broken in ("nonsense", "", token["page_token"][:-3], "WyJhIiwgW11d"):
        answer = tenant.client.get(sets, params={"page_token": broken, "side": "unspecified"})
        assert (answer.status_code, answer.json()["code"]) == (400, "unreadable_token"), broken


def test_a_page_is_capped_and_says_where_to_go_on(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    sets = [logged(minute) for minute in range(1001)]
    assert client.post(f"{athlete}/sets", json={"sets": sets}).status_code == 201
    page = client.get(f"{athlete}/sets", params={"page_size": 100_000}).json()
    assert len(page["items"]) == 1000
    assert len(client.get(f"{athlete}/sets").json()["items"]) == 100
    rest = client.get(f"{athlete}/sets", params={"page_token": page["next_page_token"]}).json()
    assert len(rest["items"]) == 1
    assert "next_page_token" not in rest
