"""Two layers keep tenants apart, a predicate in each statement and a forced policy; each alone is enough."""

import inspect
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from sqlalchemy import Engine, create_engine, event, exc, insert, pool, select, text, update

from service.store.feed import Feed
from service.store.keys import Keys
from service.store.log import Log
from service.store.people import People
from service.store.resources import Resources
from service.store.states import States
from service.store.tables import UNSCOPED_TABLES, metadata
from service.usecases.documents import fingerprint
from service.usecases.fold_rows import KeptFold, Packing
from service.usecases.kinds import AIM, GROUP, KINDS, SET
from service.usecases.ports import Caller, KeyRow, Page, Reach
from service.usecases.records.log import LoggedSet
from service.usecases.records.people import Consent, Group, Screening
from service.usecases.records.wants import Aim
from tests.store.furnished import Furnished, furnish, operations
from tests.store.statements import Sent, listening, rewriting, without_tenant
from tests.world import ALL_SCOPES, World

#: What a furnished tenant has no rows in; `test_capability_states` looks at checkpoints of its own.
EMPTY = {"keyed_results", "capability_checkpoints"}
TENANT_TABLES = sorted(set(metadata.tables) - UNSCOPED_TABLES)
AT = datetime(2026, 11, 23, 16, 20, tzinfo=UTC)
FULL = LoggedSet(exercise_id="bench-press", performed_at=AT, reps=6)


@pytest.fixture(scope="module")
def two(shared_world: World) -> tuple[Furnished, Furnished]:
    return furnish(shared_world), furnish(shared_world)


@pytest.fixture
def engine(shared_world: World) -> Engine:
    return engine_of(shared_world)


def engine_of(world: World) -> Engine:
    found: Engine = world.app.state.services.store.database.engine
    return found


def tables_in(statement: str) -> set[str]:
    """Return the tenant tables that a statement reads or writes."""
    words = set(re.findall(r"\b(?:FROM|JOIN|UPDATE|INTO|,)\s+(\w+)", statement))
    return words & set(TENANT_TABLES)


def unbound(sent: Sent) -> list[str]:
    """Return the tables of a statement that no predicate or value ties to the tenant."""
    names = tables_in(sent.text)
    if "\nWHERE false " in sent.text:  # What lies out of reach is not even asked for.
        return []
    if sent.text.startswith("INSERT"):
        columns = sent.text[: sent.text.index(")")]
        return [] if re.search(r"[(, ]tenant_id\b", columns) else sorted(names)
    return [name for name in sorted(names) if f"{name}.tenant_id = " not in sent.text]


REPOSITORIES = (Resources, Log, People, Keys, Feed, States)
PACKING = Packing("invented/1", 1)
FOLD = KeptFold(3, 9, (AT, "invented"), AT, PACKING, b"print", b"packed")


@contextmanager
def counted(monkeypatch: pytest.MonkeyPatch) -> Iterator[set[str]]:
    """Note which public methods of the repositories are called."""
    called: set[str] = set()

    def wrapped(name: str, method: Any) -> Any:
        def call(*args: Any, **kwargs: Any) -> Any:
            called.add(name)
            return method(*args, **kwargs)

        return call

    for repository in REPOSITORIES:
        for name in public(repository):
            full = f"{repository.__name__}.{name}"
            monkeypatch.setattr(repository, name, wrapped(full, getattr(repository, name)))
    yield called


def public(repository: type) -> list[str]:
    return [name for name, _ in inspect.getmembers(repository, inspect.isfunction) if name[0] != "_"]


def test_every_statement_of_every_repository_names_the_tenant_of_every_table(
    shared_world: World, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    methods = {f"{one.__name__}.{name}" for one in REPOSITORIES for name in public(one)}
    with counted(monkeypatch) as called, listening(engine) as sent:
        tenant = furnish(shared_world)
        exercise_every_repository(shared_world, tenant)
    assert called == methods
    touched = {name for one in sent for name in tables_in(one.text)}
    assert touched == set(TENANT_TABLES)
    assert [(one.text, unbound(one)) for one in sent if unbound(one)] == []


def test_a_statement_that_forgets_the_tenant_would_be_noticed() -> None:
    forgetful = Sent(
        "SELECT sets.id FROM sets LEFT OUTER JOIN sessions ON sessions.tenant_id = sets.tenant_id", {}
    )
    assert unbound(forgetful) == ["sets"]
    assert unbound(Sent("INSERT INTO sets (id, athlete_id) VALUES (%(id)s, %(tenant_id)s)", {})) == ["sets"]
    assert unbound(Sent("UPDATE aims SET body=%(body)s WHERE aims.id = %(id)s", {})) == ["aims"]


def exercise_every_repository(world: World, tenant: Furnished) -> None:
    """Call every method in every form that changes its statement, for callers with and without a bounded reach."""
    everyone = Caller(tenant.id, tenant.key_id, frozenset(ALL_SCOPES))
    ids = (uuid4(),)
    narrow = Caller(tenant.id, everyone.key_id, frozenset(ALL_SCOPES), Reach(False, ids, ids, ids))
    store = world.app.state.services.store
    athlete_id = UUID(tenant.ids["athlete_id"])
    with store.write(everyone) as work:
        write_everything(work, athlete_id)
    for caller in (everyone, narrow):
        with store.read(caller) as work:
            read_everything(work, athlete_id)


def write_everything(work: Any, athlete_id: UUID) -> None:
    aim = Aim(kind="hold")
    stored = work.resources.insert(AIM, uuid4(), athlete_id, aim, fingerprint(aim))
    work.resources.replace(AIM, stored, aim, fingerprint(aim))
    work.resources.bury(AIM, stored.id, athlete_id, stored)
    work.resources.bury(SET, uuid4(), athlete_id, None)
    work.resources.note_clock_offset(3)
    work.resources.insert_many(SET, athlete_id, [(uuid4(), FULL, fingerprint(FULL)) for _ in range(2)])
    roster = Group(name="invented", athlete_ids=[athlete_id])
    group = work.resources.insert(GROUP, uuid4(), None, roster, fingerprint(roster))
    work.resources.bury(GROUP, group.id, None, work.resources.lock(GROUP, group.id))
    assert work.people.lock(athlete_id) == work.people.held(athlete_id)
    work.people.add_consent(
        athlete_id, uuid4(), Consent(purpose="coach", granted=True, text_version="1", recorded_at=AT)
    )
    screening = Screening(
        instrument="invented",
        performed_on=AT.date(),
        instrument_version="1",
        outcome="clear",
        conditions=[],
        procedures=[],
        recorded_at=AT,
    )
    work.people.add_screening(athlete_id, uuid4(), screening)
    key = KeyRow(uuid4(), "invented", ("compute",), Reach(), AT, None, None)
    work.keys.add(key, b"invented")
    work.keys.revoke(key.id)
    work.keys.claim("invented")
    work.keys.keep_result("invented", b"print", {})
    work.states.keep(athlete_id, FOLD, (AT, "newest"))
    work.states.add_checkpoints(athlete_id, [FOLD])
    work.states.drop_checkpoints(athlete_id, keep=[1, 3])
    work.states.mark_stale(athlete_id, AT, PACKING)
    work.states.refolded_before(athlete_id, AT + timedelta(days=1), PACKING)
    work.states.defer_refold(athlete_id)
    work.states.defer_refold(None)
    work.states.forget(uuid4())
    work.note_change(AIM, stored, "put")


def read_everything(work: Any, athlete_id: UUID) -> None:
    for kind in KINDS.values():
        of = athlete_id if kind.of_athlete else None
        work.resources.get(kind, uuid4(), of)
        work.resources.get_many(kind, [uuid4(), uuid4()], of)
        work.resources.all_of(kind, of)
    work.resources.page(KINDS["athlete"], None, Page({"group_id": uuid4(), "external_ref": "invented"}))
    work.resources.page(SET, athlete_id, Page({"from": AT, "to": AT, "side": "left"}, 10, (AT, uuid4())))
    before = AT - timedelta(days=1)
    work.log.sets_between(athlete_id, before, AT)
    work.log.sets_between(athlete_id, before, AT, "bench-press")
    work.log.sets_between(athlete_id, before, AT, "bench-press", 5)
    work.log.sessions_of(athlete_id, [uuid4()])
    work.log.sessions_between(athlete_id, before, AT)
    work.log.checkins_between(athlete_id, before, AT)
    work.log.measurements_between(athlete_id, before, AT, "body_mass")
    work.log.session_set_ids(athlete_id, uuid4())
    for since, until, limit in ((None, None, None), (before, AT, 10)):
        work.log.rows_to_fold(athlete_id, since, until, limit)
        work.log.told_to_fold(athlete_id, since, until)
    work.log.session_starts(athlete_id, [uuid4()])
    work.states.standing(athlete_id)
    work.states.newest(athlete_id, PACKING)
    work.states.newest(athlete_id, PACKING, before=AT, through=AT, fewer_than=5)
    work.states.outdated(PACKING, uuid4(), 10)
    work.states.folded(None, 10)
    work.people.athlete(athlete_id)
    work.people.in_reach([athlete_id])
    work.people.roster(None, None, 10)
    for group_id in (uuid4(), *work.caller.reach.group_ids):
        work.people.group_in_reach(group_id)
        work.people.roster(group_id, uuid4(), 10)
    work.people.site_in_reach(uuid4())
    work.people.consents(athlete_id, AT)
    work.people.screenings(athlete_id)
    work.keys.every()
    work.keys.get(uuid4())
    work.keys.stored_result("invented")
    work.feed.state()
    work.feed.after(0, 10, None)
    work.feed.after(0, 10, athlete_id)


def foreign(mine: Furnished, theirs: Furnished) -> list[tuple[str, int, str]]:
    """Return what a caller is answered who asks for another tenant's things, by every reading operation."""
    reads = [one for one in operations(mine.client.app) if one.method == "GET" and one.parameters]
    answers = [(one.id, one.send(mine.client, theirs.ids)) for one in reads]
    return [(name, answer.status_code, answer.text) for name, answer in answers]


def everything_listed(tenant: Furnished) -> str:
    """Return the text of every list that a tenant can ask for without naming anything."""
    lists = [one for one in operations(tenant.client.app) if one.method == "GET" and not one.parameters]
    lists = [one for one in lists if one.scope is not None]
    return "".join(one.send(tenant.client, {}).text for one in lists)


def shows_nothing(mine: Furnished, theirs: Furnished) -> bool:
    refused = all((status, "not_found" in body) == (404, True) for _, status, body in foreign(mine, theirs))
    listed = everything_listed(mine)
    own, other = mine.ids["athlete_id"], theirs.ids
    return refused and own in listed and not any(id in listed for id in other.values())


@contextmanager
def policies_off(world: World) -> Iterator[None]:
    engine = create_engine(world.url, poolclass=pool.NullPool)
    with engine.begin() as owner:
        for name in TENANT_TABLES:
            owner.execute(text(f"ALTER TABLE {name} DISABLE ROW LEVEL SECURITY"))
    yield


def test_each_layer_alone_keeps_tenants_apart_and_without_both_the_other_tenant_shows(world: World) -> None:
    mine, theirs = furnish(world), furnish(world)
    engine = engine_of(world)
    with rewriting(engine, without_tenant), listening(engine) as sent:
        assert shows_nothing(mine, theirs)
    assert sum(" true" in one.text for one in sent) > 50
    with policies_off(world):
        assert shows_nothing(mine, theirs)
        with rewriting(engine, without_tenant):
            shown = {name for name, status, _ in foreign(mine, theirs) if status == 200}
            assert theirs.ids["athlete_id"] in everything_listed(mine)
    assert {"getAthlete", "getSet", "getSite", "listConsents"} <= shown


def test_a_bare_statement_sees_only_its_own_tenants_rows(
    shared_world: World, two: tuple[Furnished, Furnished]
) -> None:
    database = shared_world.app.state.services.store.database
    for table in (metadata.tables[name] for name in TENANT_TABLES):
        for tenant in two:
            with database.transaction(tenant.id, read_only=True) as connection:
                seen = connection.execute(select(table.c.tenant_id)).scalars().all()
            assert set(seen) == ({tenant.id} if table.name not in EMPTY else set()), table.name
        with database.transaction(None, read_only=True) as connection:
            assert connection.execute(select(table.c.tenant_id)).first() is None


def test_a_row_cannot_be_written_into_another_tenant(
    shared_world: World, two: tuple[Furnished, Furnished]
) -> None:
    mine, theirs = two
    database = shared_world.app.state.services.store.database
    members, sites = metadata.tables["group_members"], metadata.tables["sites"]
    planted = insert(members).values(tenant_id=theirs.id, group_id=uuid4(), athlete_id=uuid4())
    for statement in (planted, update(sites).values(tenant_id=theirs.id)):
        with pytest.raises(exc.ProgrammingError, match="row-level security"):  # noqa: SIM117
            with database.transaction(mine.id, read_only=False) as connection:
                connection.execute(statement)
    with database.transaction(mine.id, read_only=False) as connection:
        theirs_only = update(sites).where(sites.c.tenant_id == theirs.id).values(version=99)
        assert connection.execute(theirs_only).rowcount == 0


def test_reads_cannot_write(shared_world: World, two: tuple[Furnished, Furnished]) -> None:
    tenant = two[0]
    caller = Caller(tenant.id, tenant.key_id, frozenset(ALL_SCOPES))
    aim = Aim(kind="hold")
    with pytest.raises(exc.InternalError, match="read-only transaction"):  # noqa: SIM117
        with shared_world.app.state.services.store.read(caller) as work:
            work.resources.insert(AIM, uuid4(), UUID(tenant.ids["athlete_id"]), aim, fingerprint(aim))


def test_every_get_is_sent_in_a_read_only_transaction(
    shared_world: World, engine: Engine, two: tuple[Furnished, Furnished]
) -> None:
    tenant = two[0]
    gets = [one for one in operations(shared_world.app) if one.method == "GET" and one.scope is not None]
    modes: list[bool] = []

    def note(connection: Any, *_: Any) -> None:
        modes.append(connection.connection.dbapi_connection.read_only)

    event.listen(engine, "before_cursor_execute", note)
    answers = [one.send(tenant.client, tenant.ids) for one in gets]
    event.remove(engine, "before_cursor_execute", note)
    assert len(modes) > 2 * len(gets)
    assert set(modes) == {True}
    assert max(answer.status_code for answer in answers) < 500


def test_nothing_of_one_request_is_left_on_the_connection_for_the_next(
    engine: Engine, two: tuple[Furnished, Furnished]
) -> None:
    question = (
        "SELECT current_user = session_user, nullif(current_setting('steelyard.tenant_id', true), ''),"
        " current_setting('transaction_read_only')"
    )
    for _ in range(10):
        assert two[0].client.get(two[0].athlete).status_code == 200
        with engine.connect() as connection:
            assert tuple(connection.execute(text(question)).one()) == (True, None, "off")
