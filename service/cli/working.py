"""Work behind the requests: the queue's worker, and refolds asked for by hand."""

from typing import Annotated
from uuid import UUID

import typer

from service.cli.database import migrate_database, open_database

OneTenant = Annotated[UUID | None, typer.Option("--tenant", help="Only this tenant's athletes.")]
OneAthlete = Annotated[UUID | None, typer.Option("--athlete", help="Only this athlete; needs --tenant.")]


def worker() -> None:
    """Work off the job queue until stopped: states that are stale or of an older model are folded anew from the log."""
    from service.usecases.folding.engine import warm_up
    from service.worker import create_worker, run

    with open_database() as database:
        if database.embedded:
            migrate_database(database)
        warm_up()
        run(create_worker(database.settings))


def refold(tenant: OneTenant = None, athlete: OneAthlete = None) -> None:
    """Fold logs anew from their beginning, now and in this process. Requests go on meanwhile."""
    from service.store.tenants import list_tenants
    from service.worker import create_worker

    if athlete is not None and tenant is None:
        typer.echo("--athlete needs the --tenant whose athlete it is", err=True)
        raise typer.Exit(2)
    with open_database() as database:
        working = create_worker(database.settings)
        known = [tenant_id for tenant_id, _ in list_tenants(database.settings.migrations_url)]
        try:
            if tenant is not None and tenant not in known:
                typer.echo(
                    f"there is no tenant {tenant}; `steelyard tenant list` shows those there are", err=True
                )
                raise typer.Exit(1)
            if tenant is not None and athlete is not None:
                working.refolder.athlete(tenant, athlete, anew=True)
                typer.echo("folded 1 athlete anew")
                return
            wanted = known if tenant is None else [tenant]
            count = sum(working.refolder.tenant(tenant_id, anew=True) for tenant_id in wanted)
            typer.echo(f"folded {count} athletes anew")
        finally:
            working.close()
