"""Exercises, muscles and sources: reference data."""

from dataclasses import asdict
from typing import Annotated, Any
from uuid import UUID

from fastapi import APIRouter, Path, Query, Response

from service.catalogue.catalogue import names_of
from service.catalogue.naming import comparable_name
from service.catalogue.records import Exercise, Muscle
from service.core.sources import SOURCES
from service.usecases import errors as refused
from service.usecases import resources
from service.usecases.documents import Document, without_nulls
from service.usecases.exercises import as_exercise
from service.usecases.kinds import EXERCISE
from service.usecases.ports import Stored
from service.usecases.resources import Target
from service.web.operation import Operation, Success, declare
from service.web.paging import after_token, page_size, token_for
from service.web.parameters import CallerOf, PageSize, PageToken, ServicesOf
from service.web.rendering import json_response, represent
from service.web.schemas import exercises as schema
from service.web.schemas.base import Name, Slug

_MUSCLE = {
    "muscle_id": "soleus", "name": "soleus", "group": "calves", "actions": ["ankle plantarflexion"],
    "uberon_id": "UBERON:0001389", "fma_id": "FMA:22542", "basis": "anatomy",
}  # fmt: skip
_SOURCE = {
    "key": "Epley1985", "title": "Poundage chart", "authors": "Epley B", "year": 1985, "where": "Boyd Epley Workout",
    "provenance": "read_secondary",
}  # fmt: skip


def own_document(stored: Stored) -> Document:
    """Return one of the tenant's own exercises as it is shown."""
    demands = stored.record.joint_demands
    shown = {**exercise_document(as_exercise(stored.id, stored.record), "own"), **_owned(stored)}
    return (
        shown
        if demands is not None
        else {name: part for name, part in shown.items() if name != "joint_demands"}
    )


def _owned(stored: Stored) -> Document:
    whole = represent(stored)
    return {name: whole[name] for name in ("id", "etag", "received_at", "updated_at")}


def exercise_document(exercise: Exercise, origin: str) -> Document:
    """Return an exercise as it is shown."""
    members: dict[str, Any] = asdict(exercise)
    low, high = members.pop("repetition_range")
    shown = {**members, "origin": origin, "repetitions_low": low, "repetitions_high": high}
    kept = schema.Exercise.model_fields
    return {name: part for name, part in without_nulls(shown).items() if name in kept}


def _muscle_document(muscle: Muscle) -> Document:
    shown: Document = without_nulls(asdict(muscle))
    return shown


def _sliced(
    items: list[tuple[str, Document]], size: int | None, token: str | None, mark: Document
) -> Response:
    """Return one page of a list that is sorted by key and held in memory."""
    after = after_token(token, mark, as_text=True)
    rest = [item for item in items if after is None or item[0] > after[0]]
    count = page_size(size)
    document: Document = {"items": [shown for _, shown in rest[:count]]}
    if len(rest) > count:
        document["next_page_token"] = token_for(mark, (rest[count - 1][0],))
    return json_response(document)


def _matches(exercise: Exercise, text: str | None, muscle_id: str | None) -> bool:
    if muscle_id is not None and all(part.muscle_id != muscle_id for part in exercise.involvement):
        return False
    if text is None:
        return True
    wanted = comparable_name(text)
    return any(wanted in comparable_name(name) for name in names_of(exercise))


def router() -> APIRouter:
    """Return the operations on reference data."""
    made = APIRouter()
    exercise = {**_example_exercise()}
    listing = Operation(
        id="listExercises",
        method="GET",
        path="/exercises",
        tag="Catalogue",
        summary="List exercises",
        description=(
            "The reference list and the tenant's own exercises, by id. `q` finds names and aliases whatever their case "
            "and punctuation; `muscle_id` finds what trains a muscle."
        ),
        scope="catalogue:read",
        errors=(refused.UnreadableToken,),
        successes=(
            Success(
                200, "One page.", schema.ExercisePage, examples={"page": {"value": {"items": [exercise]}}}
            ),
        ),
    )
    single = Operation(
        id="getExercise",
        method="GET",
        path="/exercises/{exercise_id}",
        tag="Catalogue",
        summary="Get an exercise",
        description="An exercise of the reference list by its slug, or one of the tenant's own by its UUID, as answers use it.",
        scope="catalogue:read",
        errors=(refused.Deleted,),
        successes=(
            Success(
                200,
                "The exercise; one of the tenant's own with its ETag.",
                schema.Exercise,
                examples={"one": {"value": exercise}},
                headers=("ETag",),
            ),
        ),
    )
    muscles = Operation(
        id="listMuscles",
        method="GET",
        path="/muscles",
        tag="Catalogue",
        summary="List muscles",
        description="Every muscle and trainable part, by id, with the ids of open anatomy ontologies.",
        scope="catalogue:read",
        errors=(refused.UnreadableToken,),
        successes=(
            Success(200, "One page.", schema.MusclePage, examples={"page": {"value": {"items": [_MUSCLE]}}}),
        ),
    )
    sources = Operation(
        id="listSources",
        method="GET",
        path="/sources",
        tag="Catalogue",
        summary="List sources",
        description="Every work that a number in an answer comes from, by key, and how its figures were seen.",
        scope="catalogue:read",
        errors=(refused.UnreadableToken,),
        successes=(
            Success(200, "One page.", schema.SourcePage, examples={"page": {"value": {"items": [_SOURCE]}}}),
        ),
    )

    @declare(made, listing)
    def list_exercises(
        caller: CallerOf,
        services: ServicesOf,
        q: Annotated[Name | None, Query(description="Part of a name or alias.")] = None,
        muscle_id: Annotated[
            Slug | None, Query(description="Only exercises that involve this muscle.")
        ] = None,
        page_size_: PageSize = None,
        page_token: PageToken = None,
    ) -> Response:
        with services.store.read(caller) as work:
            own = work.resources.all_of(EXERCISE, None)
        items = [
            (one.exercise_id, exercise_document(one, "reference"))
            for one in services.catalogue
            if _matches(one, q, muscle_id)
        ]
        items += [
            (str(stored.id), own_document(stored))
            for stored in own
            if _matches(as_exercise(stored.id, stored.record), q, muscle_id)
        ]
        items.sort(key=lambda item: item[0])
        return _sliced(items, page_size_, page_token, {"list": "exercises", "q": q, "muscle_id": muscle_id})

    @declare(made, muscles)
    def list_muscles(
        caller: CallerOf, services: ServicesOf, page_size_: PageSize = None, page_token: PageToken = None
    ) -> Response:
        items = sorted((id, _muscle_document(muscle)) for id, muscle in services.catalogue.muscles.items())
        return _sliced(items, page_size_, page_token, {"list": "muscles"})

    @declare(made, sources)
    def list_sources(
        caller: CallerOf, services: ServicesOf, page_size_: PageSize = None, page_token: PageToken = None
    ) -> Response:
        items = [(key, without_nulls(asdict(source))) for key, source in SOURCES.items()]
        return _sliced(items, page_size_, page_token, {"list": "sources"})

    @declare(made, single)
    def get_exercise(
        exercise_id: Annotated[Slug, Path(description="A slug of the reference list, or a UUID.")],
        caller: CallerOf,
        services: ServicesOf,
    ) -> Response:
        known = services.catalogue.exercises.get(exercise_id)
        if known is not None:
            return json_response(exercise_document(known, "reference"))
        with services.store.read(caller) as work:
            stored = resources.get(work, Target(EXERCISE, _own_id(exercise_id)))
        return json_response(own_document(stored), headers={"ETag": stored.etag})

    return made


def _own_id(exercise_id: str) -> UUID:
    try:
        return UUID(exercise_id)
    except ValueError:
        raise refused.NotFound from None


def _example_exercise() -> Document:
    return {
        "exercise_id": "leg-curl-seated", "origin": "reference", "name": "Seated leg curl", "aliases": ["seated leg curl"],
        "pattern": "knee_flexion", "laterality": "two_sided", "work": "repetitions", "load_basis": "total",
        "implement": "stack", "station": "leg-curl", "gear": [], "body_share": 0.0, "curve_class": "single_joint",
        "compound": False, "body_part": "lower", "free_weight": False, "overhead": False, "repetitions_low": 8,
        "repetitions_high": 20, "position": "seated", "failure_exit": 0,
        "involvement": [{"muscle_id": "semitendinosus", "share": 1.0, "sd": 0.15, "basis": "Maeo2021"}],
        "joint_demands": [], "basis": {"body_share": "judgement"},
    }  # fmt: skip
