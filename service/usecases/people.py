"""Consents and screenings: appended, never changed."""

from datetime import timedelta
from uuid import UUID

from service.usecases import resources
from service.usecases.consent import require_consent
from service.usecases.errors import FieldFault, NotPossible
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.noting import note_screening
from service.usecases.folding.writing import settle
from service.usecases.ports import Stored, UnitOfWork
from service.usecases.records.people import Consent, Screening
from service.usecases.uuid7 import uuid7

#: A date that has begun anywhere on earth is no date in the future.
_FARTHEST_AHEAD = timedelta(hours=14)


def record_consent(work: UnitOfWork, athlete_id: UUID, consent: Consent) -> Stored:
    """Append a decision about one purpose; the newest of a purpose counts from now on."""
    resources.lock_athlete(work, athlete_id)
    kept = Consent(
        purpose=consent.purpose,
        granted=consent.granted,
        text_version=consent.text_version,
        recorded_at=work.now,
    )
    id = uuid7()
    work.people.add_consent(athlete_id, id, kept)
    return _appended(work, id, athlete_id, kept)


def record_screening(work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, screening: Screening) -> Stored:
    """Append the outcome of a screening; raises ``ConsentRequired`` without consent to health data.

    ``cleared`` needs the clearance itself: only a licensed clinician's word opens closed plans.
    """
    resources.lock_athlete(work, athlete_id)
    require_consent(work, athlete_id, "process_health")
    if screening.outcome == "cleared" and screening.clearance is None:
        raise NotPossible(
            faults=[
                FieldFault(
                    "/clearance", "clearance_missing", "outcome is `cleared`", "the clinician's clearance"
                )
            ]
        )
    latest = (work.now + _FARTHEST_AHEAD).date()
    if screening.performed_on > latest:
        raise NotPossible(
            faults=[
                FieldFault(
                    "/performed_on",
                    "in_the_future",
                    str(screening.performed_on),
                    f"at most {latest}",
                )
            ]
        )
    kept = _dated(screening, work)
    id = uuid7()
    work.people.add_screening(athlete_id, id, kept)
    note_screening(work, athlete_id, kept)
    settle(work, book)
    return _appended(work, id, athlete_id, kept)


def _dated(screening: Screening, work: UnitOfWork) -> Screening:
    members = {name: getattr(screening, name) for name in Screening.__struct_fields__}
    return Screening(**{**members, "recorded_at": work.now})


def _appended(work: UnitOfWork, id: UUID, athlete_id: UUID, record: Consent | Screening) -> Stored:
    return Stored(id, athlete_id, 1, None, record, work.now, work.now)
