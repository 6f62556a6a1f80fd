"""How a tape's readings of one limb become a reading of t: the log ratio of the two sides' cross-sections.

Sites are never mixed, sides are best measured in turn, and the error of a reading is learned from the repeats.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log
from typing import Literal

from service.core.errors import MixedInputs, TooFewObservations
from service.core.estimates import Reason
from service.core.symmetry.posterior import SideReading
from service.core.units import Centimetres, Days, Share

Limb = Literal["left", "right"]

#: Error of one girth reading, as a share of the girth: 1.0 % for a skilled hand [Norton1996]_ (from memory),
#: held with the weight of this many readings of one's own (judgement).
GIRTH_ERROR = 0.010
GIRTH_ERROR_WEIGHT = 4.0


@dataclass(frozen=True, slots=True)
class GirthReading:
    """One tape reading of one side, in the order of measuring."""

    site: str
    side: Limb
    girth_cm: Centimetres


def _pooled_error(logs: dict[Limb, list[float]], prior_error: float) -> float:
    """Return the variance of one log girth: own repeats and the prior's, weighed by degrees of freedom."""
    squares = sum((x - sum(v) / len(v)) ** 2 for v in logs.values() for x in v)
    freedom = sum(len(v) - 1 for v in logs.values())
    return (GIRTH_ERROR_WEIGHT * prior_error**2 + squares) / (GIRTH_ERROR_WEIGHT + freedom)


def reading_from_girths(
    girths: Sequence[GirthReading], *, technical_error: Share = GIRTH_ERROR, newest_day: Days | None = None
) -> SideReading:
    """Return the t of a limb's area from one visit's tape readings: t_area = 2 ln(girth right / girth left).

    Parameters
    ----------
    girths
        Readings of one site in the order of measuring; sides are best interleaved.
    technical_error
        Error of one reading as a share of the girth; learned further from the repeats. [1]

    Raises
    ------
    MixedInputs
        If the readings come from more than one site.
    TooFewObservations
        If a side has no reading.

    References
    ----------
    [Norton1996]_ for the technical error (from memory); area goes with the square of the girth.
    """
    if len({g.site for g in girths}) > 1:
        raise MixedInputs(sites=sorted({g.site for g in girths}))
    logs: dict[Limb, list[float]] = {"left": [], "right": []}
    for girth in girths:
        logs[girth.side].append(log(girth.girth_cm))
    if not logs["left"] or not logs["right"]:
        raise TooFewObservations(left=len(logs["left"]), right=len(logs["right"]))
    left, right = (sum(v) / len(v) for v in (logs["left"], logs["right"]))
    variance = _pooled_error(logs, technical_error) * (1.0 / len(logs["left"]) + 1.0 / len(logs["right"]))
    switches = sum(a.side != b.side for a, b in pairwise(girths))
    reasons = () if len(girths) < 3 or switches > 1 else (Reason("sides.girths_not_interleaved"),)
    site = girths[0].site
    return SideReading(site, "size", 2.0 * (right - left), 4.0 * variance, 1, newest_day, True, reasons)
