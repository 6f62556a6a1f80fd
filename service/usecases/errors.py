"""Why a request could not be carried out: one class per cause, its stable code, its facts. No status codes here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class FieldFault:
    """One thing wrong in what was sent: where, what, and what was expected.

    ``pointer`` is a JSON pointer into the body, or `?` and the name of a query parameter.
    """

    pointer: str
    code: str
    detail: str
    expected: str | None = None


class UseCaseError(Exception):
    """The request could not be carried out."""

    code: ClassVar[str] = "refused"
    #: What a client may do about it is the same every time, so the sentence is fixed per class.
    detail: ClassVar[str] = "The request could not be carried out."
    #: The same where nothing but query parameters is wrong.
    detail_of_query: ClassVar[str | None] = None

    def __init__(
        self, detail: str | None = None, *, faults: Sequence[FieldFault] = (), **facts: object
    ) -> None:
        self.faults = tuple(faults)
        self.sentence = detail or self._usual_detail()
        super().__init__(self.sentence)
        self.facts: Mapping[str, object] = facts

    def _usual_detail(self) -> str:
        of_query = bool(self.faults) and all(fault.pointer.startswith("?") for fault in self.faults)
        return (self.detail_of_query if of_query else None) or self.detail


class NotFound(UseCaseError):
    """It does not exist, or lies outside what the caller may reach: the two look the same."""

    code = "not_found"
    detail = "There is nothing here that this caller may see."


class Deleted(UseCaseError):
    """It was deleted; a late write must not bring it back unawares."""

    code = "deleted"
    detail = "This was deleted. Its tombstone's ETag is in the header and in `etag`."


class CursorExpired(UseCaseError):
    """The cursor is older than the feed keeps, or from before a restore."""

    code = "cursor_expired"
    detail = (
        "The feed no longer reaches back to this cursor. Read the lists again and start from a new cursor."
    )


class DifferentBody(UseCaseError):
    """The id is taken by another body, and no If-Match said that it should be replaced."""

    code = "different_body"
    detail = "This id already holds another body. Send If-Match with the current ETag to replace it."


class PreconditionRequired(UseCaseError):
    """A change of this resource needs an If-Match."""

    code = "if_match_required"
    detail = "Changing this resource needs an If-Match header with the current ETag."


class PreconditionFailed(UseCaseError):
    """The If-Match names a version that is no longer the current one."""

    code = "stale_etag"
    detail = "The resource has changed since this ETag. The current version is in `current`."


class PlanIsKept(UseCaseError):
    """An issued plan stays as it was issued."""

    code = "plan_is_kept"
    detail = "An issued plan is kept unchanged. Issue another plan under a new id."


class ConsentRequired(UseCaseError):
    """The athlete has not agreed to this use of health data, or has withdrawn."""

    code = "consent_required"
    detail = "The athlete's consent for this purpose is missing or withdrawn."


class ClearanceRequired(UseCaseError):
    """Training answers are closed until a licensed clinician has given a clearance."""

    code = "clearance_required"
    detail = "Plans are closed until a licensed clinician's clearance is recorded."


class UnknownReference(UseCaseError):
    """A body or query names something that does not exist for this tenant."""

    code = "unknown_reference"
    detail = "The body names something that does not exist here."
    detail_of_query = "The query names something that does not exist here."


class NotPossible(UseCaseError):
    """A value is well formed, but not possible for what it belongs to."""

    code = "not_possible"
    detail = "The body says something that is not possible for what it belongs to."
    detail_of_query = "The query asks for something that is not possible."


class PerformedInFuture(UseCaseError):
    """A set, session or reading lies more than 24 hours ahead of the server's clock."""

    code = "performed_in_future"
    detail = "This happened more than 24 hours ahead of the server's clock."


class SessionHasSets(UseCaseError):
    """A session that still holds sets is not deleted unless cascade is asked for."""

    code = "session_has_sets"
    detail = "This session still holds sets. Delete them first, or ask for cascade=true."


class SiteRequired(UseCaseError):
    """The question cannot be answered without a site and what can be loaded there."""

    code = "site_required"
    detail = "Name a site: neither the request, the frame nor the athlete has one."


class NothingToComputeOn(UseCaseError):
    """The stored data does not allow this computation."""

    code = "nothing_to_compute_on"
    detail = "The stored data does not allow this computation."


class OutsideValidRange(UseCaseError):
    """A formula or model was asked outside the range in which it is valid."""

    code = "outside_valid_range"
    detail = "The inputs lie outside the range in which this is valid."


class KeyReused(UseCaseError):
    """An Idempotency-Key came again with another body."""

    code = "key_reused"
    detail = "This Idempotency-Key was used with another body."


class KeyInProgress(UseCaseError):
    """An Idempotency-Key whose first request is still running."""

    code = "in_progress"
    detail = "The first request with this Idempotency-Key is still running."


class UnreadableToken(UseCaseError):
    """A page token or cursor that this query did not hand out."""

    code = "unreadable_token"
    detail = "This page token or cursor does not belong to this query."


class Unauthenticated(UseCaseError):
    """No valid credentials came with the request."""

    code = "unauthenticated"
    detail = "A valid API key is needed, as `Authorization: Bearer <key>`."


class MissingScope(UseCaseError):
    """The credentials do not allow this verb."""

    code = "insufficient_scope"
    detail = "This key does not carry the scope that the operation needs."


class BehindPosition(UseCaseError):
    """The store has not yet reached the position that the client has seen."""

    code = "behind_position"
    detail = "This reader has not reached the asked position yet. Try again."


class StoreUnavailable(UseCaseError):
    """The store cannot be reached, or gave up waiting; whether the write took hold is unknown."""

    code = "store_unavailable"
    detail = "The store is not available. Send the same request again; ids make that safe."


class DependencyFailed(UseCaseError):
    """An earlier operation of the batch failed, and this one rests on it."""

    code = "dependency_failed"
    detail = "An earlier operation that this one rests on failed."
