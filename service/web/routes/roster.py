"""The answers of many athletes at once, streamed."""

from collections.abc import Iterator
from functools import partial
from typing import Annotated, Literal, cast
from uuid import UUID

from fastapi import APIRouter, Header, Path, Query, Response

from service.core.estimates import DEFAULT_MASS
from service.usecases import errors as refused
from service.usecases.answers.roster import (
    RosterAnswer,
    RosterLine,
    RosterProblem,
    RosterQuestion,
    RosterRow,
    open_roster,
    stream_roster,
)
from service.usecases.documents import Document, without_nulls
from service.web.operation import Operation, Success, declare
from service.web.parameters import AcceptLanguage, AnswerUnit, CallerOf, IntervalMass, ServicesOf
from service.web.problems import of_refusal
from service.web.routes.volume import LocalDay
from service.web.schemas.roster import COLUMNS, PARTS, described
from service.web.streaming import (
    CSV,
    NDJSON,
    CsvForm,
    LineType,
    StreamFormat,
    chosen_format,
    csv_lines,
    ndjson_lines,
    stream,
)

#: A path that there is not is not found, like any other.
AnswerName = Annotated[
    str, Path(max_length=40, description="Which answer.", json_schema_extra={"enum": list(COLUMNS)})
]
_SHOWN_NDJSON = (
    '{"type":"row","athlete_id":"01937b5c-7a00-7000-8000-00000000000a","external_ref":"invented-17",'
    '"model_version":"volume/4","as_of":"2026-11-25T09:00:00+00:00","position":"42",'
    '"item":{"muscle_id":"soleus","side":"both","direct":3.0}}\n'
    '{"type":"problem","athlete_id":"01937b5c-7a00-7000-8000-00000000000b","problem":{"type":'
    '"urn:steelyard:problem:consent_required","title":"Consent is needed","status":403,"code":"consent_required",'
    '"detail":"The athlete\'s consent for this purpose is missing or withdrawn.","purpose":"coach"}}\n'
    '{"type":"end","count":1,"athlete_count":2,"problem_count":1}\n'
)
_SHOWN_TRENDS = (
    '{"type":"row","athlete_id":"01937b5c-7a00-7000-8000-00000000000a","external_ref":"invented-17",'
    '"model_version":"trend/3","as_of":"2026-11-25T09:00:00+00:00","position":"42","item":{"weeks":8,"lift_count":5,'
    '"lifts":{"progress":2,"stall":1,"regression":1,"not_decided":1},"stall_exercise_ids":["bench-press"],'
    '"regression_exercise_ids":["lat-pulldown"],"easier_week":"watch","due_check_count":1,'
    '"due_checks":[{"kind":"girth","due_on":"2026-11-27"}],"next_due_on":"2026-11-27",'
    '"basis":{"observation_count":240,"newest_at":"2026-11-24T16:00:00+00:00"},"reasons":[]}}\n'
    '{"type":"end","count":1,"athlete_count":1,"problem_count":0}\n'
)
_SHOWN_CSV = (
    "athlete_id,external_ref,display_name,status,caution\r\n"
    "01937b5c-7a00-7000-8000-00000000000a,invented-17,,ok,Guidance: stop on sharp pain.\r\n"
)
_COLUMNS_TOLD = "\n".join(f"- `{answer}`: {described(columns)}" for answer, columns in COLUMNS.items())
_OPERATION = Operation(
    id="streamRoster",
    method="GET",
    path="/roster/{answer}",
    tag="Roster",
    summary="One answer for many athletes, streamed",
    description=(
        "The items of one answer for every athlete in reach, by athlete id, while they are computed. An athlete who "
        "cannot be answered for (consents to `process_health` and `coach`, a clearance) gives one problem and the "
        "stream goes on. All athletes are read as of one instant, each in a snapshot of its own.\n\n"
        "NDJSON: lines with `type` `row` (`athlete_id`, what the answer says of itself, `item` as in the athlete's own "
        "answer; of `trends` one row an athlete with counts of lifts by state, those that stand or fall, and what is due), "
        "`problem` (`athlete_id`, `problem`), and last `end` (`count` rows, `athlete_count`, "
        "`problem_count`). Without an `end` line the stream is not whole: ask again. CSV (RFC 4180, CRLF): intervals "
        "are columns; text that a spreadsheet could run begins with an apostrophe; the problem's code stands in "
        "`status` and its sentence in `caution`; a CSV that fails ends in an aborted connection. Columns are stable, "
        "new ones come at the end:\n\n" + _COLUMNS_TOLD
    ),
    scope="roster:read",
    errors=(refused.Deleted,),
    produces=(NDJSON, CSV),
    successes=(
        Success(
            200,
            "The stream.",
            media_type=NDJSON,
            examples={"volume": {"value": _SHOWN_NDJSON}, "trends": {"value": _SHOWN_TRENDS}},
            headers=("Content-Language",),
        ),
        Success(
            200,
            "The stream.",
            media_type=CSV,
            examples={"volume": {"value": _SHOWN_CSV}},
            headers=("Content-Language",),
        ),
    ),
)


def typed_lines(lines: Iterator[RosterLine]) -> Iterator[tuple[LineType, Document]]:
    """Yield each line of a roster as a document with its type."""
    for line in lines:
        if isinstance(line, RosterRow):
            yield "row", without_nulls({**_who(line), **line.told, "item": line.item})
        elif isinstance(line, RosterProblem):
            yield "problem", without_nulls({**_who(line), "problem": of_refusal(line.refusal).document()})
        else:
            counts = {"athlete_count": line.athlete_count, "problem_count": line.problem_count}
            yield "end", {"count": line.count, **counts}


def _who(line: RosterRow | RosterProblem) -> Document:
    athlete = line.athlete
    return {
        "athlete_id": str(line.athlete_id),
        "external_ref": athlete.external_ref,
        "display_name": athlete.display_name,
    }


def flat_lines(
    lines: Iterator[tuple[LineType, Document]], spread: str | None = None
) -> Iterator[tuple[LineType, Document]]:
    """Yield each line, or each part of it, with what a table needs beside it: status, codes, cautions, indices by name."""
    for kind, document in lines:
        flat = _flat(document)
        item = document.get("item", {})
        parts = [*item.get(spread, ()), *item.get(f"{spread}_by_length", ())] if spread else None
        for number, part in enumerate(parts or [{}], 1):
            yield kind, {**flat, "part": part, "part_number": number if parts else None}


def _flat(document: Document) -> Document:
    problem, item = document.get("problem"), document.get("item", {})
    cautions = [*item.get("cautions", ()), *document.get("cautions", ())]
    return {
        **document,
        "status": problem["code"] if problem else "ok",
        "reasons": " ".join(reason["code"] for reason in item.get("reasons", ())),
        "caution": problem["detail"]
        if problem
        else " ".join(dict.fromkeys(caution["text"] for caution in cautions)),
        "stall_exercise_ids": " ".join(item.get("stall_exercise_ids", ())),
        "regression_exercise_ids": " ".join(item.get("regression_exercise_ids", ())),
        "due_checks": " ".join(dict.fromkeys(check["kind"] for check in item.get("due_checks", ()))),
        "indices": {index["id"]: index.get("value") for index in item.get("indices", ())},
    }


def router() -> APIRouter:
    """Return the operation on rosters."""
    made = APIRouter()

    @declare(made, _OPERATION)
    def stream_roster_(
        caller: CallerOf,
        services: ServicesOf,
        answer: AnswerName,
        group_id: Annotated[UUID | None, Query(description="Only athletes on this group's roster.")] = None,
        site_id: Annotated[UUID | None, Query(description="Only athletes whose home site this is.")] = None,
        week_of: Annotated[
            LocalDay,
            Query(description="As things stood at the end of the week of this date; now unless given."),
        ] = None,
        format: Annotated[StreamFormat | None, Query(description="Beats the Accept header.")] = None,
        unit: AnswerUnit = None,
        mass: IntervalMass = DEFAULT_MASS,
        delimiter: Annotated[
            Literal[",", ";", "\t"], Query(description="Between the fields of a CSV.")
        ] = ",",
        decimal: Annotated[Literal[".", ","], Query(description="The decimal sign of a CSV.")] = ".",
        bom: Annotated[bool, Query(description="Whether a CSV begins with a byte order mark.")] = False,
        accept: Annotated[str | None, Header(include_in_schema=False)] = None,
        accept_language: AcceptLanguage = None,
    ) -> Response:
        named = cast(RosterAnswer, answer)
        question = RosterQuestion(named, group_id, site_id, week_of, unit, mass)
        read = partial(services.read, caller)
        with read() as (work, _):
            as_of = open_roster(work, question)
        lines = typed_lines(stream_roster(read, services.texts, question, as_of))
        return _response(lines, chosen_format(format, accept), named, CsvForm(delimiter, decimal, bom))

    return made


def _response(
    lines: Iterator[tuple[LineType, Document]], format: StreamFormat, answer: RosterAnswer, form: CsvForm
) -> Response:
    told = {"Content-Language": "en"}
    if format == "csv":
        return stream(csv_lines(flat_lines(lines, PARTS.get(answer)), COLUMNS[answer], form), CSV, told)
    return stream(ndjson_lines(lines), NDJSON, told)
