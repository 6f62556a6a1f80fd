"""What would be kept and then mislead is refused, with the member and what was expected. People are invented."""

from typing import Any
from uuid import uuid4

from starlette.testclient import TestClient

from tests.world import World

SLED: dict[str, Any] = {
    "name": "Sled drag",
    "pattern": "knee",
    "laterality": "two_sided",
    "load_basis": "total",
    "implement": "bar",
    "curve_class": "leg_press",
    "body_part": "lower",
    "repetitions_low": 5,
    "repetitions_high": 15,
    "involvement": [{"muscle_id": "soleus", "share": 1}],
}


def _faults(client: TestClient, path: str, body: dict[str, Any]) -> list[tuple[str, str]]:
    answer = client.put(path, json=body)
    assert (answer.status_code, answer.json()["code"]) == (409, "not_possible")
    return [(fault["pointer"], fault["code"]) for fault in answer.json()["errors"]]


def test_a_limit_that_ends_before_it_begins_would_never_hold(shared_world: World) -> None:
    client, athlete = shared_world.signed_in(), f"/v1/athletes/{uuid4()}"
    assert client.put(athlete, json={"time_zone": "Europe/Riga"}).status_code == 201
    consent = {"purpose": "process_health", "granted": True, "text_version": "1"}
    assert client.post(f"{athlete}/consents", json=consent).status_code == 201
    limit = {"kind": "clinician", "mode": "replace", "starts_on": "2026-02-02", "ends_on": "2026-02-01"}
    assert _faults(client, f"{athlete}/limits/{uuid4()}", limit) == [("#/ends_on", "range_backwards")]
    one_day = {**limit, "ends_on": "2026-02-02"}
    assert client.put(f"{athlete}/limits/{uuid4()}", json=one_day).status_code == 201


def test_a_muscle_named_twice_would_be_counted_twice(shared_world: World) -> None:
    client = shared_world.signed_in()
    twice = {**SLED, "involvement": [*SLED["involvement"], {"muscle_id": "soleus", "share": 0.5}]}
    assert _faults(client, f"/v1/exercises/{uuid4()}", twice) == [
        ("#/involvement/1/muscle_id", "muscle_twice")
    ]
    assert client.put(f"/v1/exercises/{uuid4()}", json=SLED).status_code == 201


def test_a_warning_sign_is_not_told_beside_a_clear_screening(shared_world: World) -> None:
    body = {
        "load": {"value": 80, "unit": "kg"},
        "reps": 5,
        "screening": "clear",
        "symptoms": ["chest_pain"],
    }
    answer = shared_world.signed_in().post("/v1/compute/one-rep-max", json=body)
    assert answer.status_code == 409
    assert [reason["code"] for reason in answer.json()["reasons"]] == ["tolerance_flag_reported"]
