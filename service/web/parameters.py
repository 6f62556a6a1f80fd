"""Parameters that many operations share, each with its description and bounds."""

from datetime import UTC, datetime
from typing import Annotated
from uuid import UUID

from fastapi import Depends, Header, Path, Query, Request
from pydantic import AfterValidator

from service.usecases.ports import Caller
from service.usecases.records.base import MassUnit
from service.web.schemas.base import Instant
from service.web.services import Services, services_of


def caller_of(request: Request) -> Caller:
    """Return who asks; the strict route has authenticated already."""
    caller: Caller = request.state.caller
    return caller


CallerOf = Annotated[Caller, Depends(caller_of)]
ServicesOf = Annotated[Services, Depends(services_of)]

AthleteId = Annotated[UUID, Path(description="The athlete.")]
PageSize = Annotated[
    int | None,
    Query(
        alias="page_size",
        ge=1,
        le=2_147_483_647,
        description="Items a page; 100 unless given, capped at 1000.",
    ),
]
PageToken = Annotated[
    str | None, Query(max_length=400, description="`next_page_token` of the page before, same query.")
]
From = Annotated[
    Instant | None, Query(alias="from", description="Only what happened at or after this instant.")
]
To = Annotated[Instant | None, Query(description="Only what happened before this instant.")]

#: No living athlete's log is older, and none is newer than the second; far beyond them, calendars overflow.
_EARLIEST, _LATEST = datetime(1930, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)


def within_calendars(instant: datetime | None) -> datetime | None:
    """Return an instant at which calendars still work, the nearest to the one given."""
    return None if instant is None else min(max(instant, _EARLIEST), _LATEST)


AsOf = Annotated[
    Instant | None,
    AfterValidator(within_calendars),
    Query(
        description="Answer as of this instant, from what had happened by then; now unless given. Instants before 1930 "
        "or after 2200 are taken as those ends."
    ),
]
IntervalMass = Annotated[
    float, Query(alias="mass", ge=0.5, le=0.99, description="Probability that each interval holds its value.")
]
AnswerUnit = Annotated[
    MassUnit | None, Query(alias="unit", description="Unit of masses; the athlete's own unless given.")
]
AcceptLanguage = Annotated[
    str | None,
    Header(
        alias="Accept-Language",
        max_length=200,
        description="Languages wanted for texts. `en` is what there is; Content-Language says what came.",
    ),
]
MinPosition = Annotated[
    int | None,
    Header(
        alias="Steelyard-Min-Position",
        ge=0,
        le=2**63 - 1,
        description="A `Steelyard-Position` that the answer must have read; 503 `behind_position` until it has.",
    ),
]

_ETAGS = r"^[^\x00-\x1f]*$"
IfMatchHeader = Annotated[
    str | None,
    Header(
        alias="If-Match",
        max_length=400,
        pattern=_ETAGS,
        description="The ETag of the version to change, or `*`; compared strongly.",
    ),
]
IfNoneMatchHeader = Annotated[
    str | None,
    Header(
        alias="If-None-Match",
        max_length=400,
        pattern=_ETAGS,
        description="`*` on a PUT: only where there is nothing yet. ETags on a GET: answer 304 if one still stands.",
    ),
]


def tags_of(header: str | None) -> tuple[str, ...] | None:
    """Return the entity tags of a conditional header, None where there was none."""
    if header is None:
        return None
    return tuple(tag.strip() for tag in header.split(","))


def weakly_matches(header: str | None, etag: str) -> bool:
    """Weak comparison, as If-None-Match wants it (RFC 9110, section 13.1.2)."""
    tags = tags_of(header) or ()
    return "*" in tags or etag.removeprefix("W/") in {tag.removeprefix("W/") for tag in tags}
