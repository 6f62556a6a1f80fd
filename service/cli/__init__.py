"""The command line. Each command imports what it needs when it runs, so that ``--help`` is quick."""

import typer

from service.cli import keys, serving, tenants, working
from service.cli.backtesting import backtest
from service.cli.demonstrating import demo
from service.cli.openapi import openapi

app = typer.Typer(
    help="Steelyard: from a log of resistance training to the next decision for one body. Guidance, not medicine.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command("serve")(serving.serve)
app.command("migrate")(serving.migrate)
app.command("worker")(working.worker)
app.command("refold")(working.refold)
app.command("doctor")(serving.doctor)
app.command("demo")(demo)
app.command("backtest")(backtest)
app.command("openapi")(openapi)
app.add_typer(tenants.app, name="tenant")
app.add_typer(keys.app, name="key")

__all__ = ["app"]
