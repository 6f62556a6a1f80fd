"""The load-repetition formulas as published: one-repetition maximum from a set to failure, and back.

Each formula is an equation for the maximum as a multiple of the load. Most of these equations do not return
the load itself at one repetition; here one repetition is by definition the maximum, whichever formula is
asked. Outside the range in which a formula may be believed it is refused and not extrapolated.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, isfinite
from statistics import median
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.estimates import Caution, Param, Reason
from service.core.units import Kilograms, Repetitions

#: Where a valid range comes from: a work says it, or it was set here with the work as its guide.
RangeBasis = Literal["published", "judgement"]


@dataclass(frozen=True, slots=True)
class PrintedForm:
    """Another form in which the same formula stands in print; it differs by the rounding of its constants."""

    expression: str
    multiple: Callable[[Repetitions], float]


@dataclass(frozen=True, slots=True)
class Formula:
    """One published formula.

    ``expression`` is in load w and repetitions to failure r; ``multiple`` is the bare equation, maximum
    over load. One repetition is always answered; above it the range is ``valid_from`` to ``valid_to``
    inclusive. ``pole`` is the number of repetitions at which the equation divides by nothing,
    ``turning_point`` the one past which it falls.
    """

    id: str
    name: str
    source: str
    expression: str
    multiple: Callable[[Repetitions], float]
    valid_from: Repetitions
    valid_to: Repetitions
    range_basis: RangeBasis
    range_source: str
    range_note: str
    pole: Repetitions | None = None
    turning_point: Repetitions | None = None
    also_printed: tuple[PrintedForm, ...] = ()


@dataclass(frozen=True, slots=True)
class FormulaResult:
    """What one formula makes of a set."""

    formula_id: str
    one_rep_max_kg: Kilograms


@dataclass(frozen=True, slots=True)
class FormulaRefusal:
    """A formula that does not hold at these repetitions, and why."""

    formula_id: str
    reason: Reason


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the formulas that hold lie apart. [kg]"""

    lowest_kg: Kilograms
    median_kg: Kilograms
    highest_kg: Kilograms


@dataclass(frozen=True, slots=True)
class Comparison:
    """All formulas on one set; ``spread`` is None where none of them holds."""

    results: tuple[FormulaResult, ...]
    refused: tuple[FormulaRefusal, ...]
    spread: Spread | None
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]


_LINEAR_NOTE = (
    "No range was found in the source; capped at ten because linear equations should stop there "
    "[Reynolds2006]_ and "
    "the formulas part by a quarter at fifteen."
)
_CURVED_NOTE = (
    "No range was found in the source; capped at the twenty repetitions up to which maxima were measured "
    "[Reynolds2006]_, [Kemmler2006]_; at twenty-five the formulas differ by more than the load."
)

EPLEY = Formula(
    id="epley",
    name="Epley",
    source="Epley1985",
    expression="w (1 + r / 30)",
    multiple=lambda r: 1 + r / 30,
    valid_from=1,
    valid_to=10,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_LINEAR_NOTE,
    also_printed=(PrintedForm("w (1 + 0.0333 r)", lambda r: 1 + 0.0333 * r),),
)
BRZYCKI = Formula(
    id="brzycki",
    name="Brzycki",
    source="Brzycki1993",
    expression="w / (1.0278 - 0.0278 r)",
    multiple=lambda r: 1 / (1.0278 - 0.0278 * r),
    valid_from=1,
    valid_to=10,
    range_basis="published",
    range_source="Mayhew1995",
    range_note="Most accurate of six up to ten repetitions, significantly off above [Mayhew1995]_.",
    pole=1.0278 / 0.0278,
    also_printed=(PrintedForm("36 w / (37 - r)", lambda r: 36 / (37 - r)),),
)
LANDER = Formula(
    id="lander",
    name="Lander",
    source="Lander1985",
    expression="100 w / (101.3 - 2.67123 r)",
    multiple=lambda r: 100 / (101.3 - 2.67123 * r),
    valid_from=1,
    valid_to=10,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_LINEAR_NOTE,
    pole=101.3 / 2.67123,
)
LOMBARDI = Formula(
    id="lombardi",
    name="Lombardi",
    source="Lombardi1989",
    expression="w r^0.10",
    multiple=lambda r: r**0.10,
    valid_from=1,
    valid_to=20,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_CURVED_NOTE,
)
MAYHEW = Formula(
    id="mayhew",
    name="Mayhew",
    source="Mayhew1992",
    expression="100 w / (52.2 + 41.9 exp(-0.055 r))",
    multiple=lambda r: 100 / (52.2 + 41.9 * exp(-0.055 * r)),
    valid_from=1,
    valid_to=20,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_CURVED_NOTE,
)
OCONNER = Formula(
    id="oconner",
    name="O'Conner",
    source="OConner1989",
    expression="w (1 + 0.025 r)",
    multiple=lambda r: 1 + 0.025 * r,
    valid_from=1,
    valid_to=10,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_LINEAR_NOTE,
)
WATHEN = Formula(
    id="wathen",
    name="Wathen",
    source="Wathen1994",
    expression="100 w / (48.8 + 53.8 exp(-0.075 r))",
    multiple=lambda r: 100 / (48.8 + 53.8 * exp(-0.075 * r)),
    valid_from=1,
    valid_to=20,
    range_basis="judgement",
    range_source="Reynolds2006",
    range_note=_CURVED_NOTE,
)
KEMMLER = Formula(
    id="kemmler",
    name="Kemmler",
    source="Kemmler2006",
    expression="w (0.988 + 0.0104 r + 0.00190 r^2 - 0.0000584 r^3)",
    multiple=lambda r: 0.988 + 0.0104 * r + 0.00190 * r**2 - 0.0000584 * r**3,
    valid_from=3,
    valid_to=20,
    range_basis="published",
    range_source="Kemmler2006",
    range_note="Fitted on 3 to 20 repetitions, machines, trained women after menopause [Kemmler2006]_, "
    "abstract.",
    turning_point=(0.00190 + (0.00190**2 + 3 * 0.0000584 * 0.0104) ** 0.5) / (3 * 0.0000584),
)

#: All formulas by id.
FORMULAS: dict[str, Formula] = {
    formula.id: formula for formula in (EPLEY, BRZYCKI, LANDER, LOMBARDI, MAYHEW, OCONNER, WATHEN, KEMMLER)
}


def formula(formula_id: str) -> Formula:
    """Return a formula by its id; OutsideValidity names the known ones."""
    try:
        return FORMULAS[formula_id]
    except KeyError:
        raise OutsideValidity(formula=formula_id, known=tuple(FORMULAS)) from None


def _holds(asked: Formula, repetitions: Repetitions) -> bool:
    return repetitions == 1 or asked.valid_from <= repetitions <= asked.valid_to


def _multiple(asked: Formula, repetitions: Repetitions) -> float:
    if not _holds(asked, repetitions):
        raise OutsideValidity(
            formula=asked.id,
            repetitions=repetitions,
            valid_from=asked.valid_from,
            valid_to=asked.valid_to,
            pole=asked.pole,
        )
    return 1.0 if repetitions == 1 else asked.multiple(repetitions)


def _require_load(load_kg: Kilograms) -> None:
    if not (isfinite(load_kg) and load_kg > 0):
        raise OutsideValidity(load_kg=load_kg, above=0)


def one_rep_max(formula_id: str, load_kg: Kilograms, repetitions: Repetitions) -> Kilograms:
    """Return the one-repetition maximum that a formula computes from a set to failure. [kg]

    One repetition returns the load exactly. ``repetitions`` are those to failure, fractions allowed. Raises
    OutsideValidity outside the formula's range, with the range and the pole as facts.
    """
    _require_load(load_kg)
    return load_kg * _multiple(formula(formula_id), repetitions)


def load_for_repetitions(formula_id: str, one_rep_max_kg: Kilograms, repetitions: Repetitions) -> Kilograms:
    """Return the load that a formula expects to be lifted so many times to failure. [kg]

    The inverse of ``one_rep_max`` at the same repetitions; raises OutsideValidity in the same cases.
    """
    _require_load(one_rep_max_kg)
    return one_rep_max_kg / _multiple(formula(formula_id), repetitions)


def _refusal(refused: Formula, repetitions: Repetitions) -> FormulaRefusal:
    params: dict[str, Param] = {
        "formula": refused.name,
        "repetitions": repetitions,
        "valid_from": refused.valid_from,
        "valid_to": refused.valid_to,
        "source": refused.range_source,
    }
    return FormulaRefusal(refused.id, Reason(f"one_rep_max.outside_{refused.range_basis}_range", params))


def _spread_reason(spread: Spread | None, repetitions: Repetitions) -> Reason:
    if repetitions == 1:
        return Reason("one_rep_max.one_repetition_is_the_load")
    if spread is None:
        return Reason("one_rep_max.no_formula_holds", {"repetitions": repetitions})
    apart = 100 * (spread.highest_kg / spread.lowest_kg - 1)
    return Reason("one_rep_max.formulas_differ", {"percent": apart, "repetitions": repetitions})


def compare(
    load_kg: Kilograms, repetitions: Repetitions, formula_ids: Sequence[str] = tuple(FORMULAS)
) -> Comparison:
    """Return what the asked formulas make of a set to failure, which refuse, and how far the others differ.

    Raises OutsideValidity for a load that is not above 0 kg, for repetitions below 1 and for an unknown formula.
    """
    _require_load(load_kg)
    if not (isfinite(repetitions) and repetitions >= 1):
        raise OutsideValidity(repetitions=repetitions, at_least=1)
    asked = tuple(formula(formula_id) for formula_id in dict.fromkeys(formula_ids))
    valid = tuple(f for f in asked if _holds(f, repetitions))
    results = tuple(FormulaResult(f.id, load_kg * _multiple(f, repetitions)) for f in valid)
    refused = tuple(_refusal(f, repetitions) for f in asked if f not in valid)
    maxima = [result.one_rep_max_kg for result in results]
    spread = Spread(min(maxima), median(maxima), max(maxima)) if maxima else None
    cautions = (Caution("one_rep_max.computed_not_lifted"),) if spread and repetitions != 1 else ()
    return Comparison(results, refused, spread, (_spread_reason(spread, repetitions),), cautions)
