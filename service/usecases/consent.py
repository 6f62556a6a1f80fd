"""Consent: whose health data may be processed, and for what."""

from uuid import UUID

from service.usecases.errors import ConsentRequired
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import Consent, ConsentPurpose


def standing(consents: list[tuple[UUID, Consent]], purpose: ConsentPurpose) -> bool:
    """Whether the newest decision about a purpose grants it; no decision is no consent."""
    decisions = [consent.granted for _, consent in consents if consent.purpose == purpose]
    return bool(decisions) and decisions[-1]


def require_consent(work: UnitOfWork, athlete_id: UUID, *purposes: ConsentPurpose) -> None:
    """Raise ``ConsentRequired`` unless every purpose is granted now.

    The present decision counts, whatever instant an answer is asked for: a withdrawal stops computing at once.
    """
    consents = work.people.consents(athlete_id)
    for purpose in purposes:
        if not standing(consents, purpose):
            raise ConsentRequired(purpose=purpose)
