"""The contract's document: write it, check that it is up to date, compare it with another."""

import json
from functools import cache
from pathlib import Path
from typing import Annotated, Any

import typer

#: Where the checked-in document lies in a checkout.
DOCUMENT = Path("openapi/openapi.json")
_WRITE = "steelyard openapi --write"


def openapi(
    write: Annotated[bool, typer.Option("--write", help=f"Write the document to {DOCUMENT}.")] = False,
    check: Annotated[
        bool, typer.Option("--check", help=f"Fail unless {DOCUMENT} is what the code says.")
    ] = False,
    against: Annotated[
        Path | None, typer.Option(help="Compare with this older document; fail on a breaking change.")
    ] = None,
    folder: Annotated[Path, typer.Option(help="The checkout.")] = Path(),
) -> None:
    """Print, write, check or compare the OpenAPI document. Needs no database."""
    text = rendered()
    kept = folder / DOCUMENT
    if write:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(text, encoding="utf-8")
        typer.echo(f"wrote {kept}")
    if check and (not kept.is_file() or kept.read_text(encoding="utf-8") != text):
        typer.echo(f"{kept} is not what the code says. Run `{_WRITE}` and review the change.", err=True)
        raise typer.Exit(1)
    if against is not None:
        _compare(against, text)
    if not (write or check or against):
        typer.echo(text, nl=False)


@cache
def rendered() -> str:
    """Return the document as it is checked in, laid out so that changes show line by line.

    The code does not change while it runs, so that it is built once in a process.
    """
    return json.dumps(_document(), indent=2, ensure_ascii=False) + "\n"


def _document() -> dict[str, Any]:
    from service.app import create_app
    from service.settings import Settings

    nowhere = "postgresql+psycopg://127.0.0.1:1/none"
    return create_app(Settings(nowhere, nowhere)).openapi()


def _compare(against: Path, text: str) -> None:
    from service.web.compatibility import breaking, compare

    changes = compare(json.loads(against.read_text(encoding="utf-8")), json.loads(text))
    for change in changes:
        typer.echo(str(change))
    broken = len(breaking(changes))
    typer.echo(f"{len(changes)} changes, {broken} of them breaking")
    if broken:
        raise typer.Exit(1)
