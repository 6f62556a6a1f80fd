"""Deletes: a late write brings nothing back, and whoever could see a thing can see that it is gone."""

from uuid import uuid4

from service.usecases.ports import Reach
from tests.world import World

RIGA = {"time_zone": "Europe/Riga"}
SITE = {"name": "invented", "time_zone": "Europe/Riga"}
SESSION = {"started_at": "2026-11-23T18:00:00+02:00"}
SET = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-23T18:20:00+02:00",
    "load": {"value": 82.5, "unit": "kg"},
    "reps": 6,
}


def test_a_late_put_is_refused_and_only_the_tombstones_own_tag_revives(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json=RIGA)
    where = f"{athlete}/sets/{uuid4()}"
    first = client.put(where, json=SET).headers["ETag"]
    grave = client.delete(where, headers={"If-Match": first}).headers["ETag"]
    for headers in ({}, {"If-Match": first}, {"If-Match": "*"}, {"If-Match": f"W/{grave}"}):
        late = client.put(where, json=SET, headers=headers)
        assert (late.status_code, late.json()["code"], late.headers["ETag"]) == (410, "deleted", grave)
    assert client.get(f"{athlete}/sets").json()["items"] == []
    revived = client.put(where, json={**SET, "reps": 7}, headers={"If-Match": grave})
    assert (revived.status_code, revived.headers["ETag"]) == (201, '"3"')
    assert client.get(where).json()["reps"] == 7
    listed = client.get(f"{athlete}/sets").json()["items"]
    assert [(item["reps"], item["performed_at"]) for item in listed] == [(7, SET["performed_at"])]
    kinds = [(item["kind"], item["op"], item["etag"]) for item in client.get("/v1/changes").json()["items"]]
    assert kinds[1:] == [("set", "put", '"1"'), ("set", "delete", '"2"'), ("set", "put", '"3"')]


def test_the_grave_of_an_id_never_seen_can_be_revived_at_the_time_it_was_performed(
    shared_world: World,
) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json=RIGA)
    where = f"{athlete}/sets/{uuid4()}"
    grave = client.delete(where)
    assert (grave.status_code, grave.headers["ETag"]) == (204, '"1"')
    assert client.put(where, json=SET).status_code == 410
    assert client.put(where, json=SET, headers={"If-Match": '"1"'}).status_code == 201
    assert client.get(where).json()["performed_at"] == SET["performed_at"]


def test_every_kind_under_an_athlete_and_of_a_tenant_revives(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json=RIGA)
    bodies = {
        f"/v1/athletes/{uuid4()}": RIGA,
        f"/v1/sites/{uuid4()}": SITE,
        f"/v1/groups/{uuid4()}": {"name": "invented", "athlete_ids": [athlete.rsplit("/", 1)[1]]},
        f"{athlete}/sessions/{uuid4()}": SESSION,
        f"{athlete}/aims/{uuid4()}": {"kind": "hold"},
    }
    for where, body in bodies.items():
        assert client.put(where, json=body).status_code == 201, where
        grave = client.delete(where).headers["ETag"]
        assert client.delete(where).headers["ETag"] == grave
        assert client.get(where).status_code == 410
        assert client.put(where, json=body, headers={"If-Match": grave}).status_code == 201
        assert client.get(where).status_code == 200


def test_a_session_with_sets_is_kept_unless_they_go_with_it(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete = f"/v1/athletes/{uuid4()}"
    client.put(athlete, json=RIGA)
    session = str(uuid4())
    where = f"{athlete}/sessions/{session}"
    client.put(where, json=SESSION)
    sets = [f"{athlete}/sets/{uuid4()}" for _ in range(3)]
    for path in sets:
        client.put(path, json={**SET, "session_id": session})
    refused = client.delete(where)
    assert (refused.status_code, refused.json()["set_count"]) == (409, 3)
    assert client.delete(where, params={"cascade": "true"}).status_code == 204
    assert {client.get(path).status_code for path in [where, *sets]} == {410}
    fed = [item["kind"] for item in client.get("/v1/changes").json()["items"] if item["op"] == "delete"]
    assert sorted(fed) == ["session", "set", "set", "set"]


def test_a_sites_key_sees_that_its_athlete_is_gone_and_may_say_so_again(shared_world: World) -> None:
    tenant = shared_world.tenant()
    wide = shared_world.client(shared_world.key(tenant))
    site, athlete = uuid4(), f"/v1/athletes/{uuid4()}"
    wide.put(f"/v1/sites/{site}", json=SITE)
    wide.put(athlete, json={**RIGA, "home_site_id": str(site)})
    narrow = shared_world.client(shared_world.key(tenant, reach=Reach(False, site_ids=(site,))))
    assert narrow.delete(athlete).status_code == 204
    assert narrow.delete(athlete).status_code == 204
    assert narrow.get(athlete).status_code == 410
    changes = [(item["kind"], item["op"]) for item in narrow.get("/v1/changes").json()["items"]]
    assert changes == [("site", "put"), ("athlete", "put"), ("athlete", "delete")]
