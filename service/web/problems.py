"""Problem details (RFC 9457): one table from what went wrong to what is answered, and the handlers that use it."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec
from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError
from starlette.exceptions import HTTPException as FrameworkException
from starlette.routing import Match

from service.usecases import errors as refused
from service.usecases.documents import without_nulls
from service.usecases.errors import FieldFault, UseCaseError
from service.web.pointers import pointer_to

MEDIA_TYPE = "application/problem+json"
_LOG = logging.getLogger("steelyard.web")

#: Status and title of every refusal. 422 is only for what the schema can express; what the stored data does not allow
#: is 409.
STATUS: Mapping[type[UseCaseError], tuple[int, str]] = {
    refused.Unauthenticated: (401, "Not signed in"),
    refused.MissingScope: (403, "Not allowed"),
    refused.ConsentRequired: (403, "Consent is needed"),
    refused.NotFound: (404, "Not found"),
    refused.Deleted: (410, "Deleted"),
    refused.CursorExpired: (410, "Cursor expired"),
    refused.PreconditionFailed: (412, "Changed meanwhile"),
    refused.PreconditionRequired: (428, "If-Match is needed"),
    refused.DifferentBody: (409, "Another body has this id"),
    refused.PlanIsKept: (409, "Issued plans are kept"),
    refused.UnknownReference: (409, "Unknown reference"),
    refused.NotPossible: (409, "Not possible"),
    refused.PerformedInFuture: (409, "In the future"),
    refused.SessionHasSets: (409, "The session holds sets"),
    refused.SiteRequired: (409, "A site is needed"),
    refused.ClearanceRequired: (409, "A clearance is needed"),
    refused.NothingToComputeOn: (409, "Cannot be computed"),
    refused.OutsideValidRange: (409, "Outside the valid range"),
    refused.KeyReused: (409, "Key used before"),
    refused.KeyInProgress: (409, "Still running"),
    refused.DependencyFailed: (424, "Rests on a refused operation"),
    refused.UnreadableToken: (400, "Unreadable token"),
    refused.BehindPosition: (503, "Not there yet"),
    refused.StoreUnavailable: (503, "Store not available"),
}
#: Facts that go beside the standard members.
_EXTENSIONS = (
    "current",
    "etag",
    "purpose",
    "set_count",
    "exercise_id",
    "formula",
    "valid_from",
    "valid_to",
    "reasons",
    "cautions",
)
_METHODS = ("DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT")
#: A second is long enough for a restart and short enough for a phone.
_RETRY_AFTER_S = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """What went wrong, ready to render."""

    status: int
    code: str
    title: str
    detail: str
    faults: Sequence[FieldFault] = ()
    extensions: Mapping[str, Any] | None = None

    def document(self) -> dict[str, Any]:
        """Return the problem document."""
        body = {
            "type": f"urn:steelyard:problem:{self.code}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
            "code": self.code,
            **(self.extensions or {}),
        }
        if self.faults:
            body["errors"] = [_fault(fault) for fault in self.faults]
        return body


class RequestRefused(HTTPException):
    """The request could not be read as HTTP says it should be; raised before any use case is called.

    It is an HTTPException because the framework turns any other error, met while a body is read, into one of its own.
    """

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.status, problem.detail)
        self.problem = problem


def _fault(fault: FieldFault) -> dict[str, Any]:
    where = (
        {"parameter": fault.pointer[1:]}
        if fault.pointer.startswith("?")
        else {"pointer": f"#{fault.pointer}"}
    )
    return without_nulls({**where, "code": fault.code, "detail": fault.detail, "expected": fault.expected})  # type: ignore[no-any-return]


def of_refusal(refusal: UseCaseError) -> Problem:
    """Return the problem of a use case's refusal."""
    status, title = STATUS[type(refusal)]
    extensions = {name: refusal.facts[name] for name in _EXTENSIONS if refusal.facts.get(name) is not None}
    return Problem(status, refusal.code, title, refusal.sentence, refusal.faults, extensions)


def of_invalid(
    errors: Sequence[Mapping[str, Any]], document: Any = None, *, in_body: bool = False
) -> Problem:
    """Return the problem of input that does not fit the schema: every fault, each with its place and what was expected.

    ``document`` is the body as it was sent, which tells where a fault of a body that comes in kinds lies.
    """
    faults = [_invalid_fault(error, document, in_body=in_body) for error in errors]
    return Problem(422, "invalid", "Does not fit the schema", f"{len(faults)} thing(s) do not fit.", faults)


def _invalid_fault(error: Mapping[str, Any], document: Any, *, in_body: bool) -> FieldFault:
    location = list(error["loc"])
    place = "body" if in_body else str(location.pop(0) if location else "body")
    in_query = f"?{'.'.join(str(step) for step in location)}"
    pointer = pointer_to(location, str(error["type"]), document) if place == "body" else in_query
    expected = str(error["msg"]).removeprefix("Input should be ").removeprefix("Value error, ")
    return FieldFault(pointer, str(error["type"]), str(error["msg"]), expected)


def respond(problem: Problem, headers: Mapping[str, str] | None = None) -> Response:
    """Render a problem."""
    extra = dict(headers or {})
    if problem.status == 503:
        extra.setdefault("Retry-After", str(_RETRY_AFTER_S))
    if problem.status == 401:
        extra.setdefault("WWW-Authenticate", "Bearer")
    if problem.extensions and "etag" in problem.extensions:
        extra.setdefault("ETag", str(problem.extensions["etag"]))
    content = msgspec.json.encode(problem.document())
    return Response(content, status_code=problem.status, headers=extra, media_type=MEDIA_TYPE)


def allowed_methods(app: FastAPI, request: Request) -> list[str]:
    """Return every method that some route takes at this path."""

    def takes(method: str) -> bool:
        scope = {**request.scope, "method": method}
        return any(route.matches(scope)[0] is Match.FULL for route in app.routes)

    return [method for method in _METHODS if takes(method)]


def install(app: FastAPI) -> None:
    """Answer everything that goes wrong as a problem."""

    @app.exception_handler(UseCaseError)
    def refused_by_use_case(request: Request, refusal: UseCaseError) -> Response:
        return respond(of_refusal(refusal))

    @app.exception_handler(RequestRefused)
    def refused_by_shell(request: Request, refusal: RequestRefused) -> Response:
        return respond(refusal.problem)

    @app.exception_handler(RequestValidationError)
    def invalid_request(request: Request, invalid: RequestValidationError) -> Response:
        return respond(of_invalid(invalid.errors(), invalid.body))

    @app.exception_handler(ValidationError)
    def invalid_merge(request: Request, invalid: ValidationError) -> Response:
        return respond(of_invalid(invalid.errors(), in_body=True))

    @app.exception_handler(FrameworkException)
    def from_framework(request: Request, raised: FrameworkException) -> Response:
        if raised.status_code == 405:
            allow = allowed_methods(app, request)
            detail = f"This path takes {', '.join(allow)}."
            return respond(
                Problem(405, "method_not_allowed", "Method not allowed", detail), {"Allow": ", ".join(allow)}
            )
        if raised.status_code == 404:
            return respond(of_refusal(refused.NotFound()))
        return respond(Problem(raised.status_code, "refused", "Refused", str(raised.detail)))

    @app.exception_handler(Exception)
    def unforeseen(request: Request, error: Exception) -> Response:
        _LOG.exception("unforeseen error", exc_info=error)
        detail = "Something failed that should not have. Nothing was written."
        return respond(Problem(500, "internal", "Internal error", detail))
