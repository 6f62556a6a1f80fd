"""What closes a gap: sets per side and week, in which order, what to expect of it, and when to stop.

More sets for the side that lags, that side first, the leading one matching its repetitions: common practice,
no source. Equal sets alone have closed gaps of 5 % in four to eight weeks [Baroni2016]_, so that small gaps
get no more than an order. No plan feeds a gap that runs the other way, nor adds to a lift that something holds.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from math import ceil, log
from typing import Final, Literal

from service.core.estimates import DEFAULT_MASS, Caution, Estimate, Param, Reason
from service.core.symmetry.closing_forecast import RECHECK_WEEKS, forecast_gap, settled
from service.core.symmetry.decisions import SidePosterior
from service.core.symmetry.following import DAYS_PER_WEEK
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
#: After how many rechecks the plan stops whatever was found. (judgement)
RECHECKS = 2
#: The side that matches goes to the same reserve so often, else the gap can no longer be seen. (judgement)
CHECK_WEEKS = 3
SOURCES: Final = ("Baroni2016", "Manca2017", "GreenGabriel2018", "Bettariga2022", "Bickel2011", "Pelland2025")


@dataclass(frozen=True, slots=True)
class ClosingLift:
    """A one-sided lift that trains the region, with the sets done a week and the shares that muscles get. [1]

    ``held`` says why it gets no further sets on either side; ``least_left`` what a set that compares its sides must leave,
    None where none may be asked for. [repetitions]
    """

    exercise_id: str
    left_sets: float
    right_sets: float
    involvement: Mapping[str, Share]
    held: Reason | None = None
    least_left: float | None = 0.0


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
    other way or is held. Swapping left and right swaps the plan, exactly.
    """
    refused = _refusal(gap)
    if refused is not None:
        return refused
    lagging = _lagging(gap.posterior, _target(gap))
    fitting = [lift for lift in gap.lifts if not feeds_opposite(lift, lagging, gap.ahead)]
    if not fitting:
        return Reason("closing.feeds_opposite_gap", {"lifts": len(gap.lifts), "most": MOST_OPPOSITE_SHARE})
    free = [lift for lift in fitting if lift.held is None]
    held = _held(fitting, lagging)
    if not free:
        return held[0]
    extra = _extra_sets(abs(gap.posterior.t.value - _target(gap)))
    planned = _planned(free, lagging, extra, gap.dose)
    return _told(gap, lagging, _Chosen(planned, extra, held, _least_left(free, planned)), mass)


@dataclass(frozen=True, slots=True)
class _Chosen:
    """The planned lifts and extra sets, why others are held, and what a set that compares the sides must leave. [repetitions]"""

    lifts: tuple[PlannedLift, ...]
    extra_sets: int
    held: tuple[Reason, ...]
    least_left: float | None


def _held(lifts: Sequence[ClosingLift], lagging: LimbSide) -> tuple[Reason, ...]:
    """Return why lifts are held that would get sets: the first, those done of late in its place, those to be levelled."""
    first_free = next((place for place, lift in enumerate(lifts) if lift.held is None), len(lifts))
    told = []
    for place, lift in enumerate(lifts):
        behind, ahead = _sets(lift, lagging)
        stands_in = place < first_free and max(lift.left_sets, lift.right_sets) > 0.0
        if lift.held is not None and (place == 0 or stands_in or behind < ahead):
            told.append(lift.held)
    return tuple(told)


def _least_left(lifts: Sequence[ClosingLift], planned: Sequence[PlannedLift]) -> float | None:
    """Return what may be asked for of every planned lift alike. [repetitions]"""
    names = {one.exercise_id for one in planned}
    each = [lift.least_left for lift in lifts if lift.exercise_id in names]
    known = [least for least in each if least is not None]
    return max(known) if len(known) == len(each) else None


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


def _told(gap: GapToClose, lagging: LimbSide, chosen: _Chosen, mass: Share) -> ClosingPlan:
    target = _target(gap)
    cautions = [Caution("imbalance_is_measurement_not_risk")]
    if gap.surgery is not None:
        cautions.append(Caution("closing.within_clearance"))
    recheck = RECHECK_WEEKS * DAYS_PER_WEEK
    return ClosingPlan(
        quality=gap.quality,
        lagging_side=lagging,
        lifts=chosen.lifts,
        extra_sets=chosen.extra_sets,
        forecast=forecast_gap(gap.posterior, gap.quality, chosen.extra_sets, target=target, mass=mass),
        recheck_after=recheck,
        stop_after=RECHECKS * recheck,
        done_below=DONE_BELOW,
        target=target,
        reasons=_why(gap, lagging, chosen),
        cautions=tuple(cautions),
    )


def _why(gap: GapToClose, lagging: LimbSide, chosen: _Chosen) -> tuple[Reason, ...]:
    sides: dict[str, Param] = {"lagging": lagging, "leading": other_side(lagging)}
    volume = (
        Reason("closing.more_sets", {**sides, "extra": chosen.extra_sets})
        if chosen.extra_sets
        else Reason("closing.equal_sets", {**sides, "weeks_from": 4, "weeks_to": 8})
    )
    reasons = [volume, *chosen.held, Reason("closing.order", sides)]
    if gap.quality != "size":
        reasons.append(_effort_check({**sides, "weeks": CHECK_WEEKS}, chosen.least_left))
    if gap.quality == "size" or settled(gap.posterior):
        reasons.append(Reason("closing.slow", {"weeks": RECHECK_WEEKS}))
    stop = {**sides, "done": 100.0 * DONE_BELOW, "weeks": RECHECKS * RECHECK_WEEKS}
    return (*reasons, Reason("closing.stop", stop))


def _effort_check(params: Mapping[str, Param], least_left: float | None) -> Reason:
    """Return what keeps the gap to be seen: a set to the same reserve, or, where none may be asked for, the reserve told."""
    if least_left is None:
        return Reason("closing.told_reserve")
    if least_left > 0.0:
        return Reason("closing.effort_check_leaving", {**params, "left": least_left})
    return Reason("closing.effort_check", params)
