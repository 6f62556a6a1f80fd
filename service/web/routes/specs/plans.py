"""Issued plans."""

from service.catalogue.texts import Texts
from service.usecases import errors as refused
from service.usecases import kinds
from service.usecases.answers.plans import may_issue
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.plans import Plan
from service.usecases.resources import Target
from service.web.resource_specs import ResourceSpec
from service.web.schemas import pages, plans

ITEM_EXAMPLE = {
    "item_id": "01937b5c-7a00-7000-8000-0000000000c1", "exercise_id": "bench-press", "exercise_name": "Bench press",
    "role": "main", "minutes": 9.5, "muscles": ["pectoralis-major-sternal"], "policy": "add_repetitions_then_load",
    "sets": [
        {
            "side": "both", "load": {"value": 82.5, "unit": "kg"}, "made_of": ["Bar", "20 kg", "10 kg", "1.25 kg"],
            "reps_low": 6, "reps_high": 8, "reps_in_reserve": 3, "expected_reps": 9.1, "expected_reps_lower": 7.4,
            "expected_reps_upper": 11.2, "interval_mass": 0.8, "p_wanted": 0.61, "p_too_hard": 0.04, "rest_after_s": 150,
        }
    ],
}  # fmt: skip


def _may_issue(work: UnitOfWork, book: ExerciseBook, texts: Texts, target: Target, plan: Plan) -> None:
    if target.athlete_id is not None:
        may_issue(work, book, texts, target.athlete_id, target.id, plan)


PLAN_SPECS = (
    ResourceSpec(
        kind=kinds.PLAN,
        schema=plans.Plan,
        page_schema=pages.PlanPage,
        path="/athletes/{athlete_id}/plans",
        id_name="plan_id",
        names=("Plan", "Plans"),
        puts="issue",
        words=("plan", "plans"),
        tag="Session",
        scopes=("answer:read", "plan:write"),
        about=(
            "Issue a previewed session: it is kept exactly as sent, so that what was predicted can be held against what "
            "happened. Sets name it by `plan_id` and `plan_item_id`. Refused without consent, while training is closed, and "
            "for an item outside a limit or the clearance: each is named in `errors`."
        ),
        example={
            "items": [ITEM_EXAMPLE],
            "minutes": 9.5,
            "as_of": "2026-11-23T15:00:00+00:00",
            "model_version": "next-session/2",
        },
        patch_example=None,
        errors=(
            refused.ClearanceRequired,
            refused.ConsentRequired,
            refused.NotPossible,
            refused.UnknownReference,
        ),
        may_put=_may_issue,
    ),
)
