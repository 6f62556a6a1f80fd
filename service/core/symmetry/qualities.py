"""The gap between the sides in each quality, read off an athlete's capability on a day.

Strength is compared at the repetitions that are trained, not at the 1RM: what the sides' curves differ by is
in it, and the two doubts, which pull against each other, cancel there. Endurance is the gap of ln k: how much
further one side goes at the same share of its own strength.
"""

from dataclasses import dataclass
from math import exp, expm1

from service.core.capability import CapabilityForecast, SeriesPrior
from service.core.capability.absorbing import curve_of
from service.core.capability.layout import HALF_GAP, HALF_LN_K, LOCALS_BOTH
from service.core.capability.likelihood import slopes
from service.core.capability.parameters import TRAINED
from service.core.errors import TooFewObservations
from service.core.estimates import Estimate, Interval
from service.core.symmetry.mixture import Mixture, weighed
from service.core.symmetry.posterior import SideKind, SidePrior, SideReading, reading_from_posterior
from service.core.units import Days, LogRatio, Repetitions

#: Smallest gap of endurance worth acting on, as |ln(k right / k left)|: about one repetition in ten. (judgement)
SMALLEST_WORTHWHILE_ENDURANCE: LogRatio = 0.10
#: What is believed of it before any set: twice the spread that the filter gives half of it.
ENDURANCE_PRIOR = SidePrior(sd=2.0 * TRAINED.gap_ln_k_sd)
#: Where both sides lift one load a gap is read off repetitions, as far out as the curve's k is: half of the spread of ln k
#: between people and lifts, 0.235, is left once some sets are known. (judgement) [share of the gap]
CURVE_DOUBT = 0.12
#: Variance of a reading from which nothing can be learned, in prior variances: the posterior is then the prior.
_SILENT = 1e4


@dataclass(frozen=True, slots=True)
class QualityGap:
    """Mean and variance of one quality's gap as the filter believes it, and the filter's own prior of it."""

    kind: SideKind
    mean: LogRatio
    variance: float
    prior: SidePrior
    repetitions: Repetitions


def strength_gap(
    found: CapabilityForecast, prior: SeriesPrior, repetitions: Repetitions | None = None
) -> QualityGap | None:
    """Return the gap in the load for some repetitions, those trained unless told; None for a two-sided lift.

    With ln load = u - z(N; k, b), z falling in ln k: t = 2 (h - z' h_k), h and h_k being half the gaps in
    strength and ln k and z' the slope of z by ln k, to first order.
    """
    if found.joint.used == LOCALS_BOTH:
        return None
    joint, asked = found.joint, repetitions or found.trained_repetitions
    parts, slope = [], 0.0
    for middle, covariance in zip(joint.means, joint.covariances, strict=True):
        k, bend = curve_of(joint.used, 0.0, middle)
        slope = float(slopes(asked, k, bend)[2])
        gap = 2.0 * (middle[HALF_GAP] - slope * middle[HALF_LN_K])
        spread = covariance[HALF_GAP, HALF_GAP] + slope**2 * covariance[HALF_LN_K, HALF_LN_K]
        parts.append((float(gap), float(4.0 * (spread - 2.0 * slope * covariance[HALF_GAP, HALF_LN_K]))))
    mean, variance = weighed(parts, joint.weights.tolist())
    variance += (CURVE_DOUBT * mean) ** 2
    before = 2.0 * (prior.half_gap_sd**2 + (slope * TRAINED.gap_ln_k_sd) ** 2) ** 0.5
    return QualityGap("strength", mean, variance, SidePrior(sd=before), asked)


def endurance_gap(found: CapabilityForecast) -> QualityGap | None:
    """Return the gap in ln k; None for a two-sided lift."""
    if found.joint.used == LOCALS_BOTH:
        return None
    joint = found.joint
    parts = [
        (2.0 * float(mean[HALF_LN_K]), 4.0 * float(covariance[HALF_LN_K, HALF_LN_K]))
        for mean, covariance in zip(joint.means, joint.covariances, strict=True)
    ]
    return QualityGap(
        "endurance", *weighed(parts, joint.weights.tolist()), ENDURANCE_PRIOR, found.trained_repetitions
    )


def reading_of(
    key: str, gap: QualityGap, visit_count: int, newest_day: Days | None, *, effort_known: bool
) -> SideReading:
    """Return what the sets say of a gap without the filter's prior; nothing, where it is no surer than before."""
    try:
        return reading_from_posterior(
            key, gap.mean, gap.variance, visit_count, prior=gap.prior, newest_day=newest_day,
            effort_known=effort_known, kind=gap.kind,
        )  # fmt: skip
    except TooFewObservations:
        silent = _SILENT * gap.prior.sd**2
        return SideReading(key, gap.kind, gap.mean, silent, max(visit_count, 1), newest_day, effort_known)


def repetitions_more(endurance: Mixture, repetitions: Repetitions, mass: float) -> Estimate:
    """Return how many more repetitions the right side does where the left does ``repetitions``, at equal shares.

    From N - 1 = k (e^(b z) - 1)/b: at one z the repetitions beyond the first stand as k. [repetitions]
    """

    def more(gap: LogRatio) -> Repetitions:
        return (repetitions - 1.0) * expm1(gap)

    tail = 0.5 - mass / 2.0
    gap = endurance.mean()
    interval = Interval(more(endurance.lower(tail)), more(endurance.upper(tail)), mass)
    sd = (repetitions - 1.0) * exp(gap) * endurance.sd()
    return Estimate(more(gap), "{reps}", sd, interval, "median")
