"""Bodies validated outside a route: whole ones of a queue, and what a merge patch makes of a stored one.

What the patch itself says wrongly is 422. What it says well, but does not go with the stored body, is 409.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any

from pydantic import BaseModel, TypeAdapter, ValidationError

from service.usecases.documents import Document
from service.usecases.errors import NotPossible
from service.web.problems import RequestRefused, of_invalid
from service.web.rendering import to_record

Fault = Mapping[str, Any]


def parser(schema: Any, record: Any) -> Callable[[Document], Any]:
    """Return the function that validates a whole body and returns its record."""
    adapter: TypeAdapter[BaseModel] = TypeAdapter(schema)
    return lambda document: to_record(adapter.validate_python(document), record)


def merge_parser(schema: Any, record: Any, patch: Document) -> Callable[[Document], Any]:
    """Return the function that validates what a patch made of a stored body, and tells whose fault a fault is."""
    parse = parser(schema, record)
    variants = _variants(schema)

    def checked(document: Document) -> Any:
        try:
            return parse(document)
        except ValidationError as invalid:
            faults = [_without_variant(fault, variants) for fault in invalid.errors()]
        own = [fault for fault in faults if _said_by(fault, patch, variants)]
        # Where the body itself comes in kinds, the kind has been taken out of the places already.
        problem = of_invalid(own or faults, None if variants else document, in_body=True)
        if own:
            raise RequestRefused(problem)
        raise NotPossible("The patch does not go with what is stored.", faults=problem.faults)

    return checked


def _variants(schema: Any) -> dict[str, type[BaseModel]]:
    """Return the kinds of a body that comes in kinds, by the word that tells them apart."""
    root = schema.model_fields.get("root")
    if root is None:
        return {}
    return {model.model_fields["kind"].annotation.__args__[0]: model for model in root.annotation.__args__}


def _without_variant(fault: Fault, variants: Mapping[str, Any]) -> Fault:
    place = fault["loc"]
    return {**fault, "loc": place[1:]} if place and place[0] in variants else fault


def _said_by(fault: Fault, patch: Document, variants: Mapping[str, type[BaseModel]]) -> bool:
    place = fault["loc"]
    if fault["type"] == "extra_forbidden" and any(
        place[0] in kind.model_fields for kind in variants.values()
    ):
        return False
    if (
        place
        and place[0] in patch
        and any(_fits(kind, place[0], patch[place[0]]) for kind in variants.values())
    ):
        return False  # it fits another kind than the stored one
    return _names(patch, place, missing=fault["type"] == "missing")


def _fits(kind: type[BaseModel], member: Any, value: Any) -> bool:
    """Whether a value is one that a kind of body can have for a member."""
    field = kind.model_fields.get(member)
    if field is None:
        return False
    try:
        wanted: Any = Annotated[(field.annotation, *field.metadata, "member")]
        TypeAdapter(wanted).validate_python(value)
    except ValidationError:
        return False
    return True


def _names(patch: Any, place: Sequence[Any], *, missing: bool) -> bool:
    """Whether a patch itself says what stands at a place, or takes it away."""
    for step in place:
        if not isinstance(patch, dict):
            return True  # a list or a value replaces whole
        if step not in patch:
            return False
        patch = patch[step]
    return not missing or patch is None
