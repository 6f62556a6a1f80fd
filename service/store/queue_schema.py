"""The job queue's schema: tables of procrastinate in a schema of their own, which only the owner reads.

Requests run as the runtime role. It may do one thing here: call a function that asks for a refold of an athlete of the
tenant whose transaction it is. Jobs hold ids and nothing else.
"""

from collections.abc import Iterator
from importlib import resources

from procrastinate.schema import SchemaManager
from sqlalchemy import Connection, create_engine, pool, text

from service.store.database import RUNTIME_ROLE

#: Where the queue's tables lie; the statements below name it in full.
SCHEMA = "jobs"
#: Deployments that migrate at the same moment queue up on it; another one than the migrations' own.
_ADVISORY_LOCK = 7305108292
#: The function's version: a new name puts it in place where an older one stands.
_OWN_CHANGE = "defer_refold 2"
#: A job that waits already is enough, so that a second request for it is no error.
_DEFER_REFOLD = """
    CREATE OR REPLACE FUNCTION jobs.defer_refold(athlete_id uuid) RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = jobs, pg_catalog AS $$
    DECLARE
        tenant text := nullif(current_setting('steelyard.tenant_id', true), '');
        task text := CASE WHEN athlete_id IS NULL THEN 'refold_tenant' ELSE 'refold_athlete' END;
        key text := concat_ws(' ', task, tenant, athlete_id);
    BEGIN
        IF tenant IS NULL THEN
            RAISE 'a refold belongs to a tenant';
        END IF;
        LOOP
            BEGIN
                PERFORM procrastinate_defer_jobs_v1(ARRAY[
                    ROW('refolds', task, 0, key, key,
                        jsonb_strip_nulls(jsonb_build_object('tenant_id', tenant, 'athlete_id', athlete_id)), NULL)
                ]::procrastinate_job_to_defer_v1[]);
                RETURN;
            EXCEPTION WHEN unique_violation THEN
                -- The job that waits must not begin before this transaction ends: it would not see what was written.
                PERFORM 1 FROM procrastinate_jobs WHERE queueing_lock = key AND status = 'todo' FOR UPDATE;
                IF FOUND THEN
                    RETURN;
                END IF;
            END;
        END LOOP;
    END $$
"""
_FIND_IT_WHEREVER_CALLED = """
    DO $$
    DECLARE one regprocedure;
    BEGIN
        FOR one IN SELECT oid::regprocedure FROM pg_proc WHERE pronamespace = 'jobs'::regnamespace LOOP
            EXECUTE format('ALTER FUNCTION %s SET search_path = jobs, pg_catalog', one);
        END LOOP;
    END $$
"""
_RIGHTS = (
    "REVOKE ALL ON ALL FUNCTIONS IN SCHEMA jobs FROM PUBLIC",
    f"GRANT USAGE ON SCHEMA jobs TO {RUNTIME_ROLE}",
    f"GRANT EXECUTE ON FUNCTION jobs.defer_refold(uuid) TO {RUNTIME_ROLE}",
)


def bring_up_to_date(owner_url: str) -> None:
    """Create the queue's schema, or apply those changes of the installed procrastinate that it has not seen."""
    engine = create_engine(owner_url, poolclass=pool.NullPool)
    with engine.begin() as connection:
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ADVISORY_LOCK})
        missing = list(_missing(connection))
        if not missing:
            return
        for statements in (
            "SET LOCAL search_path = jobs",
            *missing,
            _DEFER_REFOLD,
            _FIND_IT_WHEREVER_CALLED,
            *_RIGHTS,
        ):
            connection.exec_driver_sql(statements.replace("%", "%%"))


def _missing(connection: Connection) -> Iterator[str]:
    """Yield what has to be run, noting it as run: the whole schema at first, later each newer change."""
    names = sorted(
        entry.name
        for entry in resources.files("procrastinate.sql.migrations").iterdir()
        if entry.name.endswith(".sql")
    )
    first = connection.execute(text("SELECT to_regclass('jobs.applied_changes')")).scalar() is None
    if first:
        connection.execute(text("CREATE SCHEMA jobs"))
        connection.execute(text("CREATE TABLE jobs.applied_changes (name text PRIMARY KEY)"))
        yield SchemaManager.get_schema()
    names.append(_OWN_CHANGE)
    known = set(connection.execute(text("SELECT name FROM jobs.applied_changes")).scalars())
    for name in names:
        if name in known:
            continue
        connection.execute(text("INSERT INTO jobs.applied_changes VALUES (:name)"), {"name": name})
        if name == _OWN_CHANGE:
            yield "SELECT 1"  # the function is put in place with every change
        elif not first:
            yield (resources.files("procrastinate.sql.migrations") / name).read_text("utf-8")
