"""Computing from a body alone: nothing is stored."""

from collections.abc import Callable, Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Body, Response

from service.usecases import errors as refused
from service.usecases.answers import compute
from service.usecases.answers.compute_indices import compute_imbalance_indices as indices_of
from service.usecases.answers.compute_ratio import compute_muscle_ratio as ratio_of
from service.usecases.answers.telling import Teller
from service.usecases.documents import Document, without_nulls
from service.usecases.records import computations
from service.web.operation import Example, Operation, Success, declare
from service.web.parameters import AcceptLanguage, CallerOf, ServicesOf
from service.web.rendering import json_response, to_record
from service.web.routes.compute_examples import (
    indices_example,
    loadable_example,
    one_rep_max_example,
    ratio_example,
)
from service.web.schemas import compute as schema
from service.web.schemas import compute_indices as indices_schema
from service.web.services import Services

_SAFETY = (
    "Nothing is stored, so that repeating it is safe. Warning signs of an emergency or of the same day, or a screening "
    "that refers, answer 409 `clearance_required` with what to heed. Guidance, not a diagnosis."
)


def operation_on_body(
    id: str, path: str, tag: str, summary: str, about: str, model: Any,
    examples: tuple[Example, Example], errors: tuple[type[refused.UseCaseError], ...] = (),
) -> Operation:  # fmt: skip
    """Declare a computation from a body alone."""
    sent, answered = examples
    return Operation(
        id=id,
        method="POST",
        path=path,
        tag=tag,
        summary=summary,
        description=f"{about} {_SAFETY}",
        scope="compute",
        errors=(refused.ClearanceRequired, *errors),
        consumes=("application/json",),
        body_examples={"sent": {"value": sent}},
        successes=(
            Success(
                200,
                "The answer.",
                model,
                examples={"answer": {"value": answered}},
                headers=("Content-Language", "Cache-Control", "Vary"),
            ),
        ),
    )


_ONE_REP_MAX = operation_on_body(
    "computeOneRepMax", "/compute/one-rep-max", "Load progression", "One-repetition maximum from a set to failure",
    "By eight published formulas or those named. Each is used only within its valid range and refused outside of it, "
    "with the reason; where every asked one refuses: 409 `outside_valid_range`. One repetition is the maximum itself.",
    schema.OneRepMaxAnswer, one_rep_max_example(), (refused.OutsideValidRange,),
)  # fmt: skip
_LOADABLE = operation_on_body(
    "computeLoadable", "/compute/loadable", "Load progression", "Loads that these implements can make",
    "Loads near a target, with its neighbours, or all within a span, each with what goes on. Kilograms and pounds may be "
    "mixed: sums are exact. On the basis `level` every label of the station, in order.",
    schema.LoadableAnswer, loadable_example(),
    (refused.NotPossible, refused.NothingToComputeOn, refused.OutsideValidRange),
)  # fmt: skip
_INDICES = operation_on_body(
    "computeImbalanceIndices", "/compute/imbalance-indices", "Imbalance indices", "Every index of a difference between sides",
    "From the trials of each side, any number, or from the log ratio t = ln(right / left). The standard error of t comes from "
    "the spread of the trials, with the covariance of pairs, or from a known measurement error; then every index has an "
    "interval, and it is told how likely the right side is ahead, how likely the difference is worthwhile, what change could be "
    "detected, and how many visits would decide. The names collide in print, so that each index comes with its own id, "
    "equation, reference limb, sign and the summary of trials that stood for a side; one that is not defined here has no "
    "value, and says why. With trials of both limbs together: the bilateral index. Values that were not measured alike are "
    "refused (`mixed_units`, `mixed_exercises`, `mixed_modes`, `mixed_repetitions`), and a trial that cannot be used is named by "
    "its place. A difference between sides is a measurement, not an injury risk.",
    indices_schema.IndicesAnswer, indices_example(), (refused.NotPossible,),
)  # fmt: skip

_RATIO = operation_on_body(
    "computeMuscleRatio", "/compute/muscle-ratio", "Imbalance indices", "The ratio of two opposing muscle groups",
    "From the trials of both, any number, with its interval from their spread or from a known measurement error. Both must be "
    "of one device, mode, side and number of repetitions, in units of one quantity, for these change a ratio more than people "
    "differ: others are refused (`mixed_devices`, `mixed_modes`, `mixed_sides`, `mixed_repetitions`, `mixed_units`). A trial "
    "that cannot be used is named by its place. A ratio is a description: there is no cut, and it says nothing about injury.",
    indices_schema.RatioAnswer, ratio_example(), (refused.NotPossible,),
)  # fmt: skip


def computed(
    deed: Callable[[Any, Teller], Document], body: Any, record: Any, services: Services
) -> Mapping[str, Any]:
    """Return the answer to a body."""
    told: Mapping[str, Any] = without_nulls(deed(to_record(body, record), Teller(services.texts)))
    return told


def router() -> APIRouter:
    """Return the operations that compute from a body."""
    made = APIRouter()
    language = {"Content-Language": "en"}

    @declare(made, _ONE_REP_MAX)
    def compute_one_rep_max(
        body: Annotated[schema.OneRepMaxQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute.compute_one_rep_max, body, computations.OneRepMaxQuestion, services)
        return json_response(told, headers=language)

    @declare(made, _LOADABLE)
    def compute_loadable(
        body: Annotated[schema.LoadableQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(compute.compute_loadable, body, computations.LoadableQuestion, services)
        return json_response(told, headers=language)

    @declare(made, _INDICES)
    def compute_imbalance_indices(
        body: Annotated[indices_schema.IndicesQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(indices_of, body, computations.IndicesQuestion, services)
        return json_response(told, headers=language)

    @declare(made, _RATIO)
    def compute_muscle_ratio(
        body: Annotated[indices_schema.RatioQuestion, Body()],
        caller: CallerOf,
        services: ServicesOf,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        told = computed(ratio_of, body, computations.RatioQuestion, services)
        return json_response(told, headers=language)

    return made
