"""Consents and screenings."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Body, Response

from service.usecases import errors as refused
from service.usecases import people as deeds
from service.usecases import resources
from service.usecases.documents import Document
from service.usecases.keyed import once
from service.usecases.ports import Stored
from service.usecases.records import people as records
from service.web.idempotency import IdempotencyKey, bare
from service.web.operation import Example, Operation, Success, declare
from service.web.parameters import AthleteId, CallerOf, ServicesOf
from service.web.rendering import json_response, represent, to_record
from service.web.schemas import pages, people

_OWNED = {
    "id": "01937b5c-7a00-7000-8000-0000000000e1", "athlete_id": "01937b5c-7a00-7000-8000-00000000000a", "etag": '"1"',
    "received_at": "2026-11-23T09:00:00+00:00", "updated_at": "2026-11-23T09:00:00+00:00",
    "recorded_at": "2026-11-23T09:00:00+00:00",
}  # fmt: skip
_CONSENT: Example = {"purpose": "process_health", "granted": True, "text_version": "2026-10"}
_SCREENING: Example = {
    "instrument": "club questionnaire (invented)", "instrument_version": "3", "performed_on": "2026-11-20",
    "outcome": "clear", "conditions": [], "procedures": [],
}  # fmt: skip


def _same(answer: Document) -> Document:
    return answer


def _stored(id: UUID, athlete_id: UUID, record: Any) -> Stored:
    at = record.recorded_at
    return Stored(id, athlete_id, 1, None, record, at, at)


def _operations(
    single: str, plural: str, path: str, words: tuple[str, str], scopes: tuple[str, str], about: str, example: Example,
    schema: Any, page: Any, errors: tuple[type[refused.UseCaseError], ...],
) -> tuple[Operation, Operation]:  # fmt: skip
    shown = {**_OWNED, **example}
    record = Operation(
        id=f"record{single}",
        method="POST",
        path=path,
        tag="Athletes",
        summary=f"Record a {words[0]}",
        description=f"{about} Appended, never changed. An Idempotency-Key makes it safe to repeat.",
        scope=scopes[1],
        errors=(refused.Deleted, refused.KeyReused, *errors),
        consumes=("application/json",),
        body_examples={"sent": {"value": example}},
        successes=(
            Success(
                201,
                "Recorded.",
                schema,
                examples={"recorded": {"value": shown}},
                headers=("Steelyard-Position",),
                links={
                    f"list{plural}": {
                        "operationId": f"list{plural}",
                        "parameters": {"athlete_id": "$request.path.athlete_id"},
                    }
                },
            ),
        ),
    )
    listing = Operation(
        id=f"list{plural}",
        method="GET",
        path=path,
        tag="Athletes",
        summary=f"List {words[1]}",
        description=f"Every {words[0]} of the athlete, oldest first; the newest counts.",
        scope=scopes[0],
        errors=(refused.Deleted,),
        successes=(Success(200, "All of them.", page, examples={"all": {"value": {"items": [shown]}}}),),
    )
    return record, listing


def router() -> APIRouter:
    """Return the operations on consents and screenings."""
    made = APIRouter()
    consent, consents = _operations(
        "Consent", "Consents", "/athletes/{athlete_id}/consents", ("decision", "consent decisions"),
        ("athlete:read", "privacy"),
        "What the athlete decided about one purpose. Answers need `process_health`, rosters `coach` too; a withdrawal "
        "stops computing at once.",
        _CONSENT, people.Consent, pages.ConsentPage, (),
    )  # fmt: skip
    screening, screenings = _operations(
        "Screening", "Screenings", "/athletes/{athlete_id}/screenings", ("screening", "screenings"),
        ("athlete:read", "athlete:write"),
        "The outcome of a screening before training, never its questions. Needs the consent `process_health`. `referred` "
        "closes plans until a licensed clinician's clearance is recorded; so does an operation within 12 weeks.",
        _SCREENING, people.Screening, pages.ScreeningPage, (refused.ConsentRequired, refused.NotPossible),
    )  # fmt: skip

    @declare(made, consent)
    def record_consent(
        athlete_id: AthleteId,
        body: Annotated[people.ConsentInput, Body()],
        caller: CallerOf,
        services: ServicesOf,
        idempotency_key: IdempotencyKey = None,
    ) -> Response:
        asked = ["recordConsent", str(athlete_id), body.model_dump(mode="json", exclude_none=True)]
        record = to_record(body, records.Consent)
        with services.store.write(caller) as work:
            resources.find_athlete(work, athlete_id)

            def make() -> Document:
                return represent(deeds.record_consent(work, athlete_id, record))

            answer = once(work, bare(idempotency_key), asked, make, keep=_same)
            position = work.position()
        return json_response(answer, 201, {"Steelyard-Position": str(position)})

    @declare(made, screening)
    def record_screening(
        athlete_id: AthleteId,
        body: Annotated[people.ScreeningInput, Body()],
        caller: CallerOf,
        services: ServicesOf,
        idempotency_key: IdempotencyKey = None,
    ) -> Response:
        asked = ["recordScreening", str(athlete_id), body.model_dump(mode="json", exclude_none=True)]
        record = to_record(body, records.Screening)
        with services.write(caller) as (work, book):
            resources.find_athlete(work, athlete_id)

            def make() -> Document:
                return represent(deeds.record_screening(work, book, athlete_id, record))

            answer = once(work, bare(idempotency_key), asked, make, keep=_same)
            position = work.position()
        return json_response(answer, 201, {"Steelyard-Position": str(position)})

    @declare(made, consents)
    def list_consents(athlete_id: AthleteId, caller: CallerOf, services: ServicesOf) -> Response:
        with services.store.read(caller) as work:
            resources.find_athlete(work, athlete_id)
            found = work.people.consents(athlete_id)
        return json_response({"items": [represent(_stored(id, athlete_id, one)) for id, one in found]})

    @declare(made, screenings)
    def list_screenings(athlete_id: AthleteId, caller: CallerOf, services: ServicesOf) -> Response:
        with services.store.read(caller) as work:
            resources.find_athlete(work, athlete_id)
            found = work.people.screenings(athlete_id)
        return json_response({"items": [represent(_stored(id, athlete_id, one)) for id, one in found]})

    return made
