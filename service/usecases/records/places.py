"""Where training happens, and what can be loaded there."""

from datetime import datetime
from typing import Literal
from uuid import UUID

from service.usecases.records.base import Mass, MassUnit, Record


class Site(Record, frozen=True, kw_only=True):
    """A gym."""

    name: str
    time_zone: str | None = None
    supervised: bool | None = None
    safety_bars: bool | None = None


class ImplementBase(Record, tag_field="kind", frozen=True, kw_only=True):
    """What every implement has."""

    name: str
    out_of_service_until: datetime | None = None


class BarImplement(ImplementBase, tag="bar", frozen=True, kw_only=True):
    """A bar that takes plates; ``station`` names a plate-loaded machine whose carriage is the bar."""

    mass: Mass
    station: str | None = None


class PlatePairsImplement(ImplementBase, tag="plate_pairs", frozen=True, kw_only=True):
    """Pairs of equal plates; ``mass`` is that of one plate."""

    mass: Mass
    pairs: int


class DumbbellsImplement(ImplementBase, tag="dumbbells", frozen=True, kw_only=True):
    """A rack of pairs: every mass by name, or a range with a step; in one unit."""

    unit: MassUnit
    masses: list[float] | None = None
    first: float | None = None
    last: float | None = None
    step: float | None = None


class StackImplement(ImplementBase, tag="stack", frozen=True, kw_only=True):
    """A selector stack at a station: pin masses, add-on masses, and the pulley's ratio (handle load / stack load)."""

    station: str
    unit: MassUnit
    masses: list[float]
    add_ons: list[float] = []
    ratio: float = 1.0


class LevelsImplement(ImplementBase, tag="levels", frozen=True, kw_only=True):
    """A station whose settings are labels without a mass, lightest first."""

    station: str
    labels: list[str]


class GearImplement(ImplementBase, tag="gear", frozen=True, kw_only=True):
    """What carries no load of its own: a bench, a rack, a pull-up bar."""

    gear: str


Implement = (
    BarImplement | PlatePairsImplement | DumbbellsImplement | StackImplement | LevelsImplement | GearImplement
)


class Inventory(Record, frozen=True, kw_only=True):
    """All implements of one site; a new list replaces the old."""

    items: list[Implement]
    template_id: UUID | None = None


ImplementKind = Literal["bar", "plate_pairs", "dumbbells", "stack", "levels", "gear"]
