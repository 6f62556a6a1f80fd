"""The first ten minutes of a phone's back end: put, repeat, collide, follow the feed."""

from collections.abc import Callable

from tests.world import World

SET = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-23T18:20:00+02:00",
    "load": {"value": 82.5, "unit": "kg"},
    "reps": 6,
}


def test_a_set_put_twice_is_kept_once_and_fed_once(world: World, new_id: Callable[[], str]) -> None:
    client = world.signed_in()
    athlete = f"/v1/athletes/{new_id()}"
    assert client.put(athlete, json={"time_zone": "Europe/Riga"}).status_code == 201
    where = f"{athlete}/sets/{new_id()}"
    first = client.put(where, json=SET)
    text = '{"reps": 6.0, "load": {"unit": "kg", "value": 82.50}, "exercise_id": "bench-press", '
    text += '"performed_at": "2026-11-23T18:20:00+02:00"}'
    again = client.put(where, content=text, headers={"Content-Type": "application/json"})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.headers["ETag"] == again.headers["ETag"] == '"1"'
    assert first.headers["Steelyard-Position"] == again.headers["Steelyard-Position"] == "2"
    changes = client.get("/v1/changes").json()
    assert [(item["kind"], item["position"]) for item in changes["items"]] == [("athlete", "1"), ("set", "2")]
    assert client.get("/v1/changes", params={"cursor": changes["next_cursor"]}).json()["items"] == []


def test_another_body_under_the_same_id_needs_if_match(world: World, new_id: Callable[[], str]) -> None:
    client = world.signed_in()
    athlete = f"/v1/athletes/{new_id()}"
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    where = f"{athlete}/sets/{new_id()}"
    client.put(where, json=SET)
    refused = client.put(where, json={**SET, "reps": 7})
    assert refused.status_code == 409
    assert refused.json()["code"] == "different_body"
    assert refused.json()["current"]["reps"] == 6
    replaced = client.put(where, json={**SET, "reps": 7}, headers={"If-Match": '"1"'})
    assert (replaced.status_code, replaced.headers["ETag"]) == (200, '"2"')
    stale = client.put(where, json={**SET, "reps": 8}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["code"]) == (412, "stale_etag")
