"""API keys of a tenant, from the command line: how a tenant gets its first one."""

from typing import Annotated
from uuid import UUID

import typer

from service.cli.database import open_database

app = typer.Typer(help="Make API keys.", no_args_is_help=True)

TenantId = Annotated[UUID, typer.Option("--tenant", help="The tenant whose key it is.")]
Scopes = Annotated[
    list[str] | None, typer.Option("--scope", help="What it may do; repeat. Default: everything.")
]


@app.command("create")
def create(
    tenant: TenantId,
    name: Annotated[str, typer.Option(help="What the key is for.")] = "first key",
    scope: Scopes = None,
) -> None:
    """Make a key and print its secret: the only time that it is shown."""
    from service.usecases.errors import UseCaseError

    with open_database() as database:
        _known(database.settings.migrations_url, tenant)
        try:
            typer.echo(_made(database.settings.database_url, tenant, name, scope))
        except UseCaseError as refusal:
            typer.echo(refusal.sentence, err=True)
            for fault in refusal.faults:
                typer.echo(f"  {fault.detail}: expected {fault.expected}", err=True)
            raise typer.Exit(1) from refusal


@app.command("scopes")
def scopes() -> None:
    """Print every scope and what it allows."""
    from service.usecases.api_keys import SCOPES

    for name, meaning in SCOPES.items():
        typer.echo(f"{name:16} {meaning}")


def _known(owner_url: str, tenant: UUID) -> None:
    from service.store.tenants import list_tenants

    if tenant not in {tenant_id for tenant_id, _ in list_tenants(owner_url)}:
        typer.echo(f"there is no tenant {tenant}; `steelyard tenant list` shows those there are", err=True)
        raise typer.Exit(1)


def _made(database_url: str, tenant: UUID, name: str, scope: list[str] | None) -> str:
    from service.app import system_clock
    from service.store.database import Database
    from service.store.unit_of_work import PostgresStore
    from service.usecases.api_keys import SCOPES
    from service.usecases.api_keys import create as create_key
    from service.usecases.ports import Caller, Reach

    store = PostgresStore(Database(database_url, pool_size=1), system_clock)
    try:
        with store.write(Caller(tenant, UUID(int=0), frozenset(SCOPES))) as work:
            return create_key(work, name, scope or list(SCOPES), Reach(), None).secret
    finally:
        store.close()
