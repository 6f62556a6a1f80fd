"""Many writes in one request, on the wire."""

from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import Field

from service.web.schemas.base import Instant, Schema
from service.web.schemas.log import Set
from service.web.schemas.problem import Problem


class NewSet(Set):
    """A set with its id, in a log that arrives whole."""

    id: UUID
    """The set's id, chosen by the client."""


class SetBatchInput(Schema):
    """Sets that are kept all or none."""

    sets: Annotated[list[NewSet], Field(min_length=1, max_length=10_000)]
    """The sets, in any order."""
    sent_at: Instant | None = None
    """The sender's clock when it sent; shows how far that clock is off."""


class SetLine(Schema):
    """What became of one set."""

    index: int
    """Its place in the request."""
    id: UUID
    """Its id."""
    status: int
    """201 kept for the first time, 200 kept already."""
    etag: str
    """The version that is kept."""


class SetBatch(Schema):
    """What became of every set."""

    items: Annotated[list[SetLine], Field(max_length=10_000)]
    """One line a set, in the order of the request."""
    position: str
    """Position of the change feed after the request."""
    clock_offset_s: int | None = None
    """How far the sender's clock is ahead of the server's. [s] Times of sets are never rewritten."""


QueuedKind = Literal["session", "set", "checkin", "measurement"]


class OperationInput(Schema):
    """One entry of a phone's queue."""

    op: Literal["put", "patch", "delete"]
    """What to do."""
    type: QueuedKind
    """To what kind of resource."""
    id: UUID
    """To which one."""
    if_match: Annotated[str, Field(max_length=80)] | None = None
    """The ETag of the version to change, as If-Match would say it."""
    body: dict[str, Any] | None = None
    """The body of a put, or the merge patch; validated for its own type, so that one bad entry does not spoil the rest."""


class OperationsInput(Schema):
    """A phone's queue: applied in order, each entry on its own."""

    mode: Literal["each"] = "each"
    """`each`: an entry that is refused does not hold up the others."""
    operations: Annotated[list[OperationInput], Field(min_length=1, max_length=500)]
    """The entries, in the order in which they were made."""
    sent_at: Instant | None = None
    """The sender's clock when it sent; shows how far that clock is off."""


class OperationLine(Schema):
    """What became of one entry."""

    index: int
    """Its place in the queue."""
    type: str = Field(json_schema_extra={"x-extensible-enum": ["session", "set", "checkin", "measurement"]})
    """The kind of resource."""
    id: UUID
    """The resource."""
    status: int
    """The HTTP status that the entry alone would have had."""
    etag: str | None = None
    """The version that is kept now."""
    problem: Problem | None = None
    """Why it was refused."""
    retryable: bool
    """Whether sending the same entry again may succeed."""


class OperationResults(Schema):
    """What became of every entry."""

    items: Annotated[list[OperationLine], Field(max_length=500)]
    """One line an entry, in the order of the queue."""
    position: str
    """Position of the change feed after the request."""
    clock_offset_s: int | None = None
    """How far the sender's clock is ahead of the server's. [s]"""
