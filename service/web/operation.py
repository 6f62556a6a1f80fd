"""How an operation is declared: its place, its rights, its errors, its examples; nothing about it is left implied."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from fastapi import APIRouter, Response

from service.usecases import errors as refused
from service.usecases.errors import UseCaseError
from service.web.problems import MEDIA_TYPE, STATUS
from service.web.strict import StrictRoute

Example = Mapping[str, Any]
#: Refusals that any operation behind a key may answer with.
_SHARED: tuple[type[UseCaseError], ...] = (
    refused.Unauthenticated,
    refused.MissingScope,
    refused.NotFound,
    refused.StoreUnavailable,
)
#: Codes of the shell's own refusals, by status.
_SHELL_CODES = {
    400: ("unreadable_body", "unknown_parameter"),
    406: ("not_acceptable",),
    413: ("too_large",),
    415: ("unsupported_media_type",),
    422: ("invalid",),
    500: ("internal",),
}
_STATUS_WORDS = {
    400: "The request cannot be read.", 401: "No valid key came with the request.", 403: "Not allowed.",
    404: "Nothing here that this caller may see.", 406: "Not offered in that media type.",
    409: "Well formed, but not possible with what is stored.", 410: "It was deleted, or is no longer kept.",
    412: "The version named by If-Match is not the current one.", 413: "The body is too large.",
    415: "Not a media type that this takes.", 422: "It does not fit the schema.",
    428: "If-Match is needed.", 500: "Something failed that should not have.", 503: "Not available now; try again.",
}  # fmt: skip
_HEADERS = {
    name: {"$ref": f"#/components/headers/{name}"}
    for name in (
        "ETag",
        "Steelyard-Position",
        "Retry-After",
        "WWW-Authenticate",
        "Allow",
        "Vary",
        "Cache-Control",
        "Content-Language",
    )
}
#: Headers of every answer that holds something.
_OF_CONTENT = ("Cache-Control", "Vary")


@dataclass(frozen=True, slots=True)
class Success:
    """One way in which an operation succeeds."""

    status: int
    description: str
    model: Any = None
    media_type: str = "application/json"
    examples: Mapping[str, Example] = field(default_factory=dict)
    headers: tuple[str, ...] = ()
    links: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Operation:
    """Everything that the contract says about an operation.

    ``text_examples`` are the examples of bodies of further media types, by media type.
    """

    id: str
    method: str
    path: str
    tag: str
    summary: str
    description: str
    successes: tuple[Success, ...]
    scope: str | None = None
    errors: tuple[type[UseCaseError], ...] = ()
    produces: tuple[str, ...] = ("application/json",)
    consumes: tuple[str, ...] = ()
    body_examples: Mapping[str, Example] = field(default_factory=dict)
    text_examples: Mapping[str, Mapping[str, Example]] = field(default_factory=dict)
    body_of: str | None = None
    patch_of: str | None = None


def declare(
    router: APIRouter, operation: Operation
) -> Callable[[Callable[..., Response]], Callable[..., Response]]:
    """Register a function as an operation."""

    def register(function: Callable[..., Response]) -> Callable[..., Response]:
        main = operation.successes[0]
        router.add_api_route(
            operation.path,
            function,
            methods=[operation.method],
            operation_id=operation.id,
            name=operation.id,
            tags=[operation.tag],
            summary=operation.summary,
            description=operation.description,
            status_code=main.status,
            response_model=None,
            response_class=Response,
            responses=_responses(operation),
            openapi_extra=_extra(operation),
            route_class_override=StrictRoute,
        )
        return function

    return register


def _extra(operation: Operation) -> dict[str, Any]:
    extra: dict[str, Any] = {"x-produces": list(operation.produces)}
    extra["security"] = [{"apiKey": [operation.scope]}] if operation.scope else []
    if operation.consumes:
        extra["x-consumes"] = list(operation.consumes)
    if operation.patch_of:
        extra["x-patch-of"] = operation.patch_of
    if operation.body_of:
        extra["x-body-of"] = operation.body_of
    if operation.body_examples:
        media = operation.consumes or ("application/json",)
        extra["x-body-examples"] = {media[0]: dict(operation.body_examples), **operation.text_examples}
    return extra


def _responses(operation: Operation) -> dict[int | str, dict[str, Any]]:
    documented: dict[int | str, dict[str, Any]] = {}
    for success in operation.successes:
        documented[success.status] = _merged(documented.get(success.status, {}), _success(success))
    for status, codes in sorted(error_codes(operation).items()):
        documented[status] = _problem(status, codes)
    return documented


def _merged(first: dict[str, Any], second: dict[str, Any]) -> dict[str, Any]:
    content = {**first.get("content", {}), **second.get("content", {})}
    return {**first, **second, **({"content": content} if content else {})}


def _success(success: Success) -> dict[str, Any]:
    documented: dict[str, Any] = {"description": success.description}
    has_content = success.status not in {204, 304}
    if headers := {*success.headers, *(_OF_CONTENT if has_content else ())}:
        documented["headers"] = {name: _HEADERS[name] for name in sorted(headers)}
    if success.links:
        documented["links"] = dict(success.links)
    if success.model is not None:
        documented["model"] = success.model
    if has_content:
        content: dict[str, Any] = {} if success.model is not None else {"schema": {"type": "string"}}
        if success.examples:
            content["examples"] = {name: dict(example) for name, example in success.examples.items()}
        documented["content"] = {success.media_type: content}
    return documented


def error_codes(operation: Operation) -> dict[int, list[str]]:
    """Return the codes of every refusal of an operation, by status."""
    codes: dict[int, list[str]] = {}
    shared: Iterable[type[UseCaseError]] = _SHARED if operation.scope else ()
    for refusal in (*shared, *operation.errors):
        status, _ = STATUS[refusal]
        if refusal.code not in codes.setdefault(status, []):
            codes[status].append(refusal.code)
    shell = [400, 406, 422, 500, *([413, 415] if operation.consumes else [])]
    for status in shell:
        codes.setdefault(status, []).extend(_SHELL_CODES[status])
    return codes


def _problem(status: int, codes: list[str]) -> dict[str, Any]:
    listed = ", ".join(f"`{code}`" for code in codes)
    documented: dict[str, Any] = {
        "description": f"{_STATUS_WORDS[status]} Codes: {listed}.",
        "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
    }
    if status == 401:
        documented["headers"] = {"WWW-Authenticate": _HEADERS["WWW-Authenticate"]}
    if status == 503:
        documented["headers"] = {"Retry-After": _HEADERS["Retry-After"]}
    if status in {409, 410, 412, 428}:
        documented["headers"] = {"ETag": _HEADERS["ETag"]}
    return documented
