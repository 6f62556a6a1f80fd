"""A gap as it changes: visits joined with a random walk between them, and looked back on."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.errors import MixedInputs, TooFewObservations
from service.core.symmetry.posterior import SidePrior, SideReading, condition
from service.core.units import Days, LogRatio

DAYS_PER_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class GapThen:
    """Mean and variance of t on a day. [1]"""

    day: Days
    mean: LogRatio
    variance: float


@dataclass(frozen=True, slots=True)
class FilterStep:
    """What a filter knew of t on a day (mean, variance), and what it had expected for that day before its sets."""

    day: Days
    expected: tuple[LogRatio, float]
    known: tuple[LogRatio, float]


def join_visits(readings: Sequence[SideReading], day: Days, walk: LogRatio) -> SideReading:
    """Return what visits to one place say of t on a day, t walking at ``walk`` [1 per root week] between them.

    Raises
    ------
    TooFewObservations
        If there is no reading.
    MixedInputs
        If the readings are of different exercises, places or kinds.
    """
    if not readings:
        raise TooFewObservations(readings=0)
    if len({(r.key, r.kind) for r in readings}) > 1:
        raise MixedInputs(keys=sorted({r.key for r in readings}))
    ordered = sorted(readings, key=_day)
    mean, variance, visit_precision, at = 0.0, 0.0, 0.0, _day(ordered[0])
    for one in ordered:
        mean, variance = _met(mean, variance + _walked(at, _day(one), walk), one)
        visit_precision += 1.0 / one.next_variance
        at = _day(one)
    return SideReading(
        ordered[0].key,
        ordered[0].kind,
        mean,
        variance + _walked(at, max(day, at), walk),
        sum(r.visit_count for r in ordered),
        at,
        all(r.effort_known for r in ordered),
        tuple({reason.code: reason for r in ordered for reason in r.reasons}.values()),
        len(ordered) / visit_precision,
    )


def _day(reading: SideReading) -> Days:
    return reading.newest_day or 0.0


def _walked(since: Days, until: Days, walk: LogRatio) -> float:
    return walk**2 * max(until - since, 0.0) / DAYS_PER_WEEK


def _met(mean: LogRatio, variance: float, one: SideReading) -> tuple[LogRatio, float]:
    """Return what was believed before, joined with a reading by precision; no variance means nothing was."""
    if variance == 0.0:
        return one.t, one.variance
    gain = variance / (variance + one.variance)
    return mean + gain * (one.t - mean), gain * one.variance


def look_back(
    readings: Sequence[SideReading], days: Sequence[Days], prior: SidePrior, walk: LogRatio
) -> tuple[GapThen, ...]:
    """Return t on each day as all visits together tell it: those up to it and those after it, by precision.

    A day before the first visit is left out.
    """
    ordered = sorted(readings, key=_day)
    return tuple(_then(ordered, day, prior, walk) for day in days if ordered and day >= _day(ordered[0]))


def _then(ordered: Sequence[SideReading], day: Days, prior: SidePrior, walk: LogRatio) -> GapThen:
    told = [join_visits([r for r in ordered if _day(r) <= day], day, walk)]
    after = [_turned(r, day) for r in ordered if _day(r) > day]
    told += [join_visits(after, day, walk)] if after else []
    precision = sum(1.0 / r.variance for r in told)
    mean, variance = condition(sum(r.t / r.variance for r in told) / precision, 1.0 / precision, prior)
    return GapThen(day, mean, variance)


def _turned(reading: SideReading, day: Days) -> SideReading:
    """Turn a later reading round in time, so that the same recursion runs back to the day."""
    return SideReading(
        reading.key, reading.kind, reading.t, reading.variance, reading.visit_count, 2.0 * day - _day(reading)
    )


def smooth_steps(steps: Sequence[FilterStep]) -> tuple[GapThen, ...]:
    """Return t on the days of a filter's steps, oldest first, each moved by what later days showed.

    A fixed-interval smoother after Rauch, Tung and Striebel in one dimension; the last point is the filter's
    own.
    """
    points: list[GapThen] = []
    for number in reversed(range(len(steps))):
        known, spread = steps[number].known
        if points:
            expected, wide = steps[number + 1].expected
            share = min(spread / wide, 1.0) if wide > 0.0 else 0.0
            known += share * (points[-1].mean - expected)
            spread = max(spread + share**2 * (points[-1].variance - wide), 1e-12)
        points.append(GapThen(steps[number].day, known, spread))
    return tuple(reversed(points))
