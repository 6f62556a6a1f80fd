"""Fixed ids: the same invented thing has the same id on every machine and in every run."""

from uuid import UUID, uuid5

#: Any fixed namespace; ids below it are our own.
_INVENTED = UUID("5ba1a2ce-0000-4000-8000-57ee17a4d000")


def invented_id(*parts: object) -> str:
    """Return the id of an invented thing, named by its parts."""
    return str(uuid5(_INVENTED, "/".join(map(str, parts))))
