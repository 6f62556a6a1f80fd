"""Computing what to lift next, and a drop set, from a body alone: nothing is stored."""

from typing import Annotated

from fastapi import APIRouter, Body, Response

from service.usecases import errors as refused
from service.usecases.answers.compute_drops import compute_drop_set
from service.usecases.answers.compute_progression import compute_load_progression
from service.usecases.records import computations
from service.web.operation import declare
from service.web.parameters import AcceptLanguage, CallerOf, ServicesOf
from service.web.rendering import json_response
from service.web.routes.compute import computed, operation_on_body
from service.web.routes.compute_examples import drop_set_example, load_progression_example
from service.web.schemas import compute_training as schema

_ERRORS = (refused.UnknownReference, refused.NothingToComputeOn, refused.OutsideValidRange)
_LOAD_PROGRESSION = operation_on_body(
    "computeLoadProgression", "/compute/load-progression", "Load progression", "Next load from sets that are sent along",
    "The same answer as for a stored log, from the sets in the body: one action, load and repetitions by side, chances, "
    "interval, reasons, cautions, and the one missing fact worth most. At most 500 sets of the last 180 days. The same body "
    "gets the same answer at any time.",
    schema.LoadProgressionComputed, load_progression_example(), (*_ERRORS, refused.NotPossible),
)  # fmt: skip
_DROP_SET = operation_on_body(
    "computeDropSet", "/compute/drop-set", "Load progression", "Drops after a set to failure",
    "Loads that can be made, each the heaviest that is likely enough to reach the wanted repetitions, with chance, interval, "
    "total and minutes. No drops (`leave_out`) for novices, after a break, without a clear screening, or in lifts that are "
    "mostly technique. Where practice expects more of a drop than the model, the reasons say so.",
    schema.DropSetAnswer, drop_set_example(), _ERRORS,
)  # fmt: skip


def router() -> APIRouter:
    """Return the operations that compute from sets in a body."""
    made = APIRouter()
    language = {"Content-Language": "en"}

    @declare(made, _LOAD_PROGRESSION)
    def compute_next_load(
        body: Annotated[schema.LoadProgressionQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute_load_progression, body, computations.LoadProgressionQuestion, services)
        return json_response(told, headers=language)

    @declare(made, _DROP_SET)
    def compute_drops(
        body: Annotated[schema.DropSetQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute_drop_set, body, computations.DropSetQuestion, services)
        return json_response(told, headers=language)

    return made
