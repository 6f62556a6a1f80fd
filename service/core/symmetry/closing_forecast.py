"""What becomes of a gap within some weeks, with a plan that closes it and without one.

What one side gains the other gains in part: cross-education [Manca2017]_, [GreenGabriel2018]_.
"""

from collections.abc import Mapping
from math import copysign, sqrt
from statistics import NormalDist

from service.core.capability.parameters import TRAINED
from service.core.estimates import DEFAULT_MASS, Estimate, Interval
from service.core.symmetry.decisions import SidePosterior
from service.core.symmetry.girths import SIZE_WALK
from service.core.symmetry.posterior import SideKind
from service.core.units import LogRatio, Share

#: Weeks to the recheck. (judgement)
RECHECK_WEEKS = 6.0
#: Share of a strength gap that equal sets close by the recheck: after [Baroni2016]_ most of 5 %, but there
#: nobody was chosen for a gap; so half, give or take a quarter (judgement). Of size nothing is known.
CLOSED_BY_EQUAL_SETS: Mapping[SideKind, tuple[Share, Share]] = {
    "strength": (0.5, 0.25), "endurance": (0.5, 0.25), "size": (0.1, 0.1),
}  # fmt: skip
#: A gap that outlived so many visits is not closing by what is done already: of it equal sets close less. (judgement)
SETTLED_VISITS = 6
CLOSED_WHERE_SETTLED: tuple[Share, Share] = (0.2, 0.2)
#: What one more weekly set adds to the log strength of its side, a week: trained lifters gain some 0.0005 in
#: all (judgement); and to the log area, from the slope of growth on root sets at about ten sets, 0.0011
#: (sd 0.0008) / (2 sqrt 10) [Pelland2025]_ (from memory).
GAIN_PER_SET: Mapping[SideKind, tuple[LogRatio, LogRatio]] = {
    "strength": (0.0005, 0.0004), "endurance": (0.0005, 0.0005), "size": (0.00017, 0.00013),
}  # fmt: skip
#: Share of a side's gain that the other gains too: contralateral gains of 11.9 % [Manca2017]_ and 18 %
#: [GreenGabriel2018]_ (abstracts) are about half of those of trained limbs (from memory). Size does not cross
#: over (judgement).
CROSS_EDUCATION: Mapping[SideKind, tuple[Share, Share]] = {
    "strength": (0.5, 0.15), "endurance": (0.5, 0.2), "size": (0.0, 0.0),
}  # fmt: skip
#: How a gap wanders whatever is done, per root week.
WALK: Mapping[SideKind, LogRatio] = {
    "strength": 2.0 * TRAINED.gap_walk, "endurance": 2.0 * TRAINED.gap_ln_k_walk, "size": SIZE_WALK,
}  # fmt: skip


def forecast_gap(
    found: SidePosterior,
    quality: SideKind,
    extra_sets: int,
    *,
    weeks: float = RECHECK_WEEKS,
    target: LogRatio = 0.0,
    mass: Share = DEFAULT_MASS,
) -> Estimate:
    """Return t after some weeks of a plan: what equal sets close, what more sets add net of crossing over.

    Moments of u (1 - q) - (1 - c) e n w with u the gap to the target, q the share closed, c the share that
    crosses over, e the gain of a set, n the sets added and w the weeks, all independent; then the walk.
    """
    lead = copysign(1.0, found.t.value - target)
    gap, spread = lead * (found.t.value - target), found.t.sd**2
    closed, closed_sd = _closed_share(found, quality)
    share = min(weeks / RECHECK_WEEKS, 1.0)
    closed, closed_sd = closed * share, closed_sd * share
    crossing, crossing_sd = CROSS_EDUCATION[quality]
    gain, gain_sd = GAIN_PER_SET[quality]
    amount, kept = extra_sets * weeks, 1.0 - crossing
    mean = gap * (1.0 - closed) - kept * gain * amount
    variance = spread * (1.0 - closed) ** 2 + (gap**2 + spread) * closed_sd**2
    variance += amount**2 * (kept**2 * gain_sd**2 + crossing_sd**2 * (gain**2 + gain_sd**2))
    variance += WALK[quality] ** 2 * weeks
    return _estimate(target + lead * mean, sqrt(variance), mass)


def _closed_share(found: SidePosterior, quality: SideKind) -> tuple[Share, Share]:
    """Return mean and sd of the share of a gap that equal sets close by the recheck."""
    usual = CLOSED_BY_EQUAL_SETS[quality]
    return min(usual, CLOSED_WHERE_SETTLED) if settled(found) else usual


def settled(found: SidePosterior) -> bool:
    """Whether the gap has outlived some visits of training as it is."""
    return found.basis.observation_count >= SETTLED_VISITS


def forecast_without_plan(
    found: SidePosterior, quality: SideKind, mass: Share = DEFAULT_MASS, weeks: float = RECHECK_WEEKS
) -> Estimate:
    """Return t after some weeks if nothing changes: the same, and less sure."""
    return _estimate(found.t.value, sqrt(found.t.sd**2 + WALK[quality] ** 2 * weeks), mass)


def _estimate(value: LogRatio, sd: LogRatio, mass: Share) -> Estimate:
    reach = NormalDist().inv_cdf(0.5 + mass / 2.0) * sd
    return Estimate(value, "1", sd, Interval(value - reach, value + reach, mass, "prediction"), "mean")
