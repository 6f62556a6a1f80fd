"""Every resource that clients write, and how the contract shows it."""

from fastapi import APIRouter

from service.web.resource_routes import mount
from service.web.resource_specs import ResourceSpec
from service.web.routes.specs import ATHLETE_SPECS, LOG_SPECS, PLACE_SPECS, PLAN_SPECS, WANT_SPECS

#: Kinds whose bodies a phone's queue may carry.
QUEUED_SPECS: dict[str, ResourceSpec] = {spec.kind.name: spec for spec in LOG_SPECS}


def router() -> APIRouter:
    """Return the operations of every resource."""
    made = APIRouter()
    for spec in (*ATHLETE_SPECS, *LOG_SPECS, *WANT_SPECS, *PLACE_SPECS, *PLAN_SPECS):
        mount(made, spec)
    return made
