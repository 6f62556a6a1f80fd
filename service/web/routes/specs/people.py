"""Athletes and groups."""

from typing import Annotated
from uuid import UUID

from fastapi import Query

from service.usecases import errors as refused
from service.usecases import kinds, resources
from service.web.resource_specs import ListFilters, ResourceSpec
from service.web.schemas import pages, people
from service.web.schemas.base import Name


class AthleteFilters(ListFilters):
    """How a list of athletes may be narrowed."""

    group_id: Annotated[UUID | None, Query(description="Only athletes on this group's roster.")] = None
    home_site_id: Annotated[
        UUID | None, Query(alias="site_id", description="Only athletes of this home site.")
    ] = None
    external_ref: Annotated[
        Name | None, Query(description="Only the athlete with this id in the caller's system.")
    ] = None


_SCOPES = ("athlete:read", "athlete:write")

ATHLETE_SPECS = (
    ResourceSpec(
        kind=kinds.ATHLETE,
        schema=people.Athlete,
        page_schema=pages.AthletePage,
        path="/athletes",
        id_name="athlete_id",
        names=("Athlete", "Athletes"),
        words=("athlete", "athletes"),
        tag="Athletes",
        scopes=_SCOPES,
        about="The person whose training is logged. Only `time_zone` is needed; what is missing widens intervals.",
        example={
            "display_name": "Runa (invented)",
            "time_zone": "Europe/Riga",
            "week_starts_on": "monday",
            "unit": "kg",
            "birth_year": 1991,
            "training_years": 6.5,
            "dominance": {"hand": "right", "leg": "left"},
        },
        patch_example={"unit": "lb", "training_years": 7},
        errors=(refused.UnknownReference, refused.NotPossible),
        filters=AthleteFilters,
    ),
    ResourceSpec(
        kind=kinds.GROUP,
        schema=people.Group,
        page_schema=pages.GroupPage,
        path="/groups",
        id_name="group_id",
        names=("Group", "Groups"),
        words=("group", "groups"),
        tag="Athletes",
        scopes=_SCOPES,
        about="A roster of athletes, for rosters and for the reach of keys. A new list of athletes replaces the old.",
        example={"name": "Tuesday evening (invented)", "athlete_ids": []},
        patch_example={"name": "Tuesday early evening (invented)"},
        errors=(refused.UnknownReference,),
        visible=resources.visible_groups,
    ),
)
