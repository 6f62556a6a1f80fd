"""kill -9 under load: what was acknowledged is there exactly once, and is fed exactly once, in order.

Clients keep a journal of what was acknowledged and send again, with the same id, whatever was not. A killed process does
not lose what the kernel holds, so that this says nothing about a power cut.
"""

import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from random import randrange
from threading import Event
from typing import Any
from uuid import uuid4

import httpx2
import pytest
from sqlalchemy import create_engine, func, pool, select

from service.settings import Settings
from service.store.tables import capability_states
from service.usecases import api_keys
from service.worker import create_worker
from tests.faults.real_service import RealService, real_service

WRITERS = 4
BEGAN = datetime(2026, 10, 1, 18, 0, tzinfo=UTC)
SET = {
    "exercise_id": "bench-press",
    "performed_at": "2026-11-23T18:20:00+02:00",
    "load": {"value": 82.5, "unit": "kg"},
    "reps": 6,
}


@dataclass
class Journal:
    """What one client was told, and what it had to do for it."""

    acknowledged: list[str] = field(default_factory=list)
    unexpected: list[str] = field(default_factory=list)
    retries: int = 0


def insist(client: httpx2.Client, journal: Journal, method: str, path: str, **more: Any) -> httpx2.Response:
    """Send until there is an answer that says what became of it."""
    ends = time.monotonic() + 30
    while time.monotonic() < ends:
        try:
            answer = client.request(method, path, timeout=15, **more)
        except httpx2.TransportError:
            answer = None
        if answer is not None and answer.status_code != 503:
            return answer
        journal.retries += 1
        time.sleep(0.03)
    raise AssertionError(f"no answer for 30 s: {method} {path}")


def write_on(service: RealService, key: str, athlete: str, working: Event, journal: Journal) -> Journal:
    """Put one set after the other, each until it is acknowledged."""
    with httpx2.Client(base_url=service.url, headers={"Authorization": f"Bearer {key}"}) as client:
        while working.is_set():
            id = str(uuid4())
            # Sessions of many days, in no order: most sets go back to a checkpoint, and some fold a session.
            performed_at = BEGAN + timedelta(days=randrange(40), minutes=randrange(90))
            body = {**SET, "performed_at": performed_at.isoformat()}
            answer = insist(client, journal, "PUT", f"{athlete}/sets/{id}", json=body)
            if answer.status_code in {200, 201}:
                journal.acknowledged.append(id)
            else:
                journal.unexpected.append(f"{answer.status_code} {answer.text}")
    return journal


def follow(service: RealService, key: str, following: Event) -> list[dict[str, Any]]:
    """Keep a copy of the feed, through every fault, until nothing is left to read."""
    journal, copy, query = Journal(), [], {}
    with httpx2.Client(base_url=service.url, headers={"Authorization": f"Bearer {key}"}) as client:
        while True:
            last = not following.is_set()
            page = insist(client, journal, "GET", "/v1/changes", params=query).json()
            copy += page["items"]
            query = {"cursor": page["next_cursor"]}
            if last and not page["has_more"]:
                return copy
            time.sleep(0.01)


@dataclass
class Load:
    """Clients at work on one tenant: two athletes of two writers each, and one who follows the feed."""

    service: RealService
    key: str
    athletes: list[str]
    writers: list[Future[Journal]] = field(default_factory=list)
    follower: Future[list[dict[str, Any]]] | None = None
    kept: list[Journal] = field(default_factory=list)

    def until_acknowledged(self, count: int, within_s: float = 90.0) -> None:
        """Let the clients go on until so many sets are acknowledged, on however slow a machine."""
        ends = time.monotonic() + within_s
        while sum(len(one.acknowledged) for one in self.kept) < count and time.monotonic() < ends:
            time.sleep(0.05)

    @property
    def journals(self) -> list[Journal]:
        return [writer.result() for writer in self.writers]

    @property
    def acknowledged(self) -> list[str]:
        return [id for journal in self.journals for id in journal.acknowledged]


@contextmanager
def under_load(service: RealService) -> Iterator[Load]:
    """Let clients work while the block does its damage, then let them finish."""
    load = Load(service, service.key(), [f"/v1/athletes/{uuid4()}" for _ in range(2)])
    headers = {"Authorization": f"Bearer {load.key}"}
    for athlete in load.athletes:
        made = httpx2.put(
            f"{service.url}{athlete}", json={"time_zone": "Europe/Riga"}, headers=headers, timeout=15
        )
        assert made.status_code == 201, made.text
    working, following = Event(), Event()
    working.set()
    following.set()
    with ThreadPoolExecutor(WRITERS + 1) as threads:
        for number in range(WRITERS):
            athlete = load.athletes[number % 2]
            load.kept.append(Journal())
            load.writers.append(threads.submit(write_on, service, load.key, athlete, working, load.kept[-1]))
        load.follower = threads.submit(follow, service, load.key, following)
        try:
            time.sleep(0.5)
            yield load
            time.sleep(0.5)
        finally:
            working.clear()
            wait(load.writers)
            following.clear()


def stored(load: Load) -> Counter[str]:
    """Return how often each set is listed."""
    found: Counter[str] = Counter()
    with httpx2.Client(base_url=load.service.url, headers={"Authorization": f"Bearer {load.key}"}) as client:
        for athlete in load.athletes:
            query: dict[str, Any] = {"page_size": 1000}
            while True:
                page = client.get(f"{athlete}/sets", params=query, timeout=15).json()
                found.update(item["id"] for item in page["items"])
                if "next_page_token" not in page:
                    break
                query["page_token"] = page["next_page_token"]
    return found


@pytest.fixture(scope="module")
def service() -> Iterator[RealService]:
    with real_service() as running:
        yield running


def test_acknowledged_sets_survive_kills_of_the_service_and_of_the_database(service: RealService) -> None:
    with under_load(service) as load:
        for kill in (service.kill_database, service.kill_service, service.kill_database):
            kill()
            time.sleep(0.4)
        load.until_acknowledged(41)
    found = stored(load)
    assert load.follower is not None
    copy = load.follower.result()
    assert [said for journal in load.journals for said in journal.unexpected] == []
    assert sum(journal.retries for journal in load.journals) > 0
    assert len(load.acknowledged) > 40
    assert set(load.acknowledged) <= set(found)
    assert set(found.values()) == {1}
    fed = Counter((item["id"], item["op"], item["etag"]) for item in copy if item["kind"] == "set")
    assert fed == Counter((id, "put", '"1"') for id in found)
    assert [int(item["position"]) for item in copy] == list(range(1, len(copy) + 1))
    as_written, refolded = states_of(load)
    assert len(as_written) == 2
    assert as_written == refolded


def states_of(load: Load) -> tuple[list[Any], list[Any]]:
    """Return what is kept of each athlete's strength as the writes left it, and as a refold of the log leaves it."""
    engine = create_engine(load.service.database().owner_url, poolclass=pool.NullPool)
    key = api_keys.parse(load.key)
    assert key is not None
    mine = capability_states.c.tenant_id == key.tenant_id
    query = select(capability_states).where(mine).order_by(capability_states.c.athlete_id)

    def kept() -> list[Any]:
        with engine.begin() as owner:
            owner.execute(select(func.set_config("steelyard.tenant_id", str(key.tenant_id), True)))
            return list(owner.execute(query).all())

    as_written = kept()
    worker = create_worker(Settings(load.service.database().owner_url, load.service.database().owner_url))
    worker.refolder.tenant(key.tenant_id, anew=True)
    worker.close()
    return as_written, kept()


def test_the_journal_would_notice_a_database_that_acknowledges_too_early(service: RealService) -> None:
    service.acknowledge_too_early()
    lost: set[str] = set()
    for _ in range(6):
        with under_load(service) as load:
            service.kill_database()
        lost |= set(load.acknowledged) - set(stored(load))
        if lost:
            break
    assert lost
