"""Sites, their implements, and the tenant's own exercises."""

from service.usecases import errors as refused
from service.usecases import kinds, resources
from service.web.resource_specs import ResourceSpec
from service.web.routes.catalogue import own_document
from service.web.schemas import exercises, pages, places

_SCOPES = ("site:read", "site:write")

PLACE_SPECS = (
    ResourceSpec(
        kind=kinds.SITE,
        schema=places.Site,
        page_schema=pages.SitePage,
        path="/sites",
        id_name="site_id",
        names=("Site", "Sites"),
        words=("site", "sites"),
        tag="Sites",
        scopes=_SCOPES,
        about="A gym. What can be loaded there is put under `implements`.",
        example={
            "name": "Hillside Hall (invented)",
            "time_zone": "Europe/Riga",
            "supervised": True,
            "safety_bars": True,
        },
        patch_example={"supervised": False},
        visible=resources.visible_sites,
    ),
    ResourceSpec(
        kind=kinds.IMPLEMENTS,
        schema=places.Inventory,
        page_schema=None,
        path="/sites/{site_id}/implements",
        id_name=None,
        names=("Implements", "Implements"),
        words=("list of implements", "lists of implements"),
        tag="Sites",
        scopes=_SCOPES,
        about="Everything that can be loaded or used at a site: loads are only ever advised that it can make.",
        example={
            "items": [
                {"kind": "bar", "name": "Bar", "mass": {"value": 20, "unit": "kg"}},
                {"kind": "plate_pairs", "name": "20s", "mass": {"value": 20, "unit": "kg"}, "pairs": 4},
                {"kind": "plate_pairs", "name": "1.25s", "mass": {"value": 1.25, "unit": "kg"}, "pairs": 1},
                {"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 5, "last": 50, "step": 5},
                {
                    "kind": "stack",
                    "name": "Cable",
                    "station": "cable",
                    "unit": "kg",
                    "masses": [5, 10, 15, 20, 25],
                },
                {"kind": "gear", "name": "Bench", "gear": "bench"},
            ]
        },
        patch_example={"template_id": None},
        errors=(refused.NotPossible, refused.NotFound),
    ),
    ResourceSpec(
        kind=kinds.EXERCISE,
        schema=exercises.Exercise,
        page_schema=None,
        path="/exercises",
        id_name="exercise_id",
        names=("Exercise", "Exercises"),
        words=("exercise", "exercises"),
        tag="Catalogue",
        scopes=("catalogue:read", "catalogue:write"),
        about="An exercise of the tenant's own, under a UUID; it is then logged and planned like any other.",
        example={
            "name": "Landmine row (invented entry)",
            "pattern": "horizontal_pull",
            "laterality": "two_sided",
            "load_basis": "total",
            "implement": "bar",
            "curve_class": "row_pull",
            "body_part": "upper",
            "repetitions_low": 6,
            "repetitions_high": 15,
            "involvement": [
                {"muscle_id": "latissimus-dorsi", "share": 1},
                {"muscle_id": "biceps-brachii", "share": 0.5},
            ],
        },
        patch_example={"repetitions_high": 20},
        errors=(refused.UnknownReference, refused.NotPossible),
        shows_itself=False,
        show=own_document,
    ),
)
