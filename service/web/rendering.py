"""Records as bodies of answers, and bodies of requests as records."""

import hashlib
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from typing import Any, cast
from uuid import UUID

import msgspec
from fastapi import Response
from pydantic import BaseModel, RootModel

from service.usecases.documents import Document, to_document, without_nulls
from service.usecases.ports import Stored
from service.web.caching import PRIVATE
from service.web.charts import SVG, Draw
from service.web.parameters import weakly_matches
from service.web.schemas.base import owned_members

#: A chart may neither run nor fetch anything, wherever it is opened.
CHART_POLICY = "default-src 'none'"
_BUILTIN = (datetime, date, UUID)
#: An answer as of now is said to stand until the next full hour: what changes by itself changes over days (judgement).
_STANDS = timedelta(hours=1)
#: Members that differ between two askings of the same answer.
_PASSING = frozenset({"as_of", "valid_until", "text", "action"})
_TAG_BYTES = 12


def to_record(body: BaseModel, record: Any) -> Any:
    """Return the record that a validated body says."""
    said: BaseModel = body.root if isinstance(body, RootModel) else body
    members = said.model_dump(exclude_none=True, exclude=set(owned_members(type(said))))
    return msgspec.convert(members, record, strict=False, builtin_types=_BUILTIN)


def represent(stored: Stored) -> Document:
    """Return the body that shows a stored resource."""
    owned = {
        "id": str(stored.id),
        "athlete_id": str(stored.athlete_id) if stored.athlete_id else None,
        "etag": stored.etag,
        "received_at": stored.received_at.isoformat(),
        "updated_at": stored.updated_at.isoformat(),
    }
    return cast(Document, without_nulls({**owned, **to_document(stored.record)}))


def json_response(document: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """Render a document."""
    content = msgspec.json.encode(document)
    return Response(content, status, {**PRIVATE, **(headers or {})}, "application/json")


def resource_response(
    stored: Stored,
    *,
    status: int = 200,
    position: int | None = None,
    show: Callable[[Stored], Document] = represent,
) -> Response:
    """Render a stored resource with its entity tag."""
    headers = {"ETag": stored.etag}
    if position is not None:
        headers["Steelyard-Position"] = str(position)
    return json_response(show(stored), status, headers)


def valid_until(as_of: datetime) -> datetime:
    """Return until when an answer as of now stands if nothing more is logged: the next full hour."""
    return as_of.replace(minute=0, second=0, microsecond=0) + _STANDS


def answer_response(
    answer: Document,
    *,
    if_none_match: str | None = None,
    asked: Mapping[str, Any] | None = None,
    language: str = "en",
    chart: Draw | None = None,
) -> Response:
    """Render a computed answer with a weak entity tag, or 304 where the client holds it already.

    ``chart`` draws the answer where a chart was asked for; without it the answer is JSON.

    ``answer`` holds ``position``, ``model_version`` and ``as_of`` (a datetime) beside its own members; ``asked`` are
    the request's parameters by name, None for those not given. Where ``as_of`` was not asked for, ``valid_until`` is
    added. The tag covers the position, the model, the parameters, the language, the hour in which an answer as of now
    stands, and the answer itself, numbers to four digits: one set more, or a consent less, changes it, a second does not.
    """
    parameters = {name: value for name, value in (asked or {}).items() if value is not None}
    shown = dict(answer)
    if "as_of" not in parameters:
        shown["valid_until"] = valid_until(answer["as_of"])
    tag = _answer_tag(shown, parameters, language, as_chart=chart is not None)
    headers = {"ETag": tag, "Content-Language": language}
    if weakly_matches(if_none_match, tag):
        return Response(status_code=304, headers={**PRIVATE, **headers})
    document = cast(Document, without_nulls(shown))
    return json_response(document, headers=headers) if chart is None else _drawn(chart(document), headers)


def _drawn(svg: str, headers: dict[str, str]) -> Response:
    return Response(svg, 200, {**PRIVATE, **headers, "Content-Security-Policy": CHART_POLICY}, SVG)


def _answer_tag(shown: Document, parameters: Mapping[str, Any], language: str, *, as_chart: bool) -> str:
    covered = [
        *(["svg"] if as_chart else []),
        sorted((name, str(value)) for name, value in parameters.items()),
        language,
        str(shown.get("valid_until")),
        _lasting(shown),
    ]
    digest = hashlib.blake2b(msgspec.json.encode(covered, order="sorted"), digest_size=_TAG_BYTES)
    return f'W/"{digest.hexdigest()}"'


def _lasting(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _lasting(member) for name, member in value.items() if name not in _PASSING}
    if isinstance(value, list | tuple):
        return [_lasting(member) for member in value]
    return f"{value:.4g}" if isinstance(value, float) else value
