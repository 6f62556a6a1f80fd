"""What a computation from a body alone is asked."""

from typing import Literal

from service.usecases.records.base import Mass, MassUnit, Record
from service.usecases.records.log import LoadBasis
from service.usecases.records.places import Implement

ScreeningSaid = Literal["none", "clear", "referred", "cleared"]
LimbSide = Literal["left", "right"]


class Question(Record, frozen=True, kw_only=True):
    """What every computation is told of the person."""

    screening: ScreeningSaid = "none"
    symptoms: list[str] = []


class OneRepMaxQuestion(Question, frozen=True, kw_only=True):
    """A set to failure, and which formulas to ask; None asks all."""

    load: Mass
    reps: float
    formulas: list[str] | None = None
    unit: MassUnit | None = None


class LoadableQuestion(Question, frozen=True, kw_only=True):
    """Implements, and a target or a span."""

    items: list[Implement]
    load_basis: LoadBasis = "total"
    station: str | None = None
    dumbbells_held: int = 1
    target: Mass | None = None
    lightest: Mass | None = None
    heaviest: Mass | None = None
    count: int = 5
    unit: MassUnit | None = None


class IndicesQuestion(Question, frozen=True, kw_only=True):
    """One value a side, or their log ratio t = ln(right / left)."""

    left: float | None = None
    right: float | None = None
    log_ratio: float | None = None
    log_ratio_sd: float | None = None
    mass: float = 0.8
    dominant_side: LimbSide | None = None
    involved_side: LimbSide | None = None
