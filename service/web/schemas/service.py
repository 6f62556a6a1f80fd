"""Health, readiness, keys and the change feed on the wire."""

from typing import Annotated
from uuid import UUID

from pydantic import Field

from service.web.schemas.base import Instant, Name, Schema


class Health(Schema):
    """A sign of life."""

    status: str
    """Always `alive`."""
    version: str
    """The release."""


class Readiness(Schema):
    """Whether requests can be answered, and what is missing."""

    ready: bool
    """Whether every check holds."""
    checks: dict[str, bool]
    """Each check by name."""


Ids = Annotated[list[UUID], Field(max_length=1000)]


class Reach(Schema):
    """Whom a key may see. Left out: everyone. Given: the athletes of these groups and sites, and these athletes."""

    group_ids: Ids = []
    """Athletes on these rosters."""
    site_ids: Ids = []
    """Athletes whose home site is one of these."""
    athlete_ids: Ids = []
    """These athletes."""


class ApiKeyInput(Schema):
    """A key to be made."""

    name: Name
    """What it is for."""
    scopes: Annotated[list[Name], Field(min_length=1, max_length=40)]
    """What it may do; the scopes are listed under the security scheme."""
    reach: Reach | None = None
    """Whom it may see; everyone unless given."""
    expires_at: Instant | None = None
    """When it ends by itself."""


class ApiKey(Schema):
    """A key, without its secret."""

    id: UUID
    """The key's id."""
    name: str
    """What it is for."""
    scopes: Annotated[list[str], Field(max_length=40)]
    """What it may do."""
    reach: Reach | None = None
    """Whom it may see; everyone if absent."""
    created_at: Instant
    """When it was made."""
    expires_at: Instant | None = None
    """When it ends by itself."""
    revoked_at: Instant | None = None
    """When it was ended."""


class NewApiKey(ApiKey):
    """A key just made; the secret is shown this once and never again."""

    secret: str | None = None
    """The whole key, for `Authorization: Bearer`. Absent when the same request is repeated: it was not kept."""


class ApiKeyPage(Schema):
    """All keys, oldest first."""

    items: Annotated[list[ApiKey], Field(max_length=1000)]
    """The keys."""


class ChangeItem(Schema):
    """One change: what to read again."""

    position: str
    """Its position in the feed; later changes have larger ones."""
    kind: str = Field(
        json_schema_extra={
            "x-extensible-enum": [
                "athlete", "group", "site", "implements", "exercise", "session", "set", "checkin", "measurement",
                "limit", "aim", "frame", "plan", "consent", "screening", "answers",
            ]
        }
    )  # fmt: skip
    """The kind of resource; `answers` stands for everything that is computed of an athlete."""
    id: UUID
    """Its id; of `answers` the athlete's."""
    athlete_id: UUID | None = None
    """The athlete it lies under."""
    op: str = Field(json_schema_extra={"x-extensible-enum": ["put", "delete", "recomputed"]})
    """Whether it was put or deleted; `recomputed` of answers that a job has computed anew from the whole log: after a change
    of the past, of a bar or an exercise, or of the model."""
    etag: str
    """The version that this left; of answers the model's."""
    at: Instant
    """When it was received."""


class ChangePage(Schema):
    """The next changes, oldest first, and the cursor to go on from."""

    items: Annotated[list[ChangeItem], Field(max_length=1000)]
    """The changes."""
    next_cursor: str
    """Give it as `cursor` to go on; always there, also when nothing is new."""
    has_more: bool
    """Whether more can be read at once."""
