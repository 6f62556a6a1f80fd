"""A roster's stream over a real connection, cut off by the death of its server: a reader must be able to tell."""

import json
from collections.abc import Iterator
from uuid import uuid4

import httpx2
import pytest

from tests.faults.real_service import RealService, real_service

PEOPLE = 24


@pytest.fixture(scope="module")
def service() -> Iterator[RealService]:
    with real_service() as running:
        yield running


@pytest.fixture(scope="module")
def key(service: RealService) -> str:
    """Return the key of a tenant with so many invented people who each trained once."""
    made = service.key()
    with httpx2.Client(base_url=f"{service.url}/v1", headers={"Authorization": f"Bearer {made}"}) as client:
        for _ in range(PEOPLE):
            athlete = f"/athletes/{uuid4()}"
            client.put(athlete, json={"time_zone": "Europe/Riga"}).raise_for_status()
            for purpose in ("process_health", "coach"):
                decision = {"purpose": purpose, "granted": True, "text_version": "invented-1"}
                client.post(f"{athlete}/consents", json=decision).raise_for_status()
            done = {
                "exercise_id": "bench-press", "performed_at": "2024-11-25T18:00:00+02:00", "reps": 8,
                "load": {"value": 80, "unit": "kg"}, "reps_in_reserve": 1,
            }  # fmt: skip
            client.put(f"{athlete}/sets/{uuid4()}", json=done).raise_for_status()
    return made


def received(service: RealService, key: str, format: str, *, killed: bool) -> bytes:
    """Return what came of a stream, whose server is killed after its first bytes if asked for."""
    content = b""
    asked = {"format": format, "week_of": "2024-11-25"}
    headers = {"Authorization": f"Bearer {key}"}
    with httpx2.stream("GET", f"{service.url}/v1/roster/volume", params=asked, headers=headers) as answer:
        assert answer.status_code == 200
        for chunk in answer.iter_bytes():
            if killed and not content:
                assert service.process is not None
                service.process.kill()
                service.process.wait()
            content += chunk
    return content


def test_a_whole_stream_ends_with_its_count(service: RealService, key: str) -> None:
    lines = received(service, key, "ndjson", killed=False).splitlines()
    end = json.loads(lines[-1])
    assert (end["type"], end["count"], end["athlete_count"]) == ("end", len(lines) - 1, PEOPLE)


@pytest.mark.parametrize("format", ["ndjson", "csv"])
def test_a_killed_stream_is_an_aborted_connection(service: RealService, key: str, format: str) -> None:
    with pytest.raises(httpx2.RemoteProtocolError):
        received(service, key, format, killed=True)
    service.start()
