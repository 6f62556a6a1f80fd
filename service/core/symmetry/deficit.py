"""The bilateral deficit: do both limbs together do less than one by one?

Two conventions are in print, with and without 100 taken off [Howard1991]_; each has its own id here. The three values
must come from the same exercise, unit, mode and repetitions. Its repeatability is poor (ICC 0.38 to 0.39 where the
forces' own was 0.895 and more, read), so that a single one says little.
"""

from dataclasses import dataclass
from math import exp, inf, log, sqrt
from typing import Final

from service.core.errors import MixedInputs, OutsideValidity
from service.core.estimates import DEFAULT_MASS, Interval
from service.core.symmetry.index_catalogue import FormSeen
from service.core.symmetry.trials import StudentBelief, central
from service.core.units import Share


@dataclass(frozen=True, slots=True)
class HowMeasured:
    """What must be the same for two values to be compared; None says that it was not told."""

    unit: str
    exercise: str | None = None
    mode: str | None = None
    repetitions: float | None = None


@dataclass(frozen=True, slots=True)
class BilateralIndex:
    """One convention of the index."""

    id: str
    title: str
    expression: str
    sign_convention: str
    taken_off: float
    form_seen: FormSeen
    reference_limb: str = "sum of both, one by one"
    source: str = "Howard1991"
    unit: str = "%"


@dataclass(frozen=True, slots=True)
class RenderedDeficit:
    """The index in one convention, with its interval where the error is known."""

    index_id: str
    value: float
    interval: Interval | None


BILATERAL_INDICES: Final = {
    index.id: index
    for index in (
        BilateralIndex(
            "bilateral_index", "Bilateral index", "100 both / (left + right) - 100",
            "below 0 where both limbs together do less than one by one", 100.0, "from_memory",
        ),
        BilateralIndex(
            "bilateral_index_of_hundred", "Bilateral index, without 100 taken off", "100 both / (left + right)",
            "100 is equality, less where both limbs together do less than one by one", 0.0, "read",
        ),
    )
}  # fmt: skip


def mixed(*inputs: HowMeasured) -> tuple[str, ...]:
    """Return what differs between values that are to be compared, as codes: ``mixed_exercises`` and the like."""
    told: dict[str, set[str | float | None]] = {
        "mixed_units": {one.unit for one in inputs},
        "mixed_exercises": {one.exercise for one in inputs},
        "mixed_modes": {one.mode for one in inputs},
        "mixed_repetitions": {one.repetitions for one in inputs},
    }
    return tuple(code for code, values in told.items() if len(values) > 1)


def refuse_mixed(*inputs: HowMeasured) -> None:
    """Raise MixedInputs where values were not measured alike."""
    if differing := mixed(*inputs):
        raise MixedInputs(mixed=differing)


def bilateral_index(bilateral: float, left: float, right: float) -> float:
    """Return 100 bilateral / (left + right) - 100 [Howard1991]_, from memory. [%]

    Below zero the two limbs together do less than one by one. Some authors print it without taking 100 off. All three
    values in the same unit and from the same device; raises OutsideValidity for values below or a sum at zero.
    """
    if not (min(bilateral, left, right) >= 0 and 0 < left + right < inf and 0 <= bilateral < inf):
        raise OutsideValidity(bilateral=bilateral, left=left, right=right)
    return 100 * bilateral / (left + right) - 100


def bilateral_error(
    left: float, right: float, relative_variances: tuple[float, float, float], covariance: float = 0.0
) -> float:
    """Return the variance of ln(both / (left + right)) by the delta method.

    ``relative_variances`` are those of ln of both together, the left and the right value; ``covariance`` that of ln left
    and ln right. Each limb counts with its share of the sum.
    """
    of_left, of_right = left / (left + right), right / (left + right)
    both, one, other = relative_variances
    return both + of_left**2 * one + of_right**2 * other + 2.0 * of_left * of_right * covariance


def render_deficit(
    bilateral: float,
    left: float,
    right: float,
    *,
    variance: float | None = None,
    degrees_of_freedom: float = inf,
    mass: Share = DEFAULT_MASS,
) -> tuple[RenderedDeficit, ...]:
    """Return the index in each convention; ``variance`` is that of ln(both / (left + right)).

    The interval is that of the logarithm carried over, exact because the index never falls where it rises.
    """
    value = bilateral_index(bilateral, left, right)
    ends: Interval | None = None
    if variance is not None and variance > 0.0 and bilateral > 0.0:
        belief = StudentBelief(log(1.0 + value / 100.0), sqrt(variance), degrees_of_freedom)
        inside = central(belief, mass)
        ends = Interval(100.0 * exp(inside.lower), 100.0 * exp(inside.upper), mass)
    rendered = []
    for index in BILATERAL_INDICES.values():
        off = index.taken_off
        shifted = None if ends is None else Interval(ends.lower - off, ends.upper - off, mass)
        rendered.append(RenderedDeficit(index.id, value + 100.0 - off, shifted))
    return tuple(rendered)
