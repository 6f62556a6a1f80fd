"""Render the published indices from one quantity, t = ln(right / left), and say what a difference can mean.

One quantity is stored, and every index in print is a function of it: their disagreement is one of scale and
reference limb, not of information [Parkinson2021]_. An index says how large a difference is; it says nothing
about injury.
"""

from dataclasses import dataclass
from math import erf, inf, isfinite, isnan, log, sqrt
from typing import Literal

from service.core.errors import OutsideValidity
from service.core.estimates import Interval, Reason
from service.core.symmetry.index_catalogue import INDICES, Index, Needs, Orientation, Side
from service.core.units import LogRatio, Share

__all__ = [
    "INDICES",
    "Index",
    "Needs",
    "Orientation",
    "RenderedIndex",
    "Side",
    "TrialDefinition",
    "false_flag_probability",
    "minimal_detectable_change",
    "render",
    "render_all",
    "render_from_limbs",
    "standard_error_of_measurement",
]

#: Two-sided 95 % point of the standard normal, as printed in the formula for the MDC [Weir2005]_.
NORMAL_95 = 1.96


#: What stood for each side before the index was taken: a trial, a summary of several, or the model of the log.
TrialDefinition = Literal[
    "one_trial",
    "mean_of_trials",
    "geometric_mean_of_trials",
    "best_of_trials",
    "log_ratio_given",
    "model_of_the_log",
]


@dataclass(frozen=True, slots=True)
class RenderedIndex:
    """An index with its value, or with the reason why it has none.

    The interval is t's own carried over; where the side is dropped and t's interval holds 0 it begins at equality and
    holds at least t's mass. ``definition`` says what stood for each side.
    """

    index_id: str
    value: float | None
    unit: str
    interval: Interval | None = None
    reason: Reason | None = None
    definition: TrialDefinition = "model_of_the_log"


def _sign(index: Index, dominant_side: Side | None, involved_side: Side | None) -> int | None:
    """How t is turned for an index: 1 or -1, 0 where its size alone counts, None where the side is not known."""
    if index.orientation == "stronger_to_weaker":
        return 0
    if index.needs == "dominance":
        return None if dominant_side is None else (1 if dominant_side == "right" else -1)
    if index.needs == "involved_side":
        return None if involved_side is None else (-1 if involved_side == "right" else 1)
    return 1 if index.orientation == "right_to_left" else -1


def _turned(interval: Interval, sign: int) -> tuple[float, float]:
    """Carry t's interval to the orientation of an index; without a side it folds at equality."""
    ends = (interval.lower, interval.upper)
    if sign:
        low, high = sorted(sign * end for end in ends)
        return low, high
    sizes = sorted(abs(end) for end in ends)
    return (0.0 if ends[0] <= 0 <= ends[1] else sizes[0]), sizes[1]


def _shaped(index: Index, interval: Interval, sign: int, size_interval: Interval | None) -> Interval | None:
    """Carry an interval over exactly: a shape that never falls where it rises maps quantiles to quantiles."""
    held = interval if sign or size_interval is None else size_interval
    low, high = sorted(index.shape(u) for u in _turned(held, sign))
    return Interval(low, high, interval.mass, interval.kind) if isfinite(low) and isfinite(high) else None


def index(index_id: str) -> Index:
    """Return an index by its id; OutsideValidity names the known ones."""
    try:
        return INDICES[index_id]
    except KeyError:
        raise OutsideValidity(index=index_id, known=tuple(INDICES)) from None


def _without_value(asked: Index, code: str, definition: TrialDefinition) -> RenderedIndex:
    reason = Reason(code, {"index": asked.title})
    return RenderedIndex(asked.id, None, asked.unit, reason=reason, definition=definition)


def render(
    index_id: str,
    t: LogRatio,
    *,
    interval: Interval | None = None,
    size_interval: Interval | None = None,
    dominant_side: Side | None = None,
    involved_side: Side | None = None,
    definition: TrialDefinition = "model_of_the_log",
) -> RenderedIndex:
    """Return one index of t = ln(right / left), in its own unit, with its interval if t's is given.

    ``size_interval`` is the interval of |t|, for the indices that tell no side; without it t's own is folded at equality.
    An infinite t stands for a limb that measured 0: bounded indices keep a value. Without the side that an index
    needs it has no value but a reason. Raises OutsideValidity for an unknown index and for a t that is not a number.
    """
    asked = index(index_id)
    if isnan(t):
        raise OutsideValidity(t=t)
    sign = _sign(asked, dominant_side, involved_side)
    if sign is None:
        return _without_value(asked, f"indices.needs_{asked.needs}", definition)
    value = asked.shape(sign * t if sign else abs(t))
    if not isfinite(value):
        return _without_value(asked, "indices.one_limb_zero", definition)
    carried = None if interval is None else _shaped(asked, interval, sign, size_interval)
    return RenderedIndex(asked.id, value + 0.0, asked.unit, carried, definition=definition)


def render_all(
    t: LogRatio,
    dominant_side: Side | None = None,
    involved_side: Side | None = None,
    *,
    interval: Interval | None = None,
    size_interval: Interval | None = None,
    definition: TrialDefinition = "model_of_the_log",
) -> tuple[RenderedIndex, ...]:
    """Return every index of t = ln(right / left), in the order of the catalogue; see ``render``."""
    return tuple(
        render(
            index_id, t, interval=interval, size_interval=size_interval, dominant_side=dominant_side,
            involved_side=involved_side, definition=definition,
        )
        for index_id in INDICES
    )  # fmt: skip


def render_from_limbs(
    left: float,
    right: float,
    dominant_side: Side | None = None,
    involved_side: Side | None = None,
    *,
    definition: TrialDefinition = "one_trial",
) -> tuple[RenderedIndex, ...]:
    """Return every index of one value for each limb, both in the same unit.

    Both zero: no index has a value. One zero: the ratios to it have none, the bounded indices have (symmetry angle 50
    or -50). Raises OutsideValidity for values below zero or not finite.
    """
    if not (isfinite(left) and isfinite(right) and left >= 0 and right >= 0):
        raise OutsideValidity(left=left, right=right, at_least=0)
    if left == 0 and right == 0:
        return tuple(
            _without_value(asked, "indices.both_limbs_zero", definition) for asked in INDICES.values()
        )
    t = inf if left == 0 else -inf if right == 0 else log(right / left)
    return render_all(t, dominant_side, involved_side, definition=definition)


def standard_error_of_measurement(standard_deviation: float, intraclass_correlation: float) -> float:
    """Return SD sqrt(1 - ICC), in the unit of the standard deviation [Weir2005]_; formula from memory."""
    if not (standard_deviation >= 0 and isfinite(standard_deviation) and 0 <= intraclass_correlation <= 1):
        raise OutsideValidity(
            standard_deviation=standard_deviation, intraclass_correlation=intraclass_correlation
        )
    return standard_deviation * sqrt(1 - intraclass_correlation)


def minimal_detectable_change(standard_error: float) -> float:
    """Return 1.96 sqrt(2) SEM, the change that noise alone exceeds once in twenty times [Weir2005]_.

    In the unit of the standard error of measurement; the formula is from memory and reproduces [Zoeger2025]_.
    """
    if not (standard_error >= 0 and isfinite(standard_error)):
        raise OutsideValidity(standard_error=standard_error, at_least=0)
    return NORMAL_95 * sqrt(2) * standard_error


def false_flag_probability(within_limb_cv: Share, trials: int = 1, cut: Share = 0.10) -> Share:
    """Return how often two equal limbs look as different as a fixed cut by chance alone. [1]

    ``within_limb_cv`` is the log-normal spread between trials of one limb, each side the mean of ``trials``, ``cut``
    the deficit of the weaker side that is flagged. Derived: 2 (1 - Phi(-ln(1 - cut) sqrt(trials) / (sqrt(2) CV))).
    """
    if not (0 < within_limb_cv < inf and trials >= 1 and 0 < cut < 1):
        raise OutsideValidity(within_limb_cv=within_limb_cv, trials=trials, cut=cut)
    distance = -log(1 - cut) * sqrt(trials) / (sqrt(2) * within_limb_cv)
    return 1 - erf(distance / sqrt(2))
