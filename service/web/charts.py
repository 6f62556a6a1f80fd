"""Answers as charts: the media type that was asked for, and how an operation declares that it can be drawn.

An operation that has a chart adds ``SVG`` to what it produces and ``chart_success`` to its successes, takes
``FormatAsked`` and ``AcceptHeader``, and hands ``chart_if_asked`` to ``answer_response``.
"""

from collections.abc import Callable
from typing import Annotated, Literal

from fastapi import Header, Query

from service.usecases.documents import Document
from service.web.operation import Success

JSON, SVG = "application/json", "image/svg+xml"
AnswerFormat = Literal["json", "svg"]
#: Draws an answer as one SVG document.
Draw = Callable[[Document], str]
FormatAsked = Annotated[
    AnswerFormat | None,
    Query(alias="format", description="`json`, or `svg` for the chart; beats the Accept header."),
]
AcceptHeader = Annotated[str | None, Header(alias="Accept", include_in_schema=False)]


def chart_if_asked(format: AnswerFormat | None, accept: str | None, draw: Draw) -> Draw | None:
    """Return how to draw the answer where a chart is wanted: as asked, else as the Accept header weighs it."""
    wanted = format if format is not None else _preferred(accept)
    return draw if wanted == "svg" else None


def chart_success(description: str, drawn: str) -> Success:
    """Return the success of an operation that answers with a chart; ``drawn`` is its example."""
    return Success(
        200,
        description,
        media_type=SVG,
        examples={"chart": {"value": drawn}},
        headers=("ETag", "Content-Language", "Cache-Control", "Vary"),
    )


def _preferred(accept: str | None) -> AnswerFormat:
    """Return what the Accept header weighs most; JSON where both weigh the same (RFC 9110, section 12.5.1)."""
    ranges = [_weighed(part) for part in (accept or "*/*").split(",")]
    return "svg" if _weight(SVG, ranges) > _weight(JSON, ranges) else "json"


def _weighed(part: str) -> tuple[str, float]:
    media, *parameters = (piece.strip().lower() for piece in part.split(";"))
    for parameter in parameters:
        if parameter.startswith("q="):
            try:
                return media, float(parameter[2:])
            except ValueError:
                return media, 0.0
    return media, 1.0


def _weight(media: str, ranges: list[tuple[str, float]]) -> float:
    """Return the weight that the most specific range which covers a media type gives it."""
    for covering in (media, f"{media.partition('/')[0]}/*", "*/*"):
        found = [weight for named, weight in ranges if named == covering]
        if found:
            return max(found)
    return 0.0
