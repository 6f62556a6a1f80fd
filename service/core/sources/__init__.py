"""Every work that a number in Steelyard comes from, one registry, one key each.

Keys are AuthorYear. A docstring cites ``[Key]_, locator``; an answer lists the keys it rests on; ``GET /v1/sources``
renders this registry. Works are grouped by what they are about, one module a group.
"""

from service.core.sources.registry import Provenance, Source, collect

__all__ = ["SOURCES", "Provenance", "Source"]

#: All works by key.
SOURCES: dict[str, Source] = collect()
