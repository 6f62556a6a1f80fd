"""Page tokens: opaque, bound to the query that handed them out, and granting no rights."""

import hashlib
import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from service.usecases.errors import FieldFault, UnreadableToken

#: More than this is capped, not refused.
LARGEST_PAGE = 1000
DEFAULT_PAGE = 100


def page_size(asked: int | None) -> int:
    """Return how many items a page holds."""
    return min(asked or DEFAULT_PAGE, LARGEST_PAGE)


def token_for(query: Mapping[str, Any], after: tuple[Any, ...]) -> str:
    """Return the token of the page that begins after a key."""
    keys = [key.isoformat() if isinstance(key, datetime) else str(key) for key in after]
    return urlsafe_b64encode(json.dumps([_mark(query), keys]).encode()).rstrip(b"=").decode()


def after_token(
    token: str | None, query: Mapping[str, Any], *, as_text: bool = False
) -> tuple[Any, ...] | None:
    """Return the key that a token names; raises ``UnreadableToken`` where the query is another one.

    Keys are instants and UUIDs, or plain text for lists that are held in memory.
    """
    if token is None:
        return None
    try:
        mark, keys = json.loads(urlsafe_b64decode(token.encode() + b"=" * (-len(token) % 4)))
        after = tuple(str(key) if as_text else _key(key) for key in keys)
    except (ValueError, TypeError):
        raise _unreadable() from None
    if mark != _mark(query):
        raise _unreadable()
    return after


def _key(text: str) -> Any:
    try:
        return UUID(text)
    except ValueError:
        return datetime.fromisoformat(text)


def _mark(query: Mapping[str, Any]) -> str:
    said = sorted((name, str(value)) for name, value in query.items() if value is not None)
    return hashlib.blake2b(json.dumps(said).encode(), digest_size=8).hexdigest()


def _unreadable() -> UnreadableToken:
    return UnreadableToken(
        faults=[
            FieldFault("?page_token", "unreadable_token", "not of this query", "a token of the same query")
        ]
    )
