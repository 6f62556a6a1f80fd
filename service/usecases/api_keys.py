"""API keys: made, shown once, listed without their secret, and ended."""

import hashlib
import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.usecases.errors import FieldFault, NotFound, NotPossible, UnknownReference
from service.usecases.kinds import GROUP, SITE
from service.usecases.ports import KeyRow, Reach, UnitOfWork
from service.usecases.uuid7 import uuid7

#: What a key may do, and what each scope means.
SCOPES: dict[str, str] = {
    "admin": "Make and end API keys.",
    "privacy": "Record consents.",
    "athlete:read": "Read athletes, groups, limits, aims, frames, consents and screenings.",
    "athlete:write": "Write athletes, groups, limits, aims, frames and screenings.",
    "log:read": "Read sessions, sets, check-ins, measurements and the change feed.",
    "log:write": "Write sessions, sets, check-ins and measurements.",
    "answer:read": "Ask for computed answers and read issued plans.",
    "plan:write": "Issue plans.",
    "roster:read": "Ask for the answers of many athletes at once.",
    "catalogue:read": "Read exercises, muscles and sources.",
    "catalogue:write": "Write the tenant's own exercises.",
    "site:read": "Read sites and their implements.",
    "site:write": "Write sites and their implements.",
    "compute": "Compute from a request body alone.",
}
_PREFIX = "steelyard"
#: Enough for a plain hash to be safe at rest: far above the 112 bits of OWASP ASVS 5.0, 6.5.2.
_SECRET_BYTES = 32


@dataclass(frozen=True, slots=True)
class ParsedKey:
    """A key as it came with a request: whose it says it is, and the hash of its secret."""

    tenant_id: UUID
    key_id: UUID
    secret_hash: bytes


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key just made: the only moment at which its secret is known."""

    row: KeyRow
    secret: str


def spell(tenant_id: UUID, key_id: UUID, secret: bytes) -> str:
    """Return the text of a key: a prefix that leak scanners can look for, whose it is, and the secret."""
    return f"{_PREFIX}.{_encoded(tenant_id.bytes + key_id.bytes)}.{_encoded(secret)}"


def parse(text: str) -> ParsedKey | None:
    """Return what a key says, None for anything that is not one."""
    parts = text.split(".")
    if len(parts) != 3 or parts[0] != _PREFIX:
        return None
    try:
        owner, secret = _decoded(parts[1]), _decoded(parts[2])
    except ValueError:
        return None
    if len(owner) != 32 or len(secret) != _SECRET_BYTES:
        return None
    return ParsedKey(UUID(bytes=owner[:16]), UUID(bytes=owner[16:]), hash_of(secret))


def hash_of(secret: bytes) -> bytes:
    """Return what is kept of a secret."""
    return hashlib.sha256(secret).digest()


def create(
    work: UnitOfWork, name: str, scopes: Sequence[str], reach: Reach, expires_at: datetime | None
) -> NewKey:
    """Make a key; it reaches no further than the key that made it."""
    _known_scopes(scopes)
    _no_further(work, reach)
    if expires_at is not None and expires_at <= work.now:
        raise NotPossible(
            faults=[FieldFault("/expires_at", "in_the_past", expires_at.isoformat(), "a later instant")]
        )
    secret = secrets.token_bytes(_SECRET_BYTES)
    row = KeyRow(uuid7(), name, tuple(dict.fromkeys(scopes)), reach, work.now, expires_at, None)
    work.keys.add(row, hash_of(secret))
    return NewKey(row, spell(work.caller.tenant_id, row.id, secret))


def every(work: UnitOfWork) -> list[KeyRow]:
    """Return the keys that reach no further than the caller's, newest last."""
    rows = work.keys.every()
    named = [id for row in rows for id in row.reach.athlete_ids]
    visible = work.people.in_reach(named) if named else set()
    return [row for row in rows if _inside(work, row.reach, visible)]


def revoke(work: UnitOfWork, key_id: UUID) -> None:
    """End a key at once; raises ``NotFound`` for one that was never made, or that reaches further than the caller's."""
    row = work.keys.get(key_id)
    if row is None or not _inside(work, row.reach, work.people.in_reach(row.reach.athlete_ids)):
        raise NotFound
    work.keys.revoke(key_id)


def _known_scopes(scopes: Sequence[str]) -> None:
    faults = [
        FieldFault(f"/scopes/{index}", "unknown_scope", scope, f"one of {', '.join(SCOPES)}")
        for index, scope in enumerate(scopes)
        if scope not in SCOPES
    ]
    if faults:
        raise UnknownReference(faults=faults)


def _no_further(work: UnitOfWork, reach: Reach) -> None:
    if not _inside(work, reach, work.people.in_reach(reach.athlete_ids)):
        raise NotPossible(
            faults=[FieldFault("/reach", "reach_too_wide", "wider than the caller's", "a part of it")]
        )
    _known_places(work, reach)


def _inside(work: UnitOfWork, reach: Reach, visible_athletes: set[UUID]) -> bool:
    own = work.caller.reach
    return own.everyone or (
        not reach.everyone
        and set(reach.group_ids) <= set(own.group_ids)
        and set(reach.site_ids) <= set(own.site_ids)
        and set(reach.athlete_ids) <= visible_athletes
    )


def _known_places(work: UnitOfWork, reach: Reach) -> None:
    known = {
        "group_ids": set(work.resources.get_many(GROUP, reach.group_ids)) if reach.group_ids else set(),
        "site_ids": set(work.resources.get_many(SITE, reach.site_ids)) if reach.site_ids else set(),
        "athlete_ids": work.people.in_reach(reach.athlete_ids) if reach.athlete_ids else set(),
    }
    faults = [
        FieldFault(f"/reach/{name}/{index}", "unknown_reference", str(id), "an id that exists")
        for name, ids in known.items()
        for index, id in enumerate(getattr(reach, name))
        if id not in ids
    ]
    if faults:
        raise UnknownReference(faults=faults)


def _encoded(raw: bytes) -> str:
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def _decoded(text: str) -> bytes:
    return urlsafe_b64decode(text.encode() + b"=" * (-len(text) % 4))
