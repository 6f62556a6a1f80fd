"""The fold in the write path: what is kept of a log is a function of the log, and costs the same however long it is."""

import itertools
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4, uuid5

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, create_engine, func, pool, select
from starlette.testclient import TestClient

from service.catalogue import load_catalogue
from service.store.tables import capability_checkpoints, capability_states
from service.usecases.api_keys import parse
from service.usecases.exercises import book_of
from service.usecases.folding.checkpoints import kept_checkpoints
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.reading import ReadState, read_state
from service.usecases.folding.refolding import refold, start_over
from service.usecases.ports import Caller
from tests.store.statements import Sent, listening
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
        assert answer.status_code in {200, 201}, answer.text

    def post(self, numbers: Any) -> None:
        rows = [{"id": self.set_id(number), **self.body(number)} for number in numbers]
        answer = self.client.post(f"{self.path}/sets", json={"sets": rows})
        assert answer.status_code == 201, answer.text

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


@pytest.fixture
def lifter(shared_world: World) -> Lifter:
    return lifter_of(shared_world)


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


def refolded(lifter: Lifter, part: int = 10_000) -> tuple[Any, dict[int, bytes]]:
    """Fold the whole log anew and return what is kept then."""
    store = lifter.world.app.state.services.store
    with store.write(lifter.caller) as work:
        start_over(work, lifter.id)
    done = False
    while not done:
        with store.write(lifter.caller) as work:
            done = refold(work, book_of(work, CATALOGUE), lifter.id, part=part)
    return kept(lifter)


def read(lifter: Lifter, as_of: datetime = NOW) -> ReadState:
    store = lifter.world.app.state.services.store
    with store.read(lifter.caller) as work:
        return read_state(work, book_of(work, CATALOGUE), lifter.id, as_of)


def packed(found: ReadState) -> tuple[bytes, Any]:
    return ENGINE.pack(found.before), found.session


def test_the_first_set_opens_a_session_and_a_newer_one_folds_it(lifter: Lifter) -> None:
    lifter.put(0)
    row, points = kept(lifter)
    assert (row.session_count, row.folded_start, points) == (0, None, {})
    assert row.open_start < BEGAN
    lifter.put(6)
    row, points = kept(lifter)
    assert (row.session_count, row.set_count) == (1, 1)
    assert set(ENGINE.unpack(bytes(row.state)).series()) == {"bench-press"}


def test_a_set_of_the_newest_session_touches_no_state(lifter: Lifter) -> None:
    lifter.post(range(13))
    engine: Engine = lifter.world.app.state.services.store.database.engine
    before = kept(lifter)
    with listening(engine) as sent:
        lifter.put(13)
        lifter.post(range(14, 18))
    assert [one.text for one in sent if writes_state(one)] == []
    assert kept(lifter) == before


def writes_state(sent: Sent) -> bool:
    return "capability" in sent.text and not sent.text.startswith("SELECT")


def test_what_is_kept_equals_a_refold(lifter: Lifter) -> None:
    for number in range(60):
        lifter.put(number)
    row, points = kept(lifter)
    assert row.session_count == 9
    assert set(points) == kept_checkpoints(9)
    again, new_points = refolded(lifter)
    assert again == row
    assert new_points == points


ORDERS = st.permutations(range(24))
CUTS = st.lists(st.integers(1, 23), max_size=4)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=ORDERS, cuts=CUTS, twice=st.integers(0, 23))
def test_any_order_of_arrival_and_any_batches_leave_the_same_bytes(
    in_order: tuple[Any, Any], shared_world: World, order: list[int], cuts: list[int], twice: int
) -> None:
    arriving = lifter_of(shared_world)
    bounds = [0, *sorted(set(cuts)), 24]
    for first, last in itertools.pairwise(bounds):
        arriving.post([*order[first:last], order[twice]] if twice < last else order[first:last])
    assert comparable(kept(arriving)) == in_order


@pytest.fixture(scope="module")
def in_order(shared_world: World) -> tuple[Any, Any]:
    one_by_one = lifter_of(shared_world)
    for number in range(24):
        one_by_one.put(number)
    return comparable(kept(one_by_one))


def comparable(found: tuple[Any, dict[int, bytes]]) -> tuple[Any, dict[int, bytes]]:
    """Return what is kept without whose it is."""
    row, points = found
    return {
        name: value for name, value in row._mapping.items() if name not in {"tenant_id", "athlete_id"}
    }, points


CHANGES: dict[str, Callable[[Lifter], Any]] = {
    "a late set": lambda one: one.put(201),
    "an edited set": lambda one: edit(one, 13, {"reps": 3}),
    "a set that moved to another day": lambda one: edit(one, 13, {"performed_at": one.body(49)["performed_at"]}),
    "a deleted set": lambda one: one.delete(20),
    "the newest session deleted": lambda one: [one.delete(number) for number in range(54, 60)],
    "an earlier body mass": lambda one: measure(one, BEGAN + timedelta(days=9), kind="body_mass", mass=mass(81)),
    "a tested maximum": lambda one: measure(
        one, BEGAN + timedelta(days=12), kind="tested_maximum", exercise_id="bench-press", load=mass(95)
    ),
    "years of training": lambda one: one.client.put(
        one.path, json={**RIGA, "training_years": 0.2}, headers={"If-Match": "*"}
    ),
    "a screening with an operation": lambda one: one.client.post(f"{one.path}/screenings", json=OPERATED),
    "a session that arrives after its sets": lambda one: told_session(one, BEGAN + timedelta(days=14, hours=-1)),
    "a session that moves": lambda one: told_session(one, BEGAN + timedelta(days=14, hours=-1), hours_earlier=19),
}  # fmt: skip
OPERATED = {
    "instrument": "invented", "instrument_version": "1", "performed_on": "2026-11-01", "outcome": "clear",
    "procedures": [{"region": "knee", "performed_on": "2026-01-05", "side": "left"}],
}  # fmt: skip
SESSION_ID = uuid4()


def mass(kilograms: float) -> dict[str, Any]:
    return {"value": kilograms, "unit": "kg"}


def edit(one: Lifter, number: int, patch: dict[str, Any]) -> Any:
    headers = {"Content-Type": "application/merge-patch+json"}
    return one.client.patch(
        f"{one.path}/sets/{one.set_id(number)}", content=json.dumps(patch), headers=headers
    )


def measure(one: Lifter, at: datetime, **body: Any) -> Any:
    return one.client.put(f"{one.path}/measurements/{uuid4()}", json={"at": at.isoformat(), **body})


def told_session(one: Lifter, at: datetime, hours_earlier: int = 0) -> Any:
    for number in range(24, 30):
        edit(one, number, {"session_id": str(SESSION_ID)})
    where = f"{one.path}/sessions/{SESSION_ID}"
    answer = one.client.put(where, json={"started_at": at.isoformat()})
    if not hours_earlier:
        return answer
    moved = {"started_at": (at - timedelta(hours=hours_earlier)).isoformat()}
    return one.client.put(where, json=moved, headers={"If-Match": answer.headers["etag"]})


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_of_the_past_leaves_what_a_fold_of_the_whole_log_leaves(lifter: Lifter, change: str) -> None:
    lifter.post(range(60))
    before = comparable(kept(lifter))
    answer = CHANGES[change](lifter)
    assert getattr(answer, "status_code", 200) < 300, answer.text
    row, points = comparable(kept(lifter))
    assert row != before[0]
    again, new_points = comparable(refolded(lifter))
    assert again == row
    assert {count: new_points[count] for count in points} == points
    grown = change not in {"the newest session deleted", "a set that moved to another day"}
    assert set(new_points) == set(points) or not grown
