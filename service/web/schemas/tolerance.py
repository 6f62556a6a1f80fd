"""Tolerance on the wire: pain by region, side, angle and phase, warning signs, and the load of weeks."""

from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import Field

from service.catalogue.records import LoadBasis
from service.core.tolerance.joint_tests import RetestVerdict
from service.usecases.answers.pain_places import ACTIONS
from service.web.schemas.answers import (
    Answer,
    Basis,
    Cautions,
    Quantity,
    Reason,
    Reasons,
    Sentence,
    SourceKeys,
    UnitCode,
)
from service.web.schemas.base import (
    A_NUMBER,
    Degrees,
    Flag,
    Instant,
    Label,
    Name,
    Schema,
    Score,
    Share,
    Slug,
)

ActionCode = Annotated[str, Field(max_length=64, json_schema_extra={"x-extensible-enum": list(ACTIONS)})]
RETEST_VERDICTS = get_args(RetestVerdict)
ToldSide = Literal["left", "right", "both", "unspecified"]


class ToleranceAction(Schema):
    """The one thing to do."""

    code: ActionCode
    """What the most careful rule asks for; the list may grow."""
    text: Sentence
    """A plain sentence, in the language of Content-Language."""


class PainBand(Schema):
    """The worst pain told between two angles, or in one phase of the repetition."""

    from_deg: Degrees | None = None
    """Where the band begins. [degrees]"""
    to_deg: Degrees | None = None
    """Where it ends. [degrees]"""
    phase: str | None = Field(
        default=None,
        max_length=64,
        json_schema_extra={"x-extensible-enum": ["lifting", "lowering", "holding", "all"]},
    )
    """The phase, where one was told."""
    worst: Score | None = None
    """The worst pain told there, 0 to 10; left out where no number was told."""


class PainSession(Schema):
    """The pain of one session or check-in at a place."""

    at: Instant
    """When."""
    worst: Score | None = None
    """The worst of what was told during it and right after, 0 to 10; left out where only the morning was told."""
    during: Score | None = None
    """During the session."""
    after: Score | None = None
    """Right after it."""
    next_morning: Score | None = None
    """The next morning."""
    zone: str | None = Field(
        default=None, json_schema_extra={"x-extensible-enum": ["go", "reduce_and_watch", "stop"]}
    )
    """The zone of the worst."""


class PainLoad(Schema):
    """A load, as the exercise counts it."""

    value: Quantity
    """How much, in `unit`."""
    unit: UnitCode
    """`kg`, `lb`, or `{level}` for a station that has labels and no masses."""
    load_basis: LoadBasis
    """What it means: the whole load, that of each hand, added to the body, assistance ..."""


class PainItem(Schema):
    """Pain in one region and side, brought on by one lift or by none in particular, and what it asks for."""

    region: Label
    """Where it hurts, as it was told."""
    side: ToldSide
    """The side that was told."""
    exercise_id: Name | None = None
    """The lift that brings it on."""
    zone: str = Field(json_schema_extra={"x-extensible-enum": ["go", "reduce_and_watch", "stop"]})
    """The zone of the newest session's worst pain, or of the morning where only that was told; `zones` says where they part.

    Pain that was named without a number is not known: it counts as the middle zone at least."""
    action: ActionCode
    """What to do with the movement next; the list may grow."""
    during: Score | None = None
    """Pain during the newest session that told any, 0 to 10."""
    after: Score | None = None
    """Pain right after it, 0 to 10."""
    next_morning: Score | None = None
    """Pain the next morning, 0 to 10; left out where nobody said, and then nothing rises."""
    sessions: Annotated[list[PainSession], Field(max_length=400)] = []
    """Every session of the last three weeks in which pain was told here, oldest first."""
    bands: Annotated[list[PainBand], Field(max_length=100)] = []
    """Angles and phases that were told, the worst first."""
    load_factor: Share
    """What is left of the load at which it hurt, `hurt_at`, or of the last load where that is left out; 0 ends the movement.

    It multiplies what was moved, the body's part with it where the body is the load; `load_left` is the product. It comes
    off once: where the last load is no heavier than that, the action is `hold`."""
    hurt_at: PainLoad | None = None
    """The load at which it hurt in the newest session that told any; left out where nothing comes off, or none is known."""
    load_left: PainLoad | None = None
    """The most that this leaves; of assistance the least. Left out where it would be less than the body, and for levels."""
    set_factor: Share
    """What is left of the last sets; 0 ends the movement."""
    instead_set_factor: Share | None = None
    """Fewer sets instead, where the load cannot be lowered."""
    range_start_deg: Degrees | None = None
    """Where to begin, past the painful angles, where too little range lies short of them. [degrees]"""
    range_end_deg: Degrees | None = None
    """Where to turn back, short of the painful angles. [degrees]"""
    increase_allowed: Flag
    """Whether load, repetitions, range or sets may rise."""
    basis: Basis
    """The sessions in which it was told."""
    reasons: Reasons = []
    """Why, the weightiest first."""
    cautions: Cautions = []
    """What to heed, the most urgent first."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class DueCheck(Schema):
    """Something that is due to be told."""

    kind: str = Field(
        json_schema_extra={
            "x-extensible-enum": ["pain_number", "next_morning_pain", "joint_retest", "retest"]
        }
    )
    """What is due: the number of a pain that was only named, how pain was the next morning, a joint test again, or to look
    again at another limit to be improved."""
    region: Label | None = None
    """The region that hurt, or that a limit is about."""
    side: ToldSide
    """The side."""
    exercise_id: Name | None = None
    """The lift that brought it on."""
    test: Slug | None = None
    """The joint-motion test that told of it last, where one did."""
    due_from: Instant
    """From when on it is due."""
    due_until: Instant | None = None
    """Until when it can be told; left out where it stays due."""
    reason: Reason
    """The question."""


class JointRetest(Schema):
    """The newest reading of a joint-motion test beside the one before. No norm stands behind it."""

    test: Slug
    """The test."""
    side: ToldSide
    """The side."""
    newest_deg: Degrees
    """Mean of the newest readings. [degrees]"""
    measured_at: Instant
    """When they were taken."""
    change_deg: Annotated[float, Field(ge=-540, le=540), A_NUMBER] | None = None
    """Against the time before. [degrees]"""
    minimal_detectable_change_deg: Quantity | None = None
    """Change that the test's own error exceeds once in twenty; left out where nothing published is known. [degrees]"""
    verdict: str = Field(json_schema_extra={"x-extensible-enum": list(RETEST_VERDICTS)})
    """Whether the range changed beyond that error."""
    reasons: Reasons = []
    """What it means."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class PainZones(Schema):
    """The version of the pain zones that is used."""

    go_up_to: Score
    """The most pain of the first zone, 0 to 10."""
    watch_up_to: Score
    """The most pain of the second zone; above it the movement ends."""
    reason: Reason
    """Which version it is, and how others differ."""


class LoadWeek(Schema):
    """The load of one training week: each session's RPE times its minutes. A description, nothing more."""

    first_day: date
    """The local date on which the week begins."""
    load: Quantity | None = None
    """The sum over its sessions; a lower bound where `tolerance_load_incomplete` says that some did not tell theirs, and left
    out where none did."""
    monotony: Quantity | None = None
    """Mean daily load over its standard deviation; left out where the week is not over or not told in whole."""
    strain: Quantity | None = None
    """Load times monotony."""
    sd_convention: str = Field(json_schema_extra={"x-extensible-enum": ["population", "sample"]})
    """Which standard deviation: the population's divides by 7, the sample's by 6."""
    reasons: Reasons = []
    """What to know of it."""


class ToleranceAnswer(Answer):
    """What this body tolerates now."""

    action: ToleranceAction
    """The one thing to do: what the most careful rule asks for."""
    items: Annotated[list[PainItem], Field(max_length=400)]
    """Pain of the last three weeks by region, side and lift, what asks for most care first."""
    stops_all_training: Flag
    """Whether a warning sign stands that stops all training."""
    stops_region: Flag
    """Whether a warning sign stands that rests the region it is about.

    It stands for two weeks, until a clinician's clearance given since, or a later check-in that tells of that region and
    side without the sign."""
    reasons: Reasons = []
    """What stands open or closed, and why."""
    cautions: Cautions = []
    """What to heed, emergencies first."""
    due_checks: Annotated[list[DueCheck], Field(max_length=400)] = []
    """What is due to be told."""
    joint_tests: Annotated[list[JointRetest], Field(max_length=400)] = []
    """The newest joint-motion tests of half a year, each against the one before."""
    zones: PainZones
    """The version of the pain zones."""
    weeks: Annotated[list[LoadWeek], Field(max_length=16)]
    """Load by training week, oldest first."""
    recent_load: Quantity | None = None
    """Mean daily load, newer days weighing more, over about a week; left out where a session's load was not told."""
    longer_load: Quantity | None = None
    """The same over about four weeks. No ratio of the two is given: one is part of the other."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""
