"""Sites and what can be loaded there, on the wire."""

from typing import Annotated, Literal
from uuid import UUID

from pydantic import Field

from service.usecases.records.base import MassUnit
from service.web.schemas.base import (
    A_NUMBER,
    A_WHOLE_NUMBER,
    THREE_DECIMALS,
    Flag,
    Instant,
    Label,
    Name,
    Schema,
    Slug,
)
from service.web.schemas.quantities import Mass, SolidMass
from service.web.schemas.resources import TenantResource

MassValue = Annotated[float, Field(ge=0, le=2000), A_NUMBER, THREE_DECIMALS]


class Site(TenantResource):
    """A gym."""

    name: Name
    """What the site is called."""
    time_zone: Name | None = None
    """IANA time zone of the site."""
    supervised: Flag | None = None
    """Whether someone on duty may spot a lift."""
    safety_bars: Flag | None = None
    """Whether racks have bars or arms that catch a failed lift."""


class ImplementFields(Schema):
    """What every implement has."""

    name: Name
    """What it is called at the site."""
    out_of_service_until: Instant | None = None
    """Until when it cannot be used."""


class BarImplement(ImplementFields):
    """A bar, or the carriage of a plate-loaded machine."""

    kind: Literal["bar"]
    """The kind of implement."""
    mass: Mass
    """What it weighs empty, collars included."""
    station: Slug | None = None
    """The plate-loaded machine that this is the carriage of, such as `leg-press`."""


class PlatePairsImplement(ImplementFields):
    """Pairs of equal plates."""

    kind: Literal["plate_pairs"]
    """The kind of implement."""
    mass: SolidMass
    """The mass of one plate."""
    pairs: Annotated[int, Field(ge=1, le=40), A_WHOLE_NUMBER]
    """How many pairs there are."""


class DumbbellsImplement(ImplementFields):
    """A rack of pairs of dumbbells."""

    kind: Literal["dumbbells"]
    """The kind of implement."""
    unit: MassUnit
    """The unit that is printed on them."""
    masses: Annotated[list[MassValue], Field(min_length=1, max_length=200)] | None = None
    """Every mass on the rack; or give `first`, `last` and `step`."""
    first: MassValue | None = None
    """The lightest."""
    last: MassValue | None = None
    """The heaviest."""
    step: Annotated[float, Field(ge=0.1, le=100), A_NUMBER, THREE_DECIMALS] | None = None
    """The step between neighbours."""


class StackImplement(ImplementFields):
    """A selector stack at a station."""

    kind: Literal["stack"]
    """The kind of implement."""
    station: Slug
    """The station, such as `cable` or `lat-pulldown`."""
    unit: MassUnit
    """The unit that is printed on the plates."""
    masses: Annotated[list[MassValue], Field(min_length=1, max_length=100)]
    """The mass at each pin, lightest first."""
    add_ons: Annotated[list[MassValue], Field(max_length=10)] = []
    """Small masses that can be added to any pin, each once."""
    ratio: Annotated[float, Field(ge=0.1, le=4), A_NUMBER, THREE_DECIMALS] = 1.0
    """Load at the handle as a share of the stack's mass (a 2:1 pulley is 0.5)."""


class LevelsImplement(ImplementFields):
    """A station whose settings are labels without a mass."""

    kind: Literal["levels"]
    """The kind of implement."""
    station: Slug
    """The station."""
    labels: Annotated[list[Label], Field(min_length=1, max_length=100)]
    """The labels, lightest first."""


class GearImplement(ImplementFields):
    """What carries no load of its own."""

    kind: Literal["gear"]
    """The kind of implement."""
    gear: Slug
    """What it is, such as `bench`, `rack` or `pull-up-bar`."""


Implement = Annotated[
    BarImplement
    | PlatePairsImplement
    | DumbbellsImplement
    | StackImplement
    | LevelsImplement
    | GearImplement,
    Field(discriminator="kind"),
]


class Inventory(TenantResource):
    """All implements of a site. A new list replaces the old."""

    items: Annotated[list[Implement], Field(max_length=500)]
    """Everything that can be loaded or used."""
    template_id: UUID | None = None
    """The list from which this one was made, if any."""
