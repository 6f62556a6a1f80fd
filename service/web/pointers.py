"""Where a fault lies in the body that was sent, as a JSON pointer (RFC 6901)."""

from collections.abc import Iterator, Sequence
from typing import Any, Final, get_args

from service.web.schemas.log import Measurement
from service.web.schemas.places import Implement

#: The member that tells the kinds of a body apart.
_KIND: Final = "kind"
_NO_KIND: Final = frozenset({"union_tag_invalid", "union_tag_not_found"})


def _kinds() -> Iterator[str]:
    for union in (Measurement.model_fields["root"].annotation, get_args(Implement)[0]):
        for model in get_args(union):
            yield from get_args(model.model_fields[_KIND].annotation)


#: The kinds of the bodies that come in kinds. Validation names the kind as a step of a place, where no member stands.
_KINDS: Final = frozenset(_kinds())


def pointer_to(location: Sequence[str | int], fault: str, document: Any) -> str:
    """Return the pointer to a place of validation in the document that was sent; a kind that is wrong is its own place."""
    steps = [*_members(location, document), *([_KIND] if fault in _NO_KIND else [])]
    return "".join(f"/{_escaped(str(step))}" for step in steps)


def _members(location: Sequence[str | int], document: Any) -> Iterator[str | int]:
    """Leave out each kind that stands for no member: once where the document says that it is of that kind."""
    here, told = document, False
    for step in location:
        if not told and step in _KINDS and isinstance(here, dict) and here.get(_KIND) == step:
            told = True
            continue
        yield step
        here, told = _inside(here, step), False


def _inside(document: Any, step: str | int) -> Any:
    if isinstance(document, dict):
        return document.get(step)
    if isinstance(document, list) and isinstance(step, int) and 0 <= step < len(document):
        return document[step]
    return None


def _escaped(step: str) -> str:
    """Escape one step of a JSON pointer (RFC 6901, section 3)."""
    return step.replace("~", "~0").replace("/", "~1")
