"""The record of one cited work, and the collection of all groups."""

from dataclasses import dataclass
from importlib import import_module
from pkgutil import iter_modules
from typing import Literal

#: How the cited figure was seen: in the work's own text, in a page that reproduces it, or recalled.
Provenance = Literal["read", "read_secondary", "memory"]


@dataclass(frozen=True, slots=True)
class Source:
    """One cited work.

    ``provenance`` says how the figures taken from it were seen; ``note`` names errata and doubts.
    """

    key: str
    title: str
    authors: str
    year: int
    where: str
    provenance: Provenance
    doi: str | None = None
    note: str | None = None


def collect() -> dict[str, Source]:
    """Gather ``WORKS`` of every sibling module into one registry; a key that occurs twice is an error."""
    registry: dict[str, Source] = {}
    package = "service.core.sources"
    for module in iter_modules(import_module(package).__path__):
        if module.name == "registry":
            continue
        for work in import_module(f"{package}.{module.name}").WORKS:
            if work.key in registry:
                raise ValueError(f"source key {work.key} stands twice")
            registry[work.key] = work
    return dict(sorted(registry.items()))
