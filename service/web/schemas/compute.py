"""Computing from a body alone: nothing is stored, and nothing is known but what is sent."""

from typing import Annotated, Literal

from pydantic import Field

from service.usecases.records.base import MassUnit
from service.usecases.records.log import LoadBasis
from service.web.schemas.answers import (
    Cautions,
    LoadThatCanBeMade,
    Quantity,
    Reason,
    Reasons,
    SourceKeys,
)
from service.web.schemas.base import A_NUMBER, A_WHOLE_NUMBER, THREE_DECIMALS, Code, Name, Schema, Slug
from service.web.schemas.places import Implement

FormulaId = Literal["epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathen", "kemmler"]
FormulaCode = Annotated[
    str, Field(max_length=64, json_schema_extra={"x-extensible-enum": list(FormulaId.__args__)})
]
ScreeningOutcome = Literal["none", "clear", "referred", "cleared"]
Text = Annotated[str, Field(max_length=400)]
LogRatio = Annotated[float, Field(ge=-5, le=5), A_NUMBER]


class LiftedMass(Schema):
    """A load that was lifted or is wanted."""

    value: Annotated[float, Field(ge=0.001, le=2000), A_NUMBER, THREE_DECIMALS]
    """How much, in `unit`; above 0."""
    unit: MassUnit
    """`kg`, or `lb` of exactly 0.45359237 kg."""


class Asked(Schema):
    """What every computation needs to know of the person, so that nothing is computed for someone who should not train."""

    screening: ScreeningOutcome = "none"
    """The outcome of a health screening; `cleared` if a licensed clinician opened training after `referred`."""
    symptoms: Annotated[list[Code], Field(max_length=40)] = []
    """Warning signs of today, as in a check-in's `flags`, such as `chest_pain`."""


class ComputedAnswer(Schema):
    """What every computation says beside its result."""

    model_version: Name
    """What computed it; the same body under the same version gives the same answer."""
    reasons: Reasons = []
    """Why, the weightiest first."""
    cautions: Cautions
    """What to heed, the most urgent first; never empty."""
    sources: SourceKeys = []
    """Keys of the works it rests on; see `GET /v1/sources`."""


class OneRepMaxQuestion(Asked):
    """A set to failure."""

    load: LiftedMass
    """The load."""
    reps: Annotated[float, Field(ge=1, le=100), A_NUMBER]
    """Repetitions to failure."""
    formulas: Annotated[list[FormulaId], Field(min_length=1, max_length=8)] | None = None
    """Which formulas; all unless given."""
    unit: MassUnit | None = None
    """Unit of the answer; that of the load unless given."""


class ComputedMass(Schema):
    """A computed mass."""

    value: Quantity
    """How much, in `unit`; rounded to three decimals."""
    unit: MassUnit
    """`kg` or `lb`."""


class FormulaMaximum(Schema):
    """What one published formula makes of the set."""

    formula: FormulaCode
    """The formula."""
    name: Name
    """The name under which it is known."""
    expression: Text
    """The equation, in load w and repetitions to failure r."""
    one_rep_max: ComputedMass
    """The one-repetition maximum; a computed value, with no interval of its own: see `spread`."""
    valid_from: Quantity
    """The fewest repetitions at which it is used."""
    valid_to: Quantity
    """The most."""
    source: Name
    """Key of the work that it comes from."""


class FormulaRefused(Schema):
    """A formula that does not hold at these repetitions."""

    formula: FormulaCode
    """The formula."""
    name: Name
    """The name under which it is known."""
    valid_from: Quantity
    """The fewest repetitions at which it is used."""
    valid_to: Quantity
    """The most."""
    reason: Reason
    """Why it is not used."""


class FormulaSpread(Schema):
    """How far the formulas that hold lie apart: no measure of error, for all may miss on the same side."""

    lowest: ComputedMass
    """The lowest of them."""
    median: ComputedMass
    """The middle one."""
    highest: ComputedMass
    """The highest of them."""


class OneRepMaxAnswer(ComputedAnswer):
    """The one-repetition maximum by each formula that holds, and which do not."""

    results: Annotated[list[FormulaMaximum], Field(max_length=20)]
    """What each formula makes of it."""
    refused: Annotated[list[FormulaRefused], Field(max_length=20)] = []
    """The asked formulas that do not hold here."""
    spread: FormulaSpread
    """How far the results lie apart."""


class LoadableQuestion(Asked):
    """What is there, and what is wanted of it: a load (`target`) or a span (`lightest` to `heaviest`)."""

    items: Annotated[list[Implement], Field(min_length=1, max_length=200)]
    """The implements, as a site's list has them."""
    load_basis: LoadBasis = "total"
    """How the load is counted: on the whole implement, in each hand, added to the body, and so on."""
    station: Slug | None = None
    """Only what stands at this station: its stack, carriage or levels."""
    dumbbells_held: Annotated[int, Field(ge=1, le=2), A_WHOLE_NUMBER] = 1
    """How many dumbbells are lifted together where `load_basis` is `total`."""
    target: LiftedMass | None = None
    """The load wanted."""
    lightest: LiftedMass | None = None
    """Where a span begins."""
    heaviest: LiftedMass | None = None
    """Where a span ends."""
    count: Annotated[int, Field(ge=1, le=50), A_WHOLE_NUMBER] = 5
    """How many loads near the target."""
    unit: MassUnit | None = None
    """Unit of the answer; that of the target or span unless given."""


class LoadableAnswer(ComputedAnswer):
    """Loads that can be made, and how."""

    loads: Annotated[list[LoadThatCanBeMade], Field(max_length=500)]
    """Near the target or within the span, from light to heavy; for levels all of them."""
    left_out: Annotated[int, Field(ge=0), A_WHOLE_NUMBER] = 0
    """How many more lie within the span: at most 500 are told, the lightest."""
    below: LoadThatCanBeMade | None = None
    """The heaviest load below the target."""
    at: LoadThatCanBeMade | None = None
    """The target itself, where it can be made."""
    above: LoadThatCanBeMade | None = None
    """The lightest load above the target."""
