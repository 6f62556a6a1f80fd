"""Limits, aims and the frame of a week."""

from service.usecases import errors as refused
from service.usecases import kinds
from service.web.resource_specs import ResourceSpec
from service.web.schemas import pages, wants

_SCOPES = ("athlete:read", "athlete:write")

WANT_SPECS = (
    ResourceSpec(
        kind=kinds.LIMIT,
        schema=wants.Limit,
        page_schema=pages.LimitPage,
        path="/athletes/{athlete_id}/limits",
        id_name="limit_id",
        names=("Limit", "Limits"),
        words=("limit", "limits"),
        tag="Wants",
        scopes=_SCOPES,
        about=(
            "What constrains training now. Needs the consent `process_health`. A clinician's word, pain above 5 and joint "
            "ranges are vetoes that nothing outweighs, and so is what is to be replaced; preferences to improve are penalties."
        ),
        example={
            "kind": "range_of_motion",
            "mode": "replace",
            "region": "wrist",
            "side": "both",
            "joint_limit": {"motion": "wrist_extension", "from_deg": 0, "to_deg": 40, "side": "both"},
        },
        patch_example={"ends_on": "2026-12-31"},
        errors=(refused.UnknownReference, refused.NotPossible),
    ),
    ResourceSpec(
        kind=kinds.AIM,
        schema=wants.Aim,
        page_schema=pages.AimPage,
        path="/athletes/{athlete_id}/aims",
        id_name="aim_id",
        names=("Aim", "Aims"),
        words=("aim", "aims"),
        tag="Wants",
        scopes=_SCOPES,
        about="What the athlete wants; priority 1 comes first when time is short.",
        example={"kind": "grow_muscle", "muscle_id": "latissimus-dorsi", "priority": 1},
        patch_example={"priority": 2},
        errors=(refused.UnknownReference,),
    ),
    ResourceSpec(
        kind=kinds.FRAME,
        schema=wants.Frame,
        page_schema=None,
        path="/athletes/{athlete_id}/frame",
        id_name=None,
        names=("Frame", "Frames"),
        words=("frame", "frames"),
        tag="Wants",
        scopes=_SCOPES,
        about="The week that life allows: days, minutes, and where.",
        example={"days": ["monday", "wednesday", "friday"], "minutes": 60},
        patch_example={"minutes": 75},
    ),
)
