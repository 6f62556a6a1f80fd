"""The contract as a file and as a page to read, both served from here: the page works without a network."""

import hashlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from fastapi import APIRouter, Header, Request, Response

from service.usecases.errors import NotFound
from service.web.parameters import weakly_matches

_ASSETS = Path(__file__).parent / "assets"
_MEDIA = {
    "reference.js": "text/javascript",
    "swagger-ui-bundle.js": "text/javascript",
    "swagger-ui.css": "text/css",
}
#: Scripts, requests and pictures from here only. The bundle draws its icons as data and sets styles on elements.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_TAG_BYTES = 12


@dataclass(frozen=True, slots=True)
class _File:
    content: bytes
    media_type: str
    etag: str


def _file(content: bytes, media_type: str) -> _File:
    return _File(content, media_type, f'"{hashlib.blake2b(content, digest_size=_TAG_BYTES).hexdigest()}"')


@cache
def _asset(name: str, media_type: str) -> _File:
    return _file((_ASSETS / name).read_bytes(), media_type)


def _contract(request: Request) -> _File:
    kept: _File | None = getattr(request.app.state, "contract", None)
    if kept is None:
        kept = _file(msgspec.json.encode(request.app.openapi()), "application/json")
        request.app.state.contract = kept
    return kept


def _served(file: _File, if_none_match: str | None, policy: str | None = None) -> Response:
    headers = {"ETag": file.etag, "Cache-Control": "no-cache"}
    if weakly_matches(if_none_match, file.etag):
        return Response(status_code=304, headers=headers)
    if policy is not None:
        headers["Content-Security-Policy"] = policy
    return Response(file.content, headers=headers, media_type=file.media_type)


IfNoneMatch = Annotated[str | None, Header(alias="If-None-Match")]


def router() -> APIRouter:
    """Return the document, the page and the page's files; none needs a key, and none is in the document."""
    made = APIRouter(include_in_schema=False)

    @made.get("/openapi.json")
    def get_document(request: Request, if_none_match: IfNoneMatch = None) -> Response:
        return _served(_contract(request), if_none_match)

    @made.get("/reference")
    def get_reference(if_none_match: IfNoneMatch = None) -> Response:
        return _served(_asset("reference.html", "text/html"), if_none_match, _POLICY)

    @made.get("/reference/{name}")
    def get_reference_file(name: str, if_none_match: IfNoneMatch = None) -> Response:
        if name not in _MEDIA:
            raise NotFound
        return _served(_asset(name, _MEDIA[name]), if_none_match)

    return made
