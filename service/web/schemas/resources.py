"""What every kept resource shows beside its own members."""

from uuid import UUID

from pydantic import Field

from service.web.schemas.base import Instant, Schema, read_only


class TenantResource(Schema):
    """The members that the server owns, on every resource of a tenant."""

    id: UUID | None = read_only("The resource's id, chosen by the client that put it.")
    etag: str | None = read_only(
        "The strong entity tag of this version, as in the ETag header.", maxLength=40
    )
    received_at: Instant | None = read_only("When the first version was received.")
    updated_at: Instant | None = read_only("When this version was received.")


class AthleteResource(TenantResource):
    """The members that the server owns, on every resource under an athlete."""

    athlete_id: UUID | None = read_only("The athlete it belongs to.")


class PageOf(Schema):
    """One page of a list."""

    next_page_token: str | None = Field(default=None, max_length=400)
    """Token of the next page; absent on the last one."""
