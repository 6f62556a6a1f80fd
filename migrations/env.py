"""Run migrations: one at a time over all deployments, in small transactions, giving up rather than blocking traffic."""

from alembic import context
from sqlalchemy import create_engine, pool, text

#: A migration that cannot get its lock, or runs long, gives up; it is run again when the table is quiet.
LOCK_TIMEOUT = "4s"
STATEMENT_TIMEOUT = "5s"
#: Any fixed number; two deployments that migrate the same database queue up on it.
ADVISORY_LOCK = 7305108291


def run_online() -> None:
    """Upgrade the database that the configuration names, holding the advisory lock throughout."""
    url = context.config.get_main_option("sqlalchemy.url")
    if not url:
        raise SystemExit("no database: run `steelyard migrate`, which knows the URL")
    engine = create_engine(url, poolclass=pool.NullPool)
    with engine.connect() as lock_holder, engine.connect() as connection:
        lock_holder.execute(text("SELECT pg_advisory_lock(:key)"), {"key": ADVISORY_LOCK})
        connection.execute(text(f"SET lock_timeout = '{LOCK_TIMEOUT}'"))
        connection.execute(text(f"SET statement_timeout = '{STATEMENT_TIMEOUT}'"))
        connection.commit()
        context.configure(connection=connection, transaction_per_migration=True)
        with context.begin_transaction():
            context.run_migrations()


if context.is_offline_mode():
    raise SystemExit("offline migrations are not offered: the runtime role's grants need a live database")
run_online()
