"""The change feed: what to read again, from a cursor that a restore or age can end."""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from service.usecases.errors import BehindPosition, CursorExpired, FieldFault, UnreadableToken
from service.usecases.ports import Change, FeedState, UnitOfWork


@dataclass(frozen=True, slots=True)
class Cursor:
    """A place in the feed: the epoch that a restore changes, and the last position read."""

    epoch: UUID
    position: int

    def text(self) -> str:
        """Return the opaque form that clients hold."""
        return urlsafe_b64encode(json.dumps([str(self.epoch), self.position]).encode()).rstrip(b"=").decode()


@dataclass(frozen=True, slots=True)
class Changes:
    """The next changes and the cursor to go on from."""

    items: Sequence[Change]
    next_cursor: str
    has_more: bool


def read_cursor(text: str) -> Cursor:
    """Return the place that a cursor names; raises ``UnreadableToken`` for what no feed handed out."""
    try:
        epoch, position = json.loads(urlsafe_b64decode(text.encode() + b"=" * (-len(text) % 4)))
        cursor = Cursor(UUID(epoch), int(position))
    except (ValueError, TypeError, AttributeError):
        cursor = None
    if cursor is None or not 0 <= cursor.position < 2**63:
        raise UnreadableToken(
            faults=[FieldFault("?cursor", "unreadable_token", "no cursor of ours", "`next_cursor`")]
        )
    return cursor


def list_changes(work: UnitOfWork, cursor: str | None, limit: int, athlete_id: UUID | None) -> Changes:
    """Return what changed after a cursor, or from the beginning of what is kept.

    Raises ``CursorExpired`` where the feed was pruned past the cursor, or belongs to another epoch.
    """
    state = work.feed.state()
    start = _start(state, read_cursor(cursor)) if cursor is not None else state.floor
    found = work.feed.after(start, limit + 1, athlete_id)
    items = found[:limit]
    has_more = len(found) > limit
    # With nothing left to show, go on from the feed's end and not from the last visible change: a caller who sees few
    # athletes need not pass over the others' changes again.
    reached = items[-1].position if has_more else state.position
    return Changes(items, Cursor(state.epoch, reached).text(), has_more)


def _start(state: FeedState, cursor: Cursor) -> int:
    if cursor.epoch != state.epoch or cursor.position < state.floor or cursor.position > state.position:
        raise CursorExpired
    return cursor.position


def reach_position(work: UnitOfWork, wanted: int | None) -> None:
    """Raise ``BehindPosition`` where this snapshot has not reached a position that the client has seen."""
    if wanted is not None:
        require_position(work, wanted)


def require_position(work: UnitOfWork, wanted: int | None) -> int:
    """Return the position of this snapshot; raises ``BehindPosition`` where it has not reached the wanted one."""
    position = work.feed.state().position
    if wanted is not None and position < wanted:
        raise BehindPosition
    return position
