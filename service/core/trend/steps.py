"""Steps in what a lift shows: from one session to the next it is another load or another number of repetitions, and stays.

Strength does not move so far within days and then stand still. Another station, other plates, another range, or loads that
were written otherwise look like that, and so does an injury; which of them it was is for those who were there to say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log
from statistics import median
from typing import Final

from service.core.curve import CurvePrior, log_ratio_at
from service.core.units import Days, Kilograms, LogRatio, Repetitions

#: All below is judgement. Sessions before and after a step, and how many must have shown the lift before it: the loads of a
#: lift that is new are still being found.
_AROUND: Final = 3
_KNOWN: Final = 6
#: How far strength must seem to have moved at once where every top set around it told its effort, and where one did not:
#: who says nothing of it may have left six repetitions more.
_STEP_TOLD: Final[LogRatio] = 0.15
_STEP_SILENT: Final[LogRatio] = 0.2
#: On each side of a step the sessions differ by no more than this share of it.
_STANDS: Final = 1.0 / 3.0
#: Repetitions and loads that count as the same, from the least to the most; and the widest step between two weights of a
#: stack or a rack, which nobody can lift between.
_SAME_REPETITIONS: Final = 1.25
_SAME_LOAD: Final[LogRatio] = 0.05
_WIDEST_STACK_STEP: Final[Kilograms] = 5.0
#: A lift that comes back to within this of where it stood before a step is the lift of before.
_BACK_AGAIN: Final[LogRatio] = 0.07
#: Who pauses for longer may come back another; and from this pain on (0 to 10) a change needs no other explanation.
_LONGEST_GAP: Final[Days] = 14.0
_PAIN: Final = 3.0


@dataclass(frozen=True, slots=True)
class Shown:
    """The top set of one session of a lift: its heaviest, and of these the one with most repetitions.

    ``repetitions`` has those in reserve with it where they were told; ``told`` says that its effort was. ``pain`` is from
    0 to 10, 0 where none was told.
    """

    day: Days
    load_kg: Kilograms
    repetitions: Repetitions
    told: bool
    pain: float = 0.0


@dataclass(frozen=True, slots=True)
class Step:
    """A step: the day of the first session after it, and how far strength seemed to move. [d], [1]"""

    day: Days
    ln_change: LogRatio


def sudden_steps(shown: Sequence[Shown], curve: CurvePrior) -> tuple[Step, ...]:
    """Return the steps in a lift's sessions, oldest first; the sessions come oldest first too."""
    found = []
    for at in range(_KNOWN, len(shown) - _AROUND + 1):
        before, after = shown[at - _AROUND : at], shown[at : at + _AROUND]
        if after[0].day - before[-1].day > _LONGEST_GAP or any(one.pain >= _PAIN for one in after):
            continue
        change = _step_between(before, after, curve)
        if change is not None:
            found.append(Step(after[0].day, change))
    return tuple(found)


def moved_between(day: Days, other: Days, steps: Sequence[Step]) -> LogRatio:
    """Return how far steps seem to have moved strength from one day to a later one, 0 where the lift came back. [1]"""
    change = sum(step.ln_change for step in steps if day < step.day <= other)
    return 0.0 if abs(change) <= _BACK_AGAIN else change


def moved_around(shown: Sequence[Shown], day: Days, curve: CurvePrior) -> LogRatio | None:
    """Return how far a lift's top sets seem to have moved about a day, ``None`` where it has none on either side of it. [1]

    The middle one of the sessions before it against the middle one of those from it on: whether they stand still or not.
    """
    before = [one for one in shown if day - _LONGEST_GAP <= one.day < day][-_AROUND:]
    after = [one for one in shown if day <= one.day <= day + _LONGEST_GAP][:_AROUND]
    if not before or not after:
        return None
    first, last = (
        median(
            log(one.load_kg) + log_ratio_at(max(one.repetitions, 1.0), curve.mean_ln_k, curve.b)
            for one in some
        )
        for some in (before, after)
    )
    return last - first


def _step_between(before: Sequence[Shown], after: Sequence[Shown], curve: CurvePrior) -> LogRatio | None:
    around = (*before, *after)
    loads = [log(one.load_kg) for one in around]
    repetitions = [one.repetitions for one in around]
    if max(loads) - min(loads) <= _SAME_LOAD:
        strengths = [log_ratio_at(max(n, 1.0), curve.mean_ln_k, curve.b) for n in repetitions]
    elif max(repetitions) <= _SAME_REPETITIONS * min(repetitions) and _beyond_a_stack_step(before, after):
        strengths = loads
    else:
        return None
    change = _stands_apart(strengths[: len(before)], strengths[len(before) :])
    least = _STEP_TOLD if all(one.told for one in around) else _STEP_SILENT
    return change if change is not None and abs(change) >= least else None


def _beyond_a_stack_step(before: Sequence[Shown], after: Sequence[Shown]) -> bool:
    first, last = (median(one.load_kg for one in some) for some in (before, after))
    return abs(last - first) > _WIDEST_STACK_STEP


def _stands_apart(before: Sequence[float], after: Sequence[float]) -> LogRatio | None:
    """Return how far two levels lie apart, None unless each of them stands still and all of one lie beyond the other's."""
    change = median(after) - median(before)
    apart = min(after) > max(before) or max(after) < min(before)
    widest = max(max(some) - min(some) for some in (before, after))
    return change if apart and widest <= _STANDS * abs(change) else None
