"""Problem details on the wire (RFC 9457)."""

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field


class ProblemFault(BaseModel):
    """One thing that is wrong: where, what, and what was expected."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    pointer: Annotated[str, Field(max_length=400)] | None = None
    """Where in the body, as a URI fragment with a JSON pointer, such as `#/load/value` or `#/12/side`."""
    parameter: Annotated[str, Field(max_length=120)] | None = None
    """Which path, query or header parameter."""
    code: Annotated[str, Field(max_length=80)]
    """A stable code of the fault."""
    detail: Annotated[str, Field(max_length=2000)]
    """What is wrong."""
    expected: Annotated[str, Field(max_length=2000)] | None = None
    """What was expected instead."""


class Problem(BaseModel):
    """Why a request was refused. Every error has this shape; unknown members must be ignored."""

    model_config = ConfigDict(use_attribute_docstrings=True, title="Problem")

    type: Annotated[str, Field(max_length=200)]
    """A URN that names the kind of problem; ends in `code`."""
    title: Annotated[str, Field(max_length=200)]
    """The kind of problem in words."""
    status: Annotated[int, Field(ge=400, le=599)]
    """The HTTP status."""
    detail: Annotated[str, Field(max_length=2000)]
    """What happened this time."""
    code: Annotated[str, Field(max_length=80)]
    """A stable code to program against."""
    errors: Annotated[list[ProblemFault], Field(max_length=10_000)] | None = None
    """Every single fault, where there are such."""
    current: dict[str, Any] | None = None
    """The stored body, where another one stands in the way."""
    reasons: Annotated[list[dict[str, Any]], Field(max_length=40)] | None = None
    """Why plans are closed, each with `code`, `text` and `params`."""
    cautions: Annotated[list[dict[str, Any]], Field(max_length=40)] | None = None
    """What to heed now, the most urgent first, each with `code`, `urgency`, `text` and `params`."""
    etag: Annotated[str, Field(max_length=40)] | None = None
    """The stored version's entity tag, a tombstone's included."""
