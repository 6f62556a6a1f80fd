"""Whether the service is alive and ready, and where its reference page is."""

from fastapi import APIRouter, Response

from service import __version__
from service.web.operation import Operation, Success, declare
from service.web.parameters import ServicesOf
from service.web.rendering import json_response
from service.web.schemas.service import Health, Readiness


def router() -> APIRouter:
    """Return the operations that need no key."""
    made = APIRouter()
    alive = Operation(
        id="getHealth",
        method="GET",
        path="/healthz",
        tag="Service",
        summary="Is the process alive?",
        description="Answers as long as the process runs; asks nothing of the database. For a supervisor's restarts.",
        successes=(
            Success(
                200, "Alive.", Health, examples={"alive": {"value": {"status": "alive", "version": "0.1.0"}}}
            ),
        ),
    )
    ready = Operation(
        id="getReadiness",
        method="GET",
        path="/readyz",
        tag="Service",
        summary="Is the service ready for requests?",
        description="Ready when the database answers and its schema is the one that this release expects.",
        successes=(
            Success(
                200,
                "Ready.",
                Readiness,
                examples={
                    "ready": {"value": {"ready": True, "checks": {"database": True, "migrations": True}}}
                },
            ),
            Success(
                503,
                "Not ready; `checks` says why.",
                Readiness,
                examples={
                    "starting": {"value": {"ready": False, "checks": {"database": True, "migrations": False}}}
                },
            ),
        ),
    )

    @declare(made, alive)
    def get_health() -> Response:
        return json_response({"status": "alive", "version": __version__})

    @declare(made, ready)
    def get_readiness(services: ServicesOf) -> Response:
        checks = dict(services.store.readiness())
        is_ready = all(checks.values())
        return json_response({"ready": is_ready, "checks": checks}, 200 if is_ready else 503)

    return made
