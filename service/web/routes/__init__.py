"""The operations, one module a group of resources."""

from fastapi import APIRouter

from service.web import reference
from service.web.routes import (
    batches,
    calibration,
    capability,
    catalogue,
    changes,
    compute,
    compute_training,
    consents,
    dose_response,
    imbalance,
    keys,
    muscle_ratios,
    next_set,
    recovery,
    resources,
    roster,
    service,
    sessions,
    tolerance,
    trends,
    volume,
)

VERSION_PREFIX = "/v1"


def all_routers() -> list[tuple[APIRouter, str]]:
    """Return every router with the prefix it is mounted under."""
    versioned = (
        resources,
        batches,
        consents,
        catalogue,
        changes,
        keys,
        compute,
        compute_training,
        volume,
        dose_response,
        imbalance,
        muscle_ratios,
        capability,
        next_set,
        calibration,
        trends,
        recovery,
        tolerance,
        roster,
        sessions,
    )
    unversioned = (service, reference)
    return [
        *((module.router(), VERSION_PREFIX) for module in versioned),
        *((module.router(), "") for module in unversioned),
    ]
