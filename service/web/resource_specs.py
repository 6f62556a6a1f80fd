"""One kind of resource as the contract shows it: the record from which its operations are declared, and its words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from fastapi import Query
from pydantic import BaseModel

from service.catalogue.texts import Texts
from service.usecases import errors as refused
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.kinds import Kind
from service.usecases.ports import Stored, UnitOfWork
from service.usecases.resources import Target
from service.web.operation import Example
from service.web.rendering import represent
from service.web.schemas.resources import PageOf


class ListFilters(BaseModel):
    """What every list takes."""

    page_size: Annotated[
        int | None,
        Query(ge=1, le=2_147_483_647, description="Items a page; 100 unless given, capped at 1000."),
    ] = None
    page_token: Annotated[
        str | None, Query(max_length=400, description="`next_page_token` of the page before, same query.")
    ] = None


@dataclass(frozen=True, slots=True)
class ResourceSpec:
    """One kind of resource as the contract shows it.

    ``path`` is where lists are; ``id_name`` the path parameter of one, None where there is only one per parent.
    ``words`` is the singular and plural for summaries; ``about`` what the reader must know before writing.
    ``puts`` is the verb of putting in the operation's id and summary, where another word says it better.
    ``shows_itself`` is false where another module shows the kind together with what is not kept here; ``show`` makes the
    body of an answer. ``may_put`` refuses what must not be put now, where more than the body decides.
    """

    kind: Kind
    schema: type[Any]
    page_schema: type[PageOf] | None
    path: str
    id_name: str | None
    names: tuple[str, str]
    words: tuple[str, str]
    tag: str
    scopes: tuple[str, str]
    about: str
    example: Example
    patch_example: Example | None
    errors: tuple[type[refused.UseCaseError], ...] = ()
    filters: type[ListFilters] = ListFilters
    visible: Callable[[UnitOfWork], Mapping[str, Any]] | None = None
    cascade: bool = False
    links: Mapping[str, Any] = field(default_factory=dict)
    puts: str = "put"
    shows_itself: bool = True
    show: Callable[[Stored], Document] = represent
    may_put: Callable[[UnitOfWork, ExerciseBook, Texts, Target, Any], None] | None = None

    @property
    def one(self) -> str:
        """The path of one resource."""
        return f"{self.path}/{{{self.id_name}}}" if self.id_name else self.path

    @property
    def of_athlete(self) -> bool:
        """Whether the resource lies under an athlete."""
        return self.kind.of_athlete


def write_errors(spec: ResourceSpec) -> tuple[type[refused.UseCaseError], ...]:
    """Return every refusal of a write beside those that all operations share."""
    rule: dict[str, tuple[type[refused.UseCaseError], ...]] = {
        "different_body": (refused.DifferentBody,),
        "if_match_required": (refused.PreconditionRequired,),
        "kept": (refused.PlanIsKept,),
    }
    consent = (refused.ConsentRequired,) if spec.kind.consent else ()
    changed = (refused.Deleted, refused.PreconditionFailed)
    return (*changed, *rule[spec.kind.change_rule], *consent, *spec.errors)


def retry_words(spec: ResourceSpec) -> str:
    """Return what happens when a PUT is sent again."""
    words = {
        "different_body": "another body needs If-Match, else 409 `different_body` with `current`.",
        "if_match_required": "another body needs If-Match, else 428 `if_match_required`.",
        "kept": "another body is refused: it is kept as it was first sent.",
    }
    return f"Safe to retry: the same body again answers 200 and feeds nothing; {words[spec.kind.change_rule]}"


def links_of(spec: ResourceSpec) -> dict[str, Any]:
    """Return where a client may go from what it made."""
    names = [name for name in ("athlete_id" if spec.of_athlete else None, spec.id_name) if name]
    if not spec.of_athlete and spec.id_name is None:
        names = ["site_id"]
    parameters = {name: f"$request.path.{name}" for name in names}
    single, _ = spec.names
    own = {f"get{single}": {"operationId": f"get{single}", "parameters": parameters}}
    deletes = {f"delete{single}": {"operationId": f"delete{single}", "parameters": parameters}}
    return {**own, **deletes, **spec.links}


def shown_example(spec: ResourceSpec) -> Document:
    """Return the example as the server would show it."""
    owned: Document = {
        "id": "01937b5c-7a00-7000-8000-000000000001", "etag": '"1"',
        "received_at": "2026-11-23T18:06:00+00:00", "updated_at": "2026-11-23T18:06:00+00:00",
    }  # fmt: skip
    if spec.of_athlete:
        owned["athlete_id"] = "01937b5c-7a00-7000-8000-00000000000a"
    if spec.kind.name == "exercise":
        owned.update(exercise_id=owned["id"], origin="own")
    return {**owned, **spec.example}


def with_article(word: str) -> str:
    """Return a word with its indefinite article."""
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"
