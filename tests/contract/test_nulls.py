"""A null says no more than leaving the member out, wherever a member may be left out. People are invented."""

from typing import Any
from uuid import uuid4

from service.web.schemas.log import Set
from tests.world import World

LIFT: dict[str, Any] = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-20T10:00:00+02:00",
    "load": {"value": 60, "unit": "kg"},
    "reps": 8,
}


def test_a_body_whose_optional_members_are_all_null_is_the_body_without_them(shared_world: World) -> None:
    client, athlete = shared_world.signed_in(), f"/v1/athletes/{uuid4()}"
    assert client.put(athlete, json={"time_zone": "Europe/Riga", "unit": None}).status_code == 201
    path = f"{athlete}/sets/{uuid4()}"
    assert client.put(path, json=LIFT).status_code == 201
    nothing = {name: None for name in Set.model_fields if name not in LIFT}
    again = client.put(path, json={**nothing, **LIFT})
    assert (again.status_code, again.headers["etag"]) == (200, '"1"')
    assert (again.json()["side"], again.json()["pain"]) == ("unspecified", [])


def test_a_null_for_a_member_that_is_needed_or_unknown_is_refused(shared_world: World) -> None:
    client, athlete = shared_world.signed_in(), f"/v1/athletes/{uuid4()}"
    assert client.put(athlete, json={"time_zone": "Europe/Riga"}).status_code == 201
    for name in ("exercise_id", "mood"):
        answer = client.put(f"{athlete}/sets/{uuid4()}", json={**LIFT, name: None})
        assert answer.status_code == 422
        assert [fault["pointer"] for fault in answer.json()["errors"]] == [f"#/{name}"]
