"""Jobs that fold anew: asked for in the transaction that needs them, done by whichever worker lives, once in effect."""

import json
from collections.abc import Iterator
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import create_engine, exc, pool, text, update

from service.settings import Settings
from service.store.database import RUNTIME_ROLE
from service.store.tables import capability_states
from service.usecases.folding import refolding, writing
from service.worker import Worker, create_worker, run
from tests.store.lifters import CATALOGUE, Lifter, kept, lifter_of, owner_of, packed, read, refolded
from tests.world import World


@pytest.fixture
def lifter(world: World, monkeypatch: pytest.MonkeyPatch) -> Lifter:
    """Somebody with 60 sets, of which a change of the past refolds too many for one request."""
    made = lifter_of(world)
    made.post(range(60))
    monkeypatch.setattr(writing, "INLINE_SETS", 5)
    return made


def worker_of(world: World) -> Worker:
    return create_worker(Settings(world.url, world.url), world.clock)


def work_off(world: World) -> None:
    """Do every job that waits."""
    run(worker_of(world), wait=False, install_signal_handlers=False)


def queue(world: World) -> list[dict[str, Any]]:
    """Return the jobs that are in the queue."""
    with owner(world) as connection:
        rows = connection.execute(text("SELECT * FROM jobs.procrastinate_jobs ORDER BY id"))
        return [dict(row._mapping) for row in rows]


def owner(world: World) -> Any:
    return create_engine(world.url, poolclass=pool.NullPool).begin()


def comparable(lifter: Lifter) -> tuple[dict[str, Any], dict[int, bytes]]:
    row, points = kept(lifter)
    return dict(row._mapping), points


def test_a_change_of_a_long_past_is_answered_at_once_and_folded_by_a_job(lifter: Lifter) -> None:
    world = lifter.world
    lifter.delete(3)
    row, _ = kept(lifter)
    assert row.stale_from is not None
    right = packed(read(lifter))
    jobs = queue(world)
    assert [(job["task_name"], job["status"]) for job in jobs] == [("refold_athlete", "todo")]
    work_off(world)
    assert queue(world) == []
    assert kept(lifter)[0].stale_from is None
    assert packed(read(lifter)) == right
    found = comparable(lifter)
    refolded(lifter)
    assert comparable(lifter) == found


def test_a_job_holds_ids_and_nothing_else(lifter: Lifter) -> None:
    lifter.delete(3)
    (job,) = queue(lifter.world)
    assert job["args"] == {"tenant_id": str(lifter.tenant), "athlete_id": str(lifter.id)}


def test_what_is_asked_for_twice_is_done_once(lifter: Lifter) -> None:
    for number in (3, 9, 4):
        lifter.delete(number)
    with lifter.store.write(lifter.caller) as work:
        work.states.defer_refold(lifter.id)
        work.states.defer_refold(lifter.id)
    assert len(queue(lifter.world)) == 1


def test_a_job_of_a_request_that_fails_is_not_asked_for(lifter: Lifter) -> None:
    def ask_and_fail() -> None:
        with lifter.store.write(lifter.caller) as work:
            work.states.defer_refold(lifter.id)
            raise RuntimeError("invented")

    with pytest.raises(RuntimeError, match="invented"):
        ask_and_fail()
    assert queue(lifter.world) == []


def test_a_refold_in_parts_leaves_what_one_in_a_piece_leaves(
    lifter: Lifter, monkeypatch: pytest.MonkeyPatch
) -> None:
    refolded(lifter)
    whole = comparable(lifter)
    for part in (1, 7, 20):
        monkeypatch.setattr(refolding.refold, "__kwdefaults__", {"engine": None, "part": part})
        refolded(lifter)
        assert comparable(lifter) == whole


def test_a_late_set_between_two_parts_of_a_refold_is_not_lost(lifter: Lifter) -> None:
    folder = refolding.Refolder(lifter.store, CATALOGUE)
    with lifter.store.write(lifter.caller) as work:
        refolding.start_over(work, lifter.id)
    with lifter.store.write(lifter.caller) as work:
        book = refolding.book_of(work, folder.catalogue)
        assert not refolding.refold(work, book, lifter.id, part=20)
    lifter.delete(2)
    folder.athlete(lifter.tenant, lifter.id)
    found = comparable(lifter)
    refolded(lifter)
    assert comparable(lifter) == found


@pytest.mark.parametrize("pruned", [False, True])
def test_a_job_of_a_worker_that_died_is_done_by_the_next(lifter: Lifter, pruned: bool) -> None:
    lifter.delete(3)
    with owner(lifter.world) as connection:
        dead = connection.execute(
            text(
                "INSERT INTO jobs.procrastinate_workers (last_heartbeat) VALUES (now() - interval '5 min') RETURNING id"
            )
        ).scalar_one()
        connection.execute(
            text("UPDATE jobs.procrastinate_jobs SET status = 'doing', worker_id = :id"),
            {"id": None if pruned else dead},
        )
    work_off(lifter.world)
    assert queue(lifter.world) == []
    assert kept(lifter)[0].stale_from is None


def test_a_job_that_cannot_be_done_does_not_hold_up_the_others(lifter: Lifter) -> None:
    world = lifter.world
    with owner(world) as connection:
        for name, args in (("refold_athlete", {"tenant_id": "x"}), ("invented", {})):
            connection.execute(
                text(
                    "INSERT INTO jobs.procrastinate_jobs (queue_name, task_name, args) VALUES ('refolds', :name, :args)"
                ),
                {"name": name, "args": json.dumps(args)},
            )
    lifter.delete(3)
    work_off(world)
    assert kept(lifter)[0].stale_from is None
    left = {job["task_name"]: job["status"] for job in queue(world)}
    assert left == {"refold_athlete": "todo", "invented": "failed"}


def test_a_job_that_names_another_tenants_athlete_touches_nothing(lifter: Lifter) -> None:
    stranger = lifter_of(lifter.world)
    before = comparable(lifter)
    with stranger.store.write(stranger.caller) as work:
        work.states.defer_refold(lifter.id)
    assert queue(lifter.world)[0]["args"]["tenant_id"] == str(stranger.tenant)
    work_off(lifter.world)
    assert queue(lifter.world) == []
    assert comparable(lifter) == before


def test_states_of_an_older_model_are_folded_anew_when_a_worker_starts(lifter: Lifter) -> None:
    refolded(lifter)
    right = comparable(lifter)
    missing = lifter_of(lifter.world, lifter.client)
    missing.post(range(13))
    folded = comparable(missing)
    with owner_of(lifter) as connection:
        mine = capability_states.c.athlete_id == lifter.id
        connection.execute(update(capability_states).where(mine).values(model_version="capability/0"))
        other = capability_states.c.athlete_id == missing.id
        connection.execute(capability_states.delete().where(other))
    work_off(lifter.world)
    assert comparable(lifter) == right
    assert comparable(missing) == folded


@pytest.fixture
def as_runtime(world: World) -> Iterator[Any]:
    with owner(world) as connection:
        connection.execute(text(f"SET LOCAL ROLE {RUNTIME_ROLE}"))
        yield connection


@pytest.mark.parametrize(
    "deed",
    [
        "SELECT * FROM jobs.procrastinate_jobs",
        "INSERT INTO jobs.procrastinate_jobs (queue_name, task_name) VALUES ('refolds', 'invented')",
        "SELECT jobs.procrastinate_fetch_job_v2(NULL, 1)",
        "SELECT jobs.procrastinate_defer_jobs_v1(NULL)",
        "DELETE FROM jobs.procrastinate_workers",
    ],
)
def test_a_request_may_not_look_into_the_queue(as_runtime: Any, deed: str) -> None:
    with pytest.raises(exc.ProgrammingError, match="permission denied"):
        as_runtime.execute(text(deed))


def test_a_job_belongs_to_the_tenant_whose_transaction_asks(as_runtime: Any) -> None:
    with pytest.raises(exc.DBAPIError, match="belongs to a tenant"):
        as_runtime.execute(text("SELECT jobs.defer_refold(:id)"), {"id": UUID(int=7)})
