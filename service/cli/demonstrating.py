"""``steelyard demo``: an invented gym with real requests, on this machine alone."""

import os
import signal
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Annotated

import httpx
import typer
from rich.console import Console

from service.cli.database import OpenDatabase, migrate_database, open_database
from service.cli.plan_table import print_plan
from service.kernel_cache import compiling_meanwhile

if TYPE_CHECKING:
    from service.demo.preparing import Prepared

FIRST_PORT = 8421


def demo(
    check: Annotated[bool, typer.Option("--check", help="Do all of it on any free port, then stop.")] = False,
    port: Annotated[int, typer.Option(help="First port to try.", min=1, max=65000)] = FIRST_PORT,
) -> None:
    """Start the service with a dozen invented people in it and show one next session."""
    from service.demo.loading import DemoLoadFailed

    console = Console(highlight=False)
    # A polite kill ends the demo as Ctrl-C does.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        _demonstrate(console, 0 if check else port, stay=not check)
    except DemoLoadFailed as failure:
        typer.echo(str(failure), err=True)
        raise typer.Exit(1) from failure
    except KeyboardInterrupt:
        console.print("Stopped.", style="dim")


def _demonstrate(console: Console, port: int, *, stay: bool) -> None:
    began = time.monotonic()
    with ExitStack() as opened:
        with compiling_meanwhile():
            database = opened.enter_context(open_database())
            migrate_database(database)
        with _running(database, port, console) as (url, prepared):
            _print_exports(url, prepared)
            shown = _print_next_session(url, prepared, console)
            console.print(f"Ready after {time.monotonic() - began:.1f} s.", style="dim")
            if stay:
                console.print(f"Serving on {url} (loopback only). Ctrl-C stops it.")
                threading.Event().wait()
    if not shown:
        raise typer.Exit(1)


@contextmanager
def _running(database: OpenDatabase, port: int, console: Console) -> "Iterator[tuple[str, Prepared]]":
    from service.app import create_app
    from service.demo.listening import free_socket, listening
    from service.demo.preparing import prepare, tenant_for
    from service.demo.remembering import memory_file

    file = memory_file(database.data_dir, os.environ.get("DATABASE_URL"))
    app = create_app(database.settings)
    memory = tenant_for(database.settings, app.state.services.store, file)
    with listening(app, free_socket(port)) as url:
        began = time.monotonic()
        with console.status("inventing a gym ...") as status:
            prepared = prepare(
                url, memory, file, lambda done, of: status.update(f"inventing a gym: {done} of {of} people")
            )
        if prepared.loaded:
            counts = prepared.loaded
            console.print(
                f"Invented {counts.people} people with {counts.sessions} sessions and {counts.sets} sets "
                f"in {time.monotonic() - began:.1f} s.",
                style="dim",
            )
        yield url, prepared


def _print_exports(url: str, prepared: "Prepared") -> None:
    """Print what a shell needs for the README's requests, bare of colour and wrapping."""
    from service.demo.gyms import QUAY
    from service.demo.loading import ROSTER
    from service.demo.people import ILVA

    keys = {f"{caller.upper()}_KEY": prepared.keys[caller] for caller in ("app", "coach", "portal", "admin")}
    ids = {"ATHLETE": ILVA.id, "SITE": QUAY, "ROSTER": ROSTER}
    for name, value in {"STEELYARD_URL": url, **keys, **ids, "J": "-HContent-Type:application/json"}.items():
        typer.echo(f"export {name}={value}")
    typer.echo("Everything runs here: no data leaves this machine. All people and gyms in it are invented.")
    typer.echo(f"Their logs end on the day before {prepared.first_day}, the day of the first run.")


def _print_next_session(url: str, prepared: "Prepared", console: Console) -> bool:
    """Ask for one person's next session as an app would, and print it or the reason why there is none."""
    from service.demo.people import ILVA

    headers = {"Authorization": f"Bearer {prepared.keys['app']}"}
    where = f"{url}/v1/athletes/{ILVA.id}/next-session"
    answer = httpx.get(where, headers=headers, timeout=60, trust_env=False)
    if answer.status_code != httpx.codes.OK:
        console.print(f"No next session: {answer.status_code} {answer.text[:600]}")
        return False
    print_plan(console, "Next session of Ilva (an invented person), from GET .../next-session", answer.json())
    return True
