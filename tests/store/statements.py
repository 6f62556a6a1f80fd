"""Every statement that an application sends to its database, as a test can see and change it."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Engine, event

#: A bound predicate on the tenant, in the form in which it reaches the database.
BOUND = re.compile(r"(?:\w+\.)?tenant_id = %\(\w+\)s(?:::UUID)?")


@dataclass(frozen=True, slots=True)
class Sent:
    """One statement with its parameters."""

    text: str
    parameters: Any


@contextmanager
def listening(engine: Engine) -> Iterator[list[Sent]]:
    """Collect the statements that are sent meanwhile."""
    sent: list[Sent] = []

    def note(_: Any, __: Any, statement: str, parameters: Any, ___: Any, ____: bool) -> None:
        sent.append(Sent(statement, parameters))

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


@contextmanager
def rewriting(engine: Engine, rewrite: Callable[[str], str]) -> Iterator[None]:
    """Send other statements than the application meant to."""

    def replace(_: Any, __: Any, statement: str, parameters: Any, ___: Any, ____: bool) -> tuple[str, Any]:
        return rewrite(statement), parameters

    event.listen(engine, "before_cursor_execute", replace, retval=True)
    try:
        yield
    finally:
        event.remove(engine, "before_cursor_execute", replace)


def without_tenant(statement: str) -> str:
    """Return the statement as it would be if somebody had forgotten whose rows it is about."""
    return BOUND.sub("true", statement)
