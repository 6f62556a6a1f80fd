"""What closes a gap: sets per side and week, in which order, what to expect of it, and when to stop.

More sets for the side that lags, that side first, the leading one matching its repetitions: common practice,
no source. Equal sets alone have closed gaps of 5 % in four to eight weeks [Baroni2016]_, so that small gaps
get no more than an order. What one side gains the other gains in part: cross-education [Manca2017]_,
[GreenGabriel2018]_. No plan feeds a gap that runs the other way.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from math import ceil, copysign, log, sqrt
from statistics import NormalDist
from typing import Final, Literal

from service.core.capability.parameters import TRAINED
from service.core.estimates import DEFAULT_MASS, Caution, Estimate, Interval, Reason
from service.core.symmetry.decisions import SidePosterior
from service.core.symmetry.following import DAYS_PER_WEEK
from service.core.symmetry.girths import SIZE_WALK
from service.core.symmetry.posterior import SideKind
from service.core.units import Days, HardSets, LogRatio, Share

LimbSide = Literal["left", "right"]

#: Involvement up to which a lift may work a muscle whose gap runs the other way. (judgement)
MOST_OPPOSITE_SHARE: Share = 0.25
#: A gap is worth a plan from this probability of lying beyond the smallest worthwhile, and the plan is done
#: with below the other. (judgement)
WORTH_A_PLAN: Share = 0.5
DONE_BELOW: Share = 0.2
#: Gaps up to which equal sets are enough, from which a third set is added, and the sets added. (judgement; the
#: first after [Baroni2016]_, abstract: 4.9 and 5.8 % closed by equal volume)
EQUAL_SETS_UP_TO: LogRatio = 0.06
LARGE_GAP: LogRatio = 0.15
EXTRA_SETS, EXTRA_SETS_LARGE = 2, 3
#: Weekly sets of one lift on one side beyond which the leading side gives instead. (judgement)
MOST_WEEKLY_SETS = 16
#: Sets of a lift that is not trained on both sides yet. (judgement)
FIRST_WEEKLY_SETS = 2
#: Weeks to the recheck, and after how many of them the plan stops whatever was found. (judgement)
RECHECK_WEEKS = 6.0
RECHECKS = 2
#: The side that matches goes to the same reserve so often, else the gap can no longer be seen. (judgement)
CHECK_WEEKS = 3
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
SOURCES: Final = ("Baroni2016", "Manca2017", "GreenGabriel2018", "Bettariga2022", "Bickel2011", "Pelland2025")


@dataclass(frozen=True, slots=True)
class ClosingLift:
    """A one-sided lift that trains the region, with the sets done a week and the shares that muscles get. [1]"""

    exercise_id: str
    left_sets: float
    right_sets: float
    involvement: Mapping[str, Share]


@dataclass(frozen=True, slots=True)
class RegionDose:
    """Recent weekly hard sets of the region on each side, all lifts together, and those that keep its size."""

    left: HardSets
    right: HardSets
    keeps_size: HardSets


@dataclass(frozen=True, slots=True)
class Surgery:
    """An operated side in the region, and what a clinician wants of it: its share of the other side. [1]"""

    side: LimbSide
    target: Share | None = None


@dataclass(frozen=True, slots=True)
class GapToClose:
    """One region's gap in one quality, and what could close it, the lift that is most like it first.

    ``ahead`` holds each muscle with a side that is decided to be ahead in it, in strength or in size.
    """

    quality: SideKind
    posterior: SidePosterior
    lifts: Sequence[ClosingLift]
    dose: RegionDose
    ahead: AbstractSet[tuple[str, LimbSide]]
    surgery: Surgery | None = None
    closed_by_gate: bool = False


@dataclass(frozen=True, slots=True)
class PlannedLift:
    """Sets of one lift a week, by side."""

    exercise_id: str
    left_sets: int
    right_sets: int


@dataclass(frozen=True, slots=True)
class ClosingPlan:
    """Sets per side and week, the side that begins, and what to expect at the recheck.

    Stop when the probability of a gap beyond the smallest worthwhile is below ``done_below``, when the other
    side is ahead, or after ``stop_after`` days whatever was found.
    """

    quality: SideKind
    lagging_side: LimbSide
    lifts: tuple[PlannedLift, ...]
    extra_sets: int
    forecast: Estimate
    recheck_after: Days
    stop_after: Days
    done_below: Share
    target: LogRatio
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]


def other_side(side: LimbSide) -> LimbSide:
    """Return the other side."""
    return "left" if side == "right" else "right"


def close_gap(gap: GapToClose, mass: Share = DEFAULT_MASS) -> ClosingPlan | Reason:
    """Return the plan that closes a gap, or the reason why there is none.

    There is none where the gap is not decided, not worth it, not known of effort, on an operated side without
    a clinician's target, while the athlete's plans are closed, or where every lift feeds a gap that runs the
    other way. Swapping left and right swaps the plan, exactly.
    """
    refused = _refusal(gap)
    if refused is not None:
        return refused
    lagging = _lagging(gap.posterior, _target(gap))
    fitting = [lift for lift in gap.lifts if not feeds_opposite(lift, lagging, gap.ahead)]
    if not fitting:
        return Reason("closing.feeds_opposite_gap", {"lifts": len(gap.lifts), "most": MOST_OPPOSITE_SHARE})
    extra = _extra_sets(abs(gap.posterior.t.value - _target(gap)))
    planned = _planned(fitting, lagging, extra, gap.dose)
    return _told(gap, lagging, planned, extra, mass)


def _refusal(gap: GapToClose) -> Reason | None:
    found = gap.posterior
    if gap.quality == "joint_motion":
        return Reason("closing.not_by_sets")
    if gap.closed_by_gate:
        return Reason("closing.clearance_required")
    if gap.surgery is not None and gap.surgery.target is None:
        return Reason("closing.clinicians_target_needed", {"side": gap.surgery.side})
    if found.state == "undetermined":
        return Reason("closing.undetermined")
    if found.state == "not_decided":
        return Reason("closing.not_decided")
    if found.state == "too_small_to_matter" or found.p_beyond < WORTH_A_PLAN:
        return Reason(
            "closing.not_worth_it",
            {"beyond": 100.0 * found.p_beyond, "smallest": 100.0 * found.smallest_worthwhile},
        )
    if gap.surgery is not None and _reached(found, _target(gap), gap.surgery.side):
        return Reason("closing.target_reached", {"side": gap.surgery.side})
    return None if gap.lifts else Reason("closing.no_one_sided_lift")


def _target(gap: GapToClose) -> LogRatio:
    """Return the t at which the plan is done: equality, or what a clinician wants of an operated side."""
    if gap.surgery is None or gap.surgery.target is None:
        return 0.0
    wanted = log(gap.surgery.target)
    return wanted if gap.surgery.side == "right" else -wanted


def _reached(found: SidePosterior, target: LogRatio, side: LimbSide) -> bool:
    """Whether an operated side is not, more likely than not, short of its target by what is worth acting on."""
    short, t = found.smallest_worthwhile, found.distribution
    lacking = t.below(target - short) if side == "right" else t.above(target + short)
    return lacking < WORTH_A_PLAN


def _lagging(found: SidePosterior, target: LogRatio) -> LimbSide:
    return "left" if found.t.value > target else "right"


def feeds_opposite(lift: ClosingLift, lagging: LimbSide, ahead: AbstractSet[tuple[str, LimbSide]]) -> bool:
    """Whether sets of a lift on the lagging side work a muscle in which that very side is ahead."""
    return any(
        share > MOST_OPPOSITE_SHARE and (muscle, lagging) in ahead
        for muscle, share in lift.involvement.items()
    )


def _extra_sets(size: LogRatio) -> int:
    if size <= EQUAL_SETS_UP_TO:
        return 0
    return EXTRA_SETS_LARGE if size > LARGE_GAP else EXTRA_SETS


def _planned(
    lifts: Sequence[ClosingLift], lagging: LimbSide, extra: int, dose: RegionDose
) -> tuple[PlannedLift, ...]:
    """Give the extra sets to the first lift; in the others the lagging side only catches up with the leading."""
    first, *others = lifts
    behind, ahead = _sets(first, lagging)
    level = max(behind, ahead)
    added = min(extra, max(MOST_WEEKLY_SETS - level, 0))
    given = min(extra - added, _spare(dose, lagging, first, ahead))
    lacking = _lacking(dose, lagging, first)
    planned = [(first.exercise_id, level + added + lacking, ahead + lacking - given)]
    for lift in others:
        behind, ahead = _sets(lift, lagging)
        if behind < ahead:
            planned.append((lift.exercise_id, ahead, ahead))
    return tuple(
        PlannedLift(name, *((behind, ahead) if lagging == "left" else (ahead, behind)))
        for name, behind, ahead in planned
    )


def _sets(lift: ClosingLift, lagging: LimbSide) -> tuple[int, int]:
    """Return whole weekly sets of the lagging and the leading side."""
    left, right = ceil(lift.left_sets - 1e-9), ceil(lift.right_sets - 1e-9)
    behind, ahead = (left, right) if lagging == "left" else (right, left)
    return (behind, ahead) if max(behind, ahead) else (FIRST_WEEKLY_SETS, FIRST_WEEKLY_SETS)


def _share(lift: ClosingLift) -> Share:
    return max(0.1, *lift.involvement.values()) if lift.involvement else 1.0


def _lacking(dose: RegionDose, lagging: LimbSide, lift: ClosingLift) -> int:
    """Return the sets that the leading side needs beside its own, so that it keeps its size."""
    return max(ceil((dose.keeps_size - _leading_dose(dose, lagging)) / _share(lift) - 1e-9), 0)


def _leading_dose(dose: RegionDose, lagging: LimbSide) -> HardSets:
    return dose.right if lagging == "left" else dose.left


def _spare(dose: RegionDose, lagging: LimbSide, lift: ClosingLift, ahead: int) -> int:
    """Return how many sets the leading side can give without falling below what keeps its size."""
    spare = (_leading_dose(dose, lagging) - dose.keeps_size) / _share(lift)
    return max(min(int(spare), ahead - 1), 0)


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


def _told(
    gap: GapToClose, lagging: LimbSide, lifts: tuple[PlannedLift, ...], extra: int, mass: Share
) -> ClosingPlan:
    target = _target(gap)
    cautions = [Caution("imbalance_is_measurement_not_risk")]
    if gap.surgery is not None:
        cautions.append(Caution("closing.within_clearance"))
    recheck = RECHECK_WEEKS * DAYS_PER_WEEK
    return ClosingPlan(
        quality=gap.quality,
        lagging_side=lagging,
        lifts=lifts,
        extra_sets=extra,
        forecast=forecast_gap(gap.posterior, gap.quality, extra, target=target, mass=mass),
        recheck_after=recheck,
        stop_after=RECHECKS * recheck,
        done_below=DONE_BELOW,
        target=target,
        reasons=_why(gap, lagging, extra),
        cautions=tuple(cautions),
    )


def _why(gap: GapToClose, lagging: LimbSide, extra: int) -> tuple[Reason, ...]:
    sides = {"lagging": lagging, "leading": other_side(lagging)}
    volume = (
        Reason("closing.more_sets", {**sides, "extra": extra})
        if extra
        else Reason("closing.equal_sets", {**sides, "weeks_from": 4, "weeks_to": 8})
    )
    reasons = [volume, Reason("closing.order", sides)]
    if gap.quality != "size":
        reasons.append(Reason("closing.effort_check", {**sides, "weeks": CHECK_WEEKS}))
    if gap.quality == "size" or settled(gap.posterior):
        reasons.append(Reason("closing.slow", {"weeks": RECHECK_WEEKS}))
    stop = {**sides, "done": 100.0 * DONE_BELOW, "weeks": RECHECKS * RECHECK_WEEKS}
    return (*reasons, Reason("closing.stop", stop))
