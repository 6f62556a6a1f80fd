"""Invented lifters whose sets are made by number, and what is kept of them."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

from sqlalchemy import create_engine, func, pool, select
from starlette.testclient import TestClient

from service.catalogue import load_catalogue
from service.store.tables import capability_checkpoints, capability_states
from service.store.unit_of_work import PostgresStore
from service.usecases.api_keys import parse
from service.usecases.exercises import book_of
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.reading import ReadState, read_state
from service.usecases.folding.refolding import Refolder
from service.usecases.ports import Caller
from tests.world import ALL_SCOPES, World

BEGAN = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
NOW = datetime(2026, 11, 23, 18, 0, tzinfo=UTC)
RIGA = {"time_zone": "Europe/Riga"}
#: The last one moves the body, so that body masses matter.
LIFTS = ("bench-press", "back-squat", "pull-up")
CATALOGUE = load_catalogue()


@dataclass(frozen=True, slots=True)
class Lifter:
    """An athlete of a tenant, whose sets are made by number: six a session, two sessions a week."""

    world: World
    client: TestClient
    tenant: UUID
    id: UUID

    @property
    def path(self) -> str:
        return f"/v1/athletes/{self.id}"

    @property
    def store(self) -> PostgresStore:
        found: PostgresStore = self.world.app.state.services.store
        return found

    @property
    def caller(self) -> Caller:
        return Caller(self.tenant, UUID(int=0), frozenset(ALL_SCOPES))

    def body(self, number: int, **more: Any) -> dict[str, Any]:
        session, within = divmod(number, 6)
        at = BEGAN + timedelta(days=session * 3.5, minutes=4 * within)
        return {
            "exercise_id": LIFTS[within // 2],
            "performed_at": at.isoformat(),
            "load": {"value": 60.0 - 20 * (within // 2) + session % 5, "unit": "kg"},
            "reps": 6 + number % 4,
            "reps_in_reserve": number % 3,
            "ordinal": within,
            **more,
        }

    def set_id(self, number: int) -> str:
        return str(uuid5(self.id, str(number)))

    def put(self, number: int, **more: Any) -> None:
        answer = self.client.put(f"{self.path}/sets/{self.set_id(number)}", json=self.body(number, **more))
        assert answer.status_code in {200, 201}, answer.text[:300]

    def post(self, numbers: Any) -> None:
        rows = [{"id": self.set_id(number), **self.body(number)} for number in numbers]
        answer = self.client.post(f"{self.path}/sets", json={"sets": rows})
        assert answer.status_code == 201, answer.text[:300]

    def delete(self, number: int) -> None:
        assert self.client.delete(f"{self.path}/sets/{self.set_id(number)}").status_code == 204


def lifter_of(world: World, client: TestClient | None = None) -> Lifter:
    client = client or world.signed_in()
    parsed = parse(client.headers["authorization"].removeprefix("Bearer "))
    assert parsed is not None
    made = Lifter(world, client, parsed.tenant_id, uuid4())
    assert client.put(made.path, json=RIGA).status_code == 201
    consent = {"purpose": "process_health", "granted": True, "text_version": "1"}
    assert client.post(f"{made.path}/consents", json=consent).status_code == 201
    return made


@contextmanager
def owner_of(lifter: Lifter) -> Iterator[Any]:
    engine = create_engine(lifter.world.url, poolclass=pool.NullPool)
    with engine.begin() as owner:
        owner.execute(select(func.set_config("steelyard.tenant_id", str(lifter.tenant), True)))
        yield owner


def kept(lifter: Lifter) -> tuple[Any, dict[int, bytes]]:
    """Return the state row and the bytes of the checkpoints by their number of sessions."""
    state, points = capability_states.c, capability_checkpoints.c
    with owner_of(lifter) as owner:
        row = owner.execute(select(capability_states).where(state.athlete_id == lifter.id)).first()
        rows = owner.execute(select(points.session_count, points.state).where(points.athlete_id == lifter.id))
        return row, {row.session_count: bytes(row.state) for row in rows}


def refolded(lifter: Lifter) -> tuple[Any, dict[int, bytes]]:
    """Fold the whole log anew and return what is kept then."""
    Refolder(lifter.store, CATALOGUE).athlete(lifter.tenant, lifter.id, anew=True)
    return kept(lifter)


def read(lifter: Lifter, as_of: datetime = NOW) -> ReadState:
    with lifter.store.read(lifter.caller) as work:
        return read_state(work, book_of(work, CATALOGUE), lifter.id, as_of)


def packed(found: ReadState) -> tuple[bytes, Any]:
    return ENGINE.pack(found.before), found.session
