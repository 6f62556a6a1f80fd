"""A route that reads requests strictly, in the order: what is accepted, who asks, what was sent.

Authorisation comes before validation, so that nobody learns about a schema, an id or a limit without a key.
"""

import json
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import Request, Response
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool

from service.web.authentication import authenticate
from service.web.problems import Problem, RequestRefused

_MAX_DEPTH = 64


def _refuse(status: int, code: str, title: str, detail: str) -> RequestRefused:
    return RequestRefused(Problem(status, code, title, detail))


def _no_constant(name: str) -> Any:
    raise _refuse(
        400, "unreadable_body", "Unreadable body", f"`{name}` is not JSON (RFC 8259 has no such number)."
    )


def _no_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _refuse(
            400,
            "unreadable_body",
            "Unreadable body",
            f"The member `{twice[:80]}` stands twice in one object.",
        )
    return members


def strict_json(body: bytes) -> Any:
    """Parse JSON as RFC 8259 has it: UTF-8, no NaN, no member twice, no bottomless nesting."""
    try:
        parsed = json.loads(body.decode(), parse_constant=_no_constant, object_pairs_hook=_no_twice)
    except (ValueError, RecursionError) as unreadable:
        where = f" at position {unreadable.pos}" if isinstance(unreadable, json.JSONDecodeError) else ""
        raise _refuse(400, "unreadable_body", "Unreadable body", f"The body is not JSON{where}.") from None
    if _deeper_than(parsed, _MAX_DEPTH):
        raise _refuse(
            400, "unreadable_body", "Unreadable body", f"The body nests deeper than {_MAX_DEPTH} levels."
        )
    return parsed


def _deeper_than(value: Any, levels: int) -> bool:
    if not isinstance(value, dict | list):
        return False
    if levels == 0:
        return True
    members = value.values() if isinstance(value, dict) else value
    return any(_deeper_than(member, levels - 1) for member in members)


class StrictRequest(Request):
    """A request whose JSON is parsed strictly."""

    async def json(self) -> Any:
        """Return the parsed body."""
        if not hasattr(self, "_json"):
            self._json = strict_json(await self.body())
        return self._json


class StrictRoute(APIRoute):
    """A route that refuses what it does not offer before the endpoint runs."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Return the handler with the strict reading in front."""
        inner = super().get_route_handler()
        extra = self.openapi_extra or {}
        scope = _scope(extra)
        produces = tuple(extra.get("x-produces", ("application/json",)))
        consumes = tuple(extra.get("x-consumes", ("application/json",)))
        known = _query_names(self.dependant)
        has_body = self.body_field is not None or "x-consumes" in extra

        async def handle(request: Request) -> Response:
            if "format" not in known or "format" not in request.query_params:
                _acceptable(request, produces)
            if scope is not None:
                request.state.caller = await run_in_threadpool(authenticate, request, scope)
            _known_parameters(request, known)
            strict = StrictRequest(request.scope, request.receive)
            if has_body:
                _readable_type(request, consumes)
                _not_empty(await strict.body())
            return await inner(strict)

        return handle


def _query_names(dependant: Dependant) -> set[str]:
    """Return the names of every query parameter, those of parameter models one by one."""
    names: set[str] = set()
    for parameter in dependant.query_params:
        names |= _names_of(parameter.alias, parameter.field_info.annotation)
    return names.union(*(_query_names(inner) for inner in dependant.dependencies))


def _names_of(alias: str, annotation: Any) -> set[str]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {field.alias or name for name, field in annotation.model_fields.items()}
    return {alias}


def _scope(extra: dict[str, Any]) -> str | None:
    for requirement in extra.get("security", ()):
        for scopes in requirement.values():
            return str(scopes[0])
    return None


def _acceptable(request: Request, produces: tuple[str, ...]) -> None:
    accept = request.headers.get("accept")
    if not accept:
        return
    ranges = [part.split(";")[0].strip().lower() for part in accept.split(",")]
    refused = {part.split(";")[0].strip().lower() for part in accept.split(",") if _has_zero_weight(part)}
    offered = (*produces, "application/problem+json")
    if any(_matches(wanted, media) for wanted in ranges if wanted not in refused for media in offered):
        return
    raise _refuse(406, "not_acceptable", "Not acceptable", f"This can be had as {', '.join(produces)}.")


def _has_zero_weight(part: str) -> bool:
    return any(
        parameter.strip().lower() in {"q=0", "q=0.0", "q=0.00", "q=0.000"}
        for parameter in part.split(";")[1:]
    )


def _matches(wanted: str, media: str) -> bool:
    return wanted in {"*/*", "*", media, f"{media.split('/', maxsplit=1)[0]}/*"}


def _known_parameters(request: Request, known: set[str]) -> None:
    unknown = sorted(set(request.query_params) - known)
    if unknown:
        offered = ", ".join(sorted(known)) or "none"
        detail = f"`{unknown[0][:80]}` is not a parameter of this operation. It takes: {offered}."
        raise _refuse(400, "unknown_parameter", "Unknown parameter", detail)


def _not_empty(body: bytes) -> None:
    if not body:
        raise _refuse(400, "unreadable_body", "Unreadable body", "The body is empty.")


def _readable_type(request: Request, consumes: tuple[str, ...]) -> None:
    sent = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if request.headers.get("content-encoding", "identity").lower() != "identity":
        raise _refuse(
            415, "unsupported_media_type", "Unsupported media type", "Send the body without compression."
        )
    if sent not in consumes:
        raise _refuse(
            415, "unsupported_media_type", "Unsupported media type", f"Send {' or '.join(consumes)}."
        )
