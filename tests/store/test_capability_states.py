"""The fold in the write path: what is kept of a log is a function of the log, and costs the same however long it is."""

import itertools
import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime, timedelta
from threading import Barrier
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, Table, select, update

from service.core.capability import AthleteState
from service.store.tables import capability_checkpoints, capability_states
from service.usecases.errors import NotFound
from service.usecases.exercises import book_of
from service.usecases.folding.checkpoints import kept_checkpoints
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.inputs import read_inputs
from service.usecases.folding.reading import read_states
from tests.store.lifters import (
    BEGAN,
    CATALOGUE,
    RIGA,
    Lifter,
    kept,
    lifter_of,
    owner_of,
    packed,
    read,
    refolded,
)
from tests.store.statements import Sent, listening
from tests.world import World


@pytest.fixture
def lifter(shared_world: World) -> Lifter:
    return lifter_of(shared_world)


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


@pytest.mark.parametrize("damage", ["flipped", "cut", "empty", "of another kind"])
def test_a_damaged_state_is_noticed_answered_past_and_mended_by_the_next_session(
    lifter: Lifter, damage: str, caplog: pytest.LogCaptureFixture
) -> None:
    lifter.post(range(54))
    (row, _), right = kept(lifter), packed(read(lifter))
    whole = bytes(row.state)
    middle = len(whole) // 2
    torn = {
        "flipped": whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :],
        "cut": whole[:-8],
        "empty": b"",
        "of another kind": b"PK\x03\x04" + whole[4:],
    }[damage]
    overwrite(lifter, state=torn)
    with caplog.at_level("WARNING", logger="steelyard.folding"):
        assert packed(read(lifter)) == right
    assert "cannot be read" in caplog.text
    lifter.post(range(54, 60))
    assert comparable(kept(lifter)) == comparable(refolded(lifter))


def test_a_state_of_an_unknown_model_or_layout_is_never_decoded(
    lifter: Lifter, monkeypatch: pytest.MonkeyPatch
) -> None:
    lifter.post(range(54))
    right = packed(read(lifter))
    for strange in ({"model_version": "capability/999"}, {"layout": 999}):
        overwrite(lifter, state=b"not to be looked at", checkpoints=True, **strange)
        with monkeypatch.context() as patched:
            patched.setattr(AthleteState, "unpack", refuse)
            assert packed(read(lifter)) == right
        refolded(lifter)


def refuse(*_: object) -> None:
    raise AssertionError("decoded")


def test_an_exercise_that_is_described_otherwise_is_answered_otherwise_at_once(lifter: Lifter) -> None:
    own = f"/v1/exercises/{uuid4()}"
    assert lifter.client.put(own, json=OWN).status_code == 201
    for number in range(0, 60, 6):
        lifter.put(number, exercise_id=own.rsplit("/", 1)[1], side="left")
    before = packed(read(lifter))
    changed = {**OWN, "curve_class": "leg_press"}
    assert lifter.client.put(own, json=changed, headers={"If-Match": '"1"'}).status_code == 200
    after = packed(read(lifter))
    assert after != before
    refolded(lifter)
    assert packed(read(lifter)) == after


def test_as_of_an_earlier_instant_nothing_later_is_known(lifter: Lifter, shared_world: World) -> None:
    lifter.post(range(60))
    earlier = lifter_of(shared_world)
    earlier.post(range(27))
    then = datetime.fromisoformat(earlier.body(26)["performed_at"])
    assert packed(read(lifter, then)) == packed(read(earlier))
    found = read(lifter, then - timedelta(days=1))
    assert found.session is not None
    assert (found.session_count, len(found.session.sets)) == (3, 6)


def test_many_earlier_instants_are_read_at_once_and_each_as_if_alone(lifter: Lifter) -> None:
    """Amid sessions, between them, before the log and after it; with no more statements than for one instant."""
    lifter.post(range(90))
    instants = [BEGAN + timedelta(days=days) for days in (-1.0, 3.503, 3.504, 20.0, 20.1, 45.501, 60.0)]
    engine: Engine = lifter.store.database.engine
    counts = []
    with lifter.store.read(lifter.caller) as work:
        inputs = read_inputs(work, book_of(work, CATALOGUE), lifter.id)
        assert inputs is not None
        for asked in (instants[-1:], instants):
            with listening(engine) as sent:
                found = read_states(work, lifter.id, asked, inputs)
            counts.append(len(sent))
    assert counts[0] == counts[1]
    for at, one in zip(instants, found, strict=True):
        alone = read(lifter, at)
        assert packed(one) == packed(alone)
        assert (one.newest, one.session_count, one.set_count) == (
            alone.newest, alone.session_count, alone.set_count,
        )  # fmt: skip


def test_an_answer_reads_as_many_statements_however_long_the_log_is(shared_world: World) -> None:
    counts = set()
    for length in (14, 400):
        lifter = lifter_of(shared_world)
        lifter.post(range(length))
        engine: Engine = lifter.store.database.engine
        with listening(engine) as sent:
            read(lifter)
        counts.add(len(sent))
    # One opens the transaction; athlete, screenings, state, sets, measurements.
    assert counts == {6}


def test_another_tenant_sees_and_touches_no_state(lifter: Lifter, shared_world: World) -> None:
    lifter.post(range(20))
    before = kept(lifter)
    stranger = lifter_of(shared_world)
    with stranger.store.write(stranger.caller) as work:
        assert work.states.standing(lifter.id) is None
        assert work.states.newest(lifter.id, ENGINE.packing) is None
        assert lifter.id not in work.states.folded(None, 1000)
        work.states.drop_checkpoints(lifter.id, keep=())
        work.states.forget(lifter.id)
    with pytest.raises(NotFound):
        read(replace(stranger, id=lifter.id))
    assert kept(lifter) == before


@pytest.mark.parametrize("table", [capability_states, capability_checkpoints])
def test_the_policy_alone_hides_the_states_of_other_tenants(
    lifter: Lifter, shared_world: World, table: Table
) -> None:
    lifter.post(range(20))
    with lifter.store.database.transaction(lifter.tenant, read_only=True) as connection:
        assert set(connection.execute(select(table.c.tenant_id)).scalars()) == {lifter.tenant}
    with lifter.store.database.transaction(shared_world.tenant(), read_only=True) as connection:
        assert connection.execute(select(table.c.tenant_id)).first() is None


def test_writers_of_one_athlete_at_once_leave_one_state_and_lose_no_fold(lifter: Lifter) -> None:
    barrier = Barrier(4)

    def write(first: int) -> None:
        barrier.wait()
        for number in range(first, 48, 4):
            lifter.put(number)

    with ThreadPoolExecutor(4) as threads:
        list(threads.map(write, range(4)))
    assert comparable(kept(lifter)) == comparable(refolded(lifter))


def test_a_deleted_athlete_leaves_no_state(lifter: Lifter) -> None:
    lifter.post(range(20))
    assert lifter.client.delete(lifter.path).status_code == 204
    assert kept(lifter) == (None, {})


OWN = {
    "name": "one-arm press of our own", "pattern": "horizontal_press", "laterality": "one_sided", "load_basis": "total",
    "implement": "stack", "curve_class": "bench", "body_part": "upper", "repetitions_low": 5, "repetitions_high": 12,
    "involvement": [{"muscle_id": "pectoralis-major", "share": 1.0}],
}  # fmt: skip


def overwrite(lifter: Lifter, *, checkpoints: bool = False, **values: Any) -> None:
    """Damage what is kept, as the owner of the database could."""
    tables = (capability_states, capability_checkpoints) if checkpoints else (capability_states,)
    with owner_of(lifter) as owner:
        for table in tables:
            owner.execute(update(table).where(table.c.athlete_id == lifter.id).values(values))
