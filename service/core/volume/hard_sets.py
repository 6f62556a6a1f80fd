"""Does a set count, and for how much: the hard set, a number from 0 to 1 (more for a cluster of drops).

A set counts in full within about four repetitions of failure and from about 30 % of 1RM upward, and fades
smoothly beyond both. Follows the counting of [Pelland2025]_; closeness to failure after [Refalo2023]_, the
floor of the load after [Lasevicius2018]_, drops after [Coleman2022]_ and [Sodal2023]_.
"""

from dataclasses import dataclass
from math import erfc, exp, sqrt
from typing import Literal

from service.core.curve import PIECE_S
from service.core.errors import OutsideValidity
from service.core.units import Repetitions, Seconds, Share

SetAim = Literal["size", "strength"]
TrainingAge = Literal["novice", "trained", "unknown"]

#: Reserve up to which a set counts in full, and the width of the fade beyond it [repetitions]. Four:
#: [Pelland2025]_ and [Refalo2023]_ for the direction; the width is judgement.
FULL_COUNT_RESERVE = 4.0
RESERVE_FADE = 2.0
#: Share of 1RM from which a load counts in full, and the width of the fade below. [Lasevicius2018]_ found 20
#: % inferior to 40-80 % (from memory, direction only); the width is judgement.
FULL_COUNT_LOAD = 0.30
LOAD_FADE = 0.08
#: Effort where none is reported, mean and sd [repetitions in reserve]: judgement, with a heavy tail of
#: doubled width.
EXPECTED_RESERVE: dict[TrainingAge, tuple[float, float]] = {
    "trained": (2.5, 2.5),
    "novice": (4.0, 3.0),
    "unknown": (3.0, 2.8),
}
HEAVY_TAIL_WEIGHT = 0.1
HEAVY_TAIL_WIDTH = 2.0
#: Noise of a reported reserve: sd^2 = 0.5^2 + (0.3 R)^2; judgement, as in the capability model.
REPORT_FLOOR_SD = 0.5
REPORT_SD_SHARE = 0.3
#: For size, a drop is worth half a set and a cluster at most 2.5: equal growth in the trials of
#: [Coleman2022]_ and [Sodal2023]_; the split per drop is judgement. For strength a cluster is one set.
DROP_CREDIT = 0.5
LARGEST_DROP_CREDIT = 2.5
DROP_CREDIT_SD = 0.25
#: They turn a hold or a carry into repetitions, so that one rule serves all; see `core.curve`.
SECONDS_PER_REPETITION = PIECE_S
#: A hold or carry shorter than this many repetitions fades towards nothing: judgement.
SHORTEST_FULL_HOLD = 3.0
#: A lift that was tried and missed was effort to failure, but how far it went is not known: it counts for anything between
#: nothing and a set to failure, all alike likely: mean and sd of a uniform share. No study counts them. (judgement) [1]
MISSED_SHARE, MISSED_SHARE_SD = 0.5, sqrt(1.0 / 12.0)


@dataclass(frozen=True, slots=True)
class HardSet:
    """The expected count of one set, its sd, and whether its effort had to be assumed."""

    value: float
    sd: float
    assumed_effort: bool


NOT_COUNTED = HardSet(0.0, 0.0, assumed_effort=False)


def _above(x: float) -> float:
    """Return the standard normal's upper tail."""
    return 0.5 * erfc(x / sqrt(2.0))


def _faded_mean(mean: float, sd: float, fade: float) -> float:
    """Expect min(1, exp(-((R - full)/fade)^2/2)) over R ~ N(mean, sd^2), R >= 0: a product of Gaussians."""
    edge = FULL_COUNT_RESERVE
    if sd <= 0.0:
        return 1.0 if mean <= edge else exp(-0.5 * ((mean - edge) / fade) ** 2)
    total = fade**2 + sd**2
    centre = (mean * fade**2 + edge * sd**2) / total
    width = fade * sd / sqrt(total)
    tail = fade / sqrt(total) * exp(-0.5 * (mean - edge) ** 2 / total) * _above((edge - centre) / width)
    inside = _above(-mean / sd) - _above((edge - mean) / sd)
    return min(1.0, (inside + tail) / max(_above(-mean / sd), 1e-12))


def _effort_moments(components: tuple[tuple[float, float, float], ...]) -> tuple[float, float]:
    """Return the first and second moment of the effort's weight under a mixture of truncated normals."""
    first = sum(w * _faded_mean(m, s, RESERVE_FADE) for w, m, s in components)
    second = sum(w * _faded_mean(m, s, RESERVE_FADE / sqrt(2.0)) for w, m, s in components)
    return first, second


def _reserve_mixture(
    reps_in_reserve: float | None,
    to_failure: bool,
    expected_reserve: tuple[float, float] | None,
    training: TrainingAge,
) -> tuple[tuple[float, float, float], ...]:
    if to_failure:
        return ((1.0, 0.0, 0.0),)
    if reps_in_reserve is not None:
        sd = sqrt(REPORT_FLOOR_SD**2 + (REPORT_SD_SHARE * reps_in_reserve) ** 2)
        return ((1.0, reps_in_reserve, sd),)
    if expected_reserve is not None:
        return ((1.0, *expected_reserve),)
    mean, sd = EXPECTED_RESERVE[training]
    return ((1.0 - HEAVY_TAIL_WEIGHT, mean, sd), (HEAVY_TAIL_WEIGHT, mean, HEAVY_TAIL_WIDTH * sd))


def load_weight(fraction_of_1rm: Share | None) -> Share:
    """Return how far a load counts: 1 from 30 % of 1RM upward, fading below; 1 where the share is not known.

    References
    ----------
    [Lasevicius2018]_ for the direction (from memory); the width of the fade is judgement.
    """
    if fraction_of_1rm is None or fraction_of_1rm >= FULL_COUNT_LOAD:
        return 1.0
    return exp(-0.5 * ((fraction_of_1rm - FULL_COUNT_LOAD) / LOAD_FADE) ** 2)


def hard_set(
    reps: Repetitions | None,
    reps_in_reserve: float | None = None,
    to_failure: bool = False,
    fraction_of_1rm: Share | None = None,
    expected_reserve: tuple[float, float] | None = None,
    *,
    training: TrainingAge = "unknown",
    p_warm_up: Share = 0.0,
) -> HardSet:
    """Return how much one set counts, as an expectation over what is not known about its effort.

    Parameters
    ----------
    reps
        Repetitions done; None for a set that was only counted ("two sets of trunk work"); 0 counts nothing.
        [repetitions]
    reps_in_reserve
        As reported; None where nobody said. Missing effort is never read as failure. [repetitions]
    to_failure
        Whether the set ended at failure; overrides the reserve.
    fraction_of_1rm
        Load over the capability's 1RM; None where it is not known. [1]
    expected_reserve
        Mean and sd of the reserve that the capability model expects, used only where none is reported.
        [repetitions]
    training
        Chooses the population's reserve where neither is there.
    p_warm_up
        Probability that the set was a warm-up, which counts nothing. [1]

    Raises
    ------
    OutsideValidity
        If a count is negative or the probability is outside 0 to 1.

    References
    ----------
    [Pelland2025]_ (what counts as a set), [Refalo2023]_; the fades are judgement.
    """
    if (reps is not None and reps < 0) or (reps_in_reserve or 0.0) < 0 or not 0.0 <= p_warm_up <= 1.0:
        raise OutsideValidity(reps=reps, reps_in_reserve=reps_in_reserve, p_warm_up=p_warm_up)
    if reps == 0:
        return NOT_COUNTED
    first, second = _effort_moments(_reserve_mixture(reps_in_reserve, to_failure, expected_reserve, training))
    load, work = load_weight(fraction_of_1rm), 1.0 - p_warm_up
    mean = work * load * first
    variance = max(0.0, work * load**2 * second - mean**2)
    return HardSet(mean, sqrt(variance), assumed_effort=not to_failure and reps_in_reserve is None)


def missed_lift(fraction_of_1rm: Share | None = None) -> HardSet:
    """Return how much a lift counts that did not go up once: half of a set to failure, with a wide sd. Basis: judgement."""
    load = load_weight(fraction_of_1rm)
    return HardSet(load * MISSED_SHARE, load * MISSED_SHARE_SD, assumed_effort=False)


def hard_hold(
    seconds: Seconds,
    reserve_s: Seconds | None = None,
    to_failure: bool = False,
    *,
    training: TrainingAge = "unknown",
) -> HardSet:
    """Return how much a hold counts, or a carry by its time: four seconds are a repetition, under 12 s fade. Basis: judgement."""
    reps = seconds / SECONDS_PER_REPETITION
    reserve = None if reserve_s is None else reserve_s / SECONDS_PER_REPETITION
    counted = hard_set(reps, reserve, to_failure, training=training)
    length = min(1.0, reps / SHORTEST_FULL_HOLD)
    return HardSet(counted.value * length, counted.sd * length, counted.assumed_effort)


def drop_set(first_stage: HardSet | None, drop_count: int, aim: SetAim = "size") -> HardSet:
    """Return what a drop-set cluster counts: 1 + 0.5 a drop and at most 2.5 for size; 1 for strength.

    All of it is scaled by what the first stage counts: in the trials that was a set to failure, and drops that begin far
    from it were not studied (judgement).

    Parameters
    ----------
    first_stage
        The set at the first load; None where it is not in the log yet, and then nothing counts until it is.
    drop_count
        Number of drops after it.

    Raises
    ------
    OutsideValidity
        If ``drop_count`` is negative.

    References
    ----------
    [Coleman2022]_ (ES difference 0.08, -0.08 to 0.24) and [Sodal2023]_ (0.155, not significant): equal
    growth.
    """
    if drop_count < 0:
        raise OutsideValidity(drop_count=drop_count)
    if first_stage is None:
        return NOT_COUNTED
    start = first_stage
    # Drops after what was no work at all, a warm-up or no repetition, are no cluster.
    if aim == "strength" or drop_count == 0 or start.value <= 0.0:
        return start
    times = 1.0 + sum(drop_credits(drop_count))
    sd = sqrt((times * start.sd) ** 2 + (start.value * DROP_CREDIT_SD * min(drop_count, 3)) ** 2)
    return HardSet(times * start.value, sd, start.assumed_effort)


def drop_credits(drop_count: int) -> tuple[float, ...]:
    """Return what each drop of a cluster adds, in counts of its first load: none more beyond the largest credit. [1]"""
    room = LARGEST_DROP_CREDIT - 1.0
    return tuple(min(DROP_CREDIT, max(room - DROP_CREDIT * before, 0.0)) for before in range(drop_count))
