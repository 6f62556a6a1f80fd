"""What a week's sets did to each muscle: hard sets times involvement, per side, per week and per session.

Direct and indirect sets are weighed as in [Pelland2025]_: 1 and 0.5 where no source says better.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import sqrt
from statistics import NormalDist
from typing import Final, Literal

from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Reason
from service.core.units import Days, HardSets, Share
from service.core.volume.hard_sets import LARGEST_DROP_CREDIT, HardSet, drop_credits

SetSide = Literal["left", "right", "both", "unspecified"]
DoseSide = Literal["left", "right", "both"]

#: Version of the model behind these answers; it rises when equal inputs give other results.
MODEL_VERSION: Final = "volume/4"
#: Share of involvement from which a set is called direct: halfway between the direct set's 1 and the indirect
#: set's 0.5 of [Pelland2025]_ (judgement).
DIRECT_SHARE = 0.75
#: What a set on one side is worth to each answer; "both" is the athlete's own number, the mean of the two
#: sides.
SIDE_WEIGHTS: dict[DoseSide, dict[SetSide, float]] = {
    "left": {"left": 1.0, "both": 1.0, "unspecified": 0.5},
    "right": {"right": 1.0, "both": 1.0, "unspecified": 0.5},
    "both": {"left": 0.5, "right": 0.5, "both": 1.0, "unspecified": 0.5},
}


@dataclass(frozen=True, slots=True)
class Involvement:
    """Share of a set's dose that one muscle receives, with its sd. [1]"""

    muscle_id: str
    share: Share
    sd: Share = 0.15


@dataclass(frozen=True, slots=True)
class SetContribution:
    """One set, or one drop-set cluster, ready to be added up.

    ``for_strength`` is what it counts for strength, where drops add nothing. ``incomplete_stage`` marks drops whose first
    stage is not in the log: they count when it comes; ``unspecified`` is the side of a one-sided lift that nobody named.
    ``p_warm_up`` is the probability that it was a warm-up, which its hard set has in it already. [1] ``missed`` marks a lift
    that was tried and did not go up. ``drops`` are the drops in it, in their order; of an incomplete one all but the first.
    """

    set_id: str
    session_id: str
    day: Days
    exercise_id: str
    side: SetSide
    hard_set: HardSet
    involvement: Sequence[Involvement]
    incomplete_stage: bool = False
    for_strength: HardSets | None = None
    p_warm_up: Share = 0.0
    missed: bool = False
    drops: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SessionDose:
    """What one session gave to a muscle on a side. [hard sets]"""

    session_id: str
    day: Days
    dose: HardSets


@dataclass(frozen=True, slots=True)
class CountedStage:
    """What the first load or one drop of a cluster gave to one muscle on one side, and why. [hard sets]"""

    set_id: str
    dose: HardSets
    reason: Reason


@dataclass(frozen=True, slots=True)
class CountedSet:
    """What one set gave to one muscle on one side, and why; of a cluster of drops also its ``stages``. [hard sets]"""

    set_id: str
    dose: HardSets
    reason: Reason
    stages: tuple[CountedStage, ...] = ()


@dataclass(frozen=True, slots=True)
class MuscleDose:
    """The week of one muscle on one side; ``assumed_share`` is the share whose effort had to be assumed.

    ``for_strength`` counts a cluster of drops as the one set that it is for strength.
    """

    value: Estimate
    direct: HardSets
    indirect: HardSets
    session_count: int
    per_session_max: HardSets
    assumed_share: Share
    unspecified_share: Share
    newest_day: Days
    counted: tuple[CountedSet, ...]
    for_strength: HardSets = 0.0
    sessions: tuple[SessionDose, ...] = ()


@dataclass(slots=True)
class _Running:
    """Sums of one muscle and side; the sets of an exercise share the involvement's error."""

    dose: float = 0.0
    direct: float = 0.0
    assumed: float = 0.0
    unspecified: float = 0.0
    for_strength: float = 0.0
    set_variance: float = 0.0
    newest_day: float = float("-inf")
    per_session: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    session_days: dict[str, float] = field(default_factory=dict)
    share_sd: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    counted: list[CountedSet] = field(default_factory=list)


def _reason(contribution: SetContribution, involvement: Involvement, dose: HardSets) -> Reason:
    if contribution.incomplete_stage:
        code = "volume.incomplete_drop"
    elif contribution.missed:
        code = "volume.missed_lift"
    elif contribution.p_warm_up > 0.0:
        code = "volume.warm_up_inferred"
    elif contribution.side == "unspecified":
        code = "volume.side_unspecified"
    elif contribution.hard_set.assumed_effort:
        code = "volume.effort_assumed"
    else:
        code = "volume.direct_set" if involvement.share >= DIRECT_SHARE else "volume.indirect_set"
    # A cluster's first load is told by itself.
    hard_set = contribution.hard_set.value / (1.0 + sum(drop_credits(len(contribution.drops))))
    return Reason(code, {"dose": dose, "share": involvement.share, "hard_set": hard_set})


def _counted(contribution: SetContribution, involvement: Involvement, dose: HardSets) -> CountedSet:
    """Return what a set, or a set with its drops, gave: the drops' part is told drop by drop."""
    set_id, reason = contribution.set_id, _reason(contribution, involvement, dose)
    if not contribution.drops:
        return CountedSet(set_id, dose, reason)
    if contribution.incomplete_stage:
        waiting = tuple(CountedStage(one, 0.0, reason) for one in (set_id, *contribution.drops))
        return CountedSet(set_id, dose, reason, waiting)
    credits = drop_credits(len(contribution.drops))
    first = dose / (1.0 + sum(credits))
    stages = [CountedStage(set_id, first, _reason(contribution, involvement, first))]
    for drop, credit in zip(contribution.drops, credits, strict=True):
        code = "volume.drop_counted" if credit else "volume.drop_beyond_most"
        params = {"dose": credit * first, "first": first, "most": LARGEST_DROP_CREDIT}
        stages.append(CountedStage(drop, credit * first, Reason(code, params)))
    told = {"dose": dose, "drops": len(contribution.drops), "first": first, "added": dose - first}
    return CountedSet(set_id, dose, Reason("volume.drop_set", told), tuple(stages))


def _add(running: _Running, contribution: SetContribution, involvement: Involvement, side: DoseSide) -> None:
    weight = SIDE_WEIGHTS[side].get(contribution.side, 0.0)
    hard = contribution.hard_set
    if contribution.incomplete_stage and weight * involvement.share > 0.0:
        # Shown with what it waits for, and worth nothing until its first load is in the log.
        running.newest_day = max(running.newest_day, contribution.day)
        running.counted.append(_counted(contribution, involvement, 0.0))
        return
    dose = weight * hard.value * involvement.share
    if dose <= 0.0:
        return
    running.dose += dose
    running.direct += dose if involvement.share >= DIRECT_SHARE else 0.0
    running.assumed += dose if hard.assumed_effort else 0.0
    running.set_variance += (weight * hard.sd) ** 2 * (involvement.share**2 + involvement.sd**2)
    if contribution.side == "unspecified":
        running.unspecified += dose
        # Which side did it is a coin toss for either side, and nothing at all for the athlete's own number.
        running.set_variance += 0.0 if side == "both" else (0.5 * hard.value * involvement.share) ** 2
    running.share_sd[contribution.exercise_id] += weight * hard.value * involvement.sd
    strength = hard.value if contribution.for_strength is None else contribution.for_strength
    running.for_strength += weight * strength * involvement.share
    running.per_session[contribution.session_id] += dose
    began = running.session_days.get(contribution.session_id, contribution.day)
    running.session_days[contribution.session_id] = min(began, contribution.day)
    running.newest_day = max(running.newest_day, contribution.day)
    running.counted.append(_counted(contribution, involvement, dose))


def _close(running: _Running, mass: float) -> MuscleDose:
    sd = sqrt(running.set_variance + sum(x**2 for x in running.share_sd.values()))
    reach = NormalDist().inv_cdf(0.5 + mass / 2.0) * sd
    interval = Interval(max(0.0, running.dose - reach), running.dose + reach, mass)
    return MuscleDose(
        value=Estimate(running.dose, "{sets}", sd, interval, "mean"),
        direct=running.direct,
        indirect=running.dose - running.direct,
        session_count=len(running.per_session),
        per_session_max=max(running.per_session.values(), default=0.0),
        assumed_share=running.assumed / running.dose if running.dose else 0.0,
        unspecified_share=running.unspecified / running.dose if running.dose else 0.0,
        newest_day=running.newest_day,
        counted=tuple(running.counted),
        for_strength=running.for_strength,
        sessions=tuple(
            SessionDose(session, running.session_days[session], dose)
            for session, dose in running.per_session.items()
        ),
    )


def add_up(
    contributions: Iterable[SetContribution], mass: float = DEFAULT_MASS
) -> dict[tuple[str, DoseSide], MuscleDose]:
    """Add one week's sets up to the dose of every muscle that got any, by (muscle, side).

    A two-sided set is one set for the left and one for the right. The entry "both" is the athlete's own
    number: the mean of the two sides. A one-sided set without a side is halved between them and says so. A
    muscle without dose has no entry, unless a drop waits for its first load there.

    References
    ----------
    [Pelland2025]_ (direct 1, indirect 0.5); [Mannarino2021]_ (row over curl: 0.467).
    """
    sums: dict[tuple[str, DoseSide], _Running] = defaultdict(_Running)
    for contribution in contributions:
        for involvement in contribution.involvement:
            for side in SIDE_WEIGHTS:
                _add(sums[involvement.muscle_id, side], contribution, involvement, side)
    return {key: _close(running, mass) for key, running in sorted(sums.items()) if running.counted}
