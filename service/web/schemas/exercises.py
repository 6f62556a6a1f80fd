"""Exercises, muscles and sources on the wire."""

from typing import Annotated

from pydantic import Field

from service.catalogue.records import (
    BodyPart,
    CurveClass,
    Implement,
    Laterality,
    LoadBasis,
    Pattern,
    Position,
    Work,
)
from service.web.schemas.base import (
    A_WHOLE_NUMBER,
    Degree0To3,
    Degrees,
    Flag,
    Name,
    Schema,
    Share,
    Slug,
    read_only,
)
from service.web.schemas.resources import PageOf, TenantResource

Count = Annotated[int, Field(ge=1, le=1000), A_WHOLE_NUMBER]


class Involvement(Schema):
    """The share of a set's dose that a muscle receives."""

    muscle_id: Slug
    """A muscle of `GET /v1/muscles`."""
    share: Share
    """From 0 to 1: 1 is a direct set, 0.5 an indirect one unless a source says better."""
    sd: float | None = read_only("Spread of the share.")
    basis: str | None = read_only("A source key, `anatomy` or `judgement`.", maxLength=80)


class JointDemand(Schema):
    """A range that a joint must move through under load."""

    motion: Annotated[str, Field(min_length=2, max_length=64, pattern=r"^[a-z][a-z_]{1,63}$")]
    """The motion, such as `shoulder_elevation`."""
    from_deg: Degrees
    """Where it begins. [degrees]"""
    to_deg: Degrees
    """Where it ends. [degrees]"""
    sd_deg: float | None = read_only("Spread over people and set-ups. [degrees]")
    basis: str | None = read_only("A source key, `anatomy` or `judgement`.", maxLength=80)


class Anchor(Schema):
    """Expected ratio of this lift's capability to another's."""

    exercise_id: str
    """The other lift."""
    ratio: float
    """Ratio of effective loads."""
    ln_sd: float
    """Spread of the ratio's logarithm."""
    basis: str
    """A source key, `anatomy` or `judgement`."""


class Exercise(TenantResource):
    """An exercise of the reference list, or one of the tenant's own; the latter can be put."""

    name: Name
    """What it is called."""
    aliases: Annotated[list[Name], Field(max_length=20)] = []
    """Other names by which people log it."""
    pattern: Pattern
    """The movement pattern."""
    laterality: Laterality
    """`two_sided` moves one load with both limbs, `two_loads` one in each hand, `one_sided` one limb at a time."""
    work: Work = "repetitions"
    """What is counted."""
    load_basis: LoadBasis
    """What the logged load means."""
    implement: Implement
    """What makes the load."""
    station: Slug | None = None
    """The station it needs."""
    gear: Annotated[list[Slug], Field(max_length=10)] = []
    """What else it needs, such as `bench`."""
    body_share: Share = 0.0
    """Share of body mass that is moved."""
    curve_class: CurveClass
    """The class of load-repetition curve from which its first forecasts come."""
    body_part: BodyPart
    """Where it trains."""
    repetitions_low: Count
    """The fewest repetitions that make sense (seconds for a hold, metres for a carry)."""
    repetitions_high: Count
    """The most that make sense."""
    involvement: Annotated[list[Involvement], Field(min_length=1, max_length=40)]
    """What a set of it does to which muscle."""
    compound: Flag = True
    """Whether more than one joint moves."""
    free_weight: Flag = True
    """Whether the load is free."""
    overhead: Flag = False
    """Whether the load goes overhead."""
    position: Position = "upright"
    """The body's position."""
    failure_exit: Degree0To3 = 1
    """How a failed repetition ends: 0 harmless to 3 trapped unless something catches it."""
    joint_demands: Annotated[list[JointDemand], Field(max_length=40)] | None = None
    """Ranges that joints must move through; left out means unknown, and an unknown demand fails a veto."""
    exercise_id: str | None = read_only("Its id: a slug of the reference list, or a UUID.", maxLength=64)
    origin: str | None = read_only(
        "`reference`, or `own` for one of the tenant's.", **{"x-extensible-enum": ["reference", "own"]}
    )
    anchor: Anchor | None = read_only("The lift from which a first load may be guessed.")
    basis: dict[str, str] | None = read_only(
        "Basis of every number that has no record of its own, by member."
    )

    @classmethod
    def always_told(cls) -> frozenset[str]:
        """A reference exercise has no version; every exercise has an id and an origin."""
        return frozenset({"exercise_id", "origin"})


class ExercisePage(PageOf):
    """One page of exercises."""

    items: Annotated[list[Exercise], Field(max_length=1000)]
    """The exercises."""


class Muscle(Schema):
    """A muscle, or a part of one where training tells the parts apart."""

    muscle_id: str
    """Its id."""
    name: str
    """What it is called."""
    group: str
    """The group it is listed under."""
    actions: Annotated[list[str], Field(max_length=40)]
    """What it does."""
    uberon_id: str | None = None
    """Its id in the UBERON anatomy ontology."""
    fma_id: str | None = None
    """Its id in the Foundational Model of Anatomy."""
    part_of: str | None = None
    """The muscle it is a part of."""
    volume_cm3: float | None = None
    """Volume of one side in a published model. [cm3]"""
    basis: str
    """A source key, `anatomy` or `judgement`."""


class MusclePage(PageOf):
    """One page of muscles."""

    items: Annotated[list[Muscle], Field(max_length=1000)]
    """The muscles."""


class Source(Schema):
    """A work that numbers come from."""

    key: str
    """The key under which answers cite it."""
    title: str
    """Its title."""
    authors: str
    """Its authors."""
    year: int
    """The year of publication."""
    where: str
    """Where it was published."""
    provenance: str = Field(json_schema_extra={"x-extensible-enum": ["read", "read_secondary", "memory"]})
    """How the figures were seen: in its own text, in a page that reproduces it, or recalled."""
    doi: str | None = None
    """Its digital object identifier."""
    note: str | None = None
    """Errata and doubts."""


class SourcePage(PageOf):
    """One page of sources."""

    items: Annotated[list[Source], Field(max_length=1000)]
    """The sources."""
