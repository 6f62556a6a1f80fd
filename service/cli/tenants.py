"""Tenants: made by whoever owns the database, never by a request."""

from datetime import UTC, datetime
from typing import Annotated
from uuid import uuid4

import typer

from service.cli.database import open_database

app = typer.Typer(help="Make and list tenants.", no_args_is_help=True)


@app.command("create")
def create(name: Annotated[str, typer.Argument(help="What the tenant is called.")]) -> None:
    """Make a tenant and print its id."""
    from service.store.tenants import create_tenant

    tenant_id = uuid4()
    with open_database() as database:
        create_tenant(database.settings.migrations_url, tenant_id, name, datetime.now(UTC))
    typer.echo(str(tenant_id))


@app.command("list")
def list_all() -> None:
    """Print every tenant's id and name."""
    from service.store.tenants import list_tenants

    with open_database() as database:
        for tenant_id, name in list_tenants(database.settings.migrations_url):
            typer.echo(f"{tenant_id}  {name}")
