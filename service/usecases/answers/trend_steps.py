"""Steps in the log of a lift: what its top sets showed, session by session, and where they moved at once and stayed."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from statistics import mean
from typing import Final

from service.core.capability import Side
from service.core.curve import CurvePrior
from service.core.trend import Shown, Step, moved_around, sudden_steps
from service.core.units import Days, Share
from service.usecases.answers.trend_sessions import Done

_LIMBS: Final = frozenset({"left", "right"})
#: Lifts that step within so many days of one another step together; and so does one that moves about then by so much of
#: another's step, whether or not it stands still before and after: a week that all lifts were easy in (judgement).
_TOGETHER: Final[Days] = 3.0
_ALONG: Final[Share] = 0.5


def steps_of(done: Iterable[Done], curve_of: Callable[[str], CurvePrior]) -> Mapping[str, tuple[Step, ...]]:
    """Return the steps of each series that no other lift took part in.

    ``done`` are the sets that tell strength, of one range and one station in each series. What several lifts do at once is
    the athlete's doing, ill or rested, and what one side does alone is that side's: neither is a step of the lift.
    """
    by_series: dict[str, dict[Side, list[Done]]] = defaultdict(lambda: defaultdict(list))
    for one in done:
        by_series[one.evidence.series][one.evidence.side].append(one)
    found = {series: _of_all_sides(sides, curve_of(series)) for series, sides in by_series.items()}
    all_shown = {
        series: _shown([one for own in sides.values() for one in own]) for series, sides in by_series.items()
    }
    return {
        series: tuple(
            step
            for step in steps
            if not _shared(step, series, found)
            and not any(
                _went_along(step, shown, curve_of(name))
                for name, shown in all_shown.items()
                if name != series
            )
        )
        for series, steps in found.items()
    }


def _of_all_sides(sides: Mapping[Side, Sequence[Done]], curve: CurvePrior) -> tuple[Step, ...]:
    limbs = _LIMBS & sides.keys()
    if not limbs:
        return sudden_steps(_shown([one for done in sides.values() for one in done]), curve)
    if limbs != _LIMBS:
        return ()
    of_left, of_right = (sudden_steps(_shown(sides[limb]), curve) for limb in ("left", "right"))
    return tuple(
        Step(one.day, mean((one.ln_change, other.ln_change)))
        for one in of_left
        for other in of_right
        if one.day == other.day and one.ln_change * other.ln_change > 0.0
    )


def _shared(step: Step, series: str, found: Mapping[str, Sequence[Step]]) -> bool:
    return any(
        abs(other.day - step.day) <= _TOGETHER and other.ln_change * step.ln_change > 0.0
        for name, steps in found.items()
        if name != series
        for other in steps
    )


def _went_along(step: Step, shown: Sequence[Shown], curve: CurvePrior) -> bool:
    moved = moved_around(shown, step.day, curve)
    return moved is not None and moved * step.ln_change >= _ALONG * step.ln_change**2


def _shown(done: Iterable[Done]) -> list[Shown]:
    """Return the top set of each session. A hold's or a carry's pieces are no repetitions: they show nothing here."""
    by_day: dict[Days, list[Done]] = defaultdict(list)
    for one in done:
        if one.evidence.reps > 0 and not one.evidence.timed:
            by_day[one.day].append(one)
    return [_top(day, sets) for day, sets in sorted(by_day.items())]


def _top(day: Days, sets: Sequence[Done]) -> Shown:
    top = max((one.evidence for one in sets), key=lambda item: (item.load_kg, item.reps))
    told = top.to_failure or top.reps_in_reserve is not None
    pain = max(one.evidence.pain or 0.0 for one in sets)
    return Shown(day, top.load_kg, top.reps + (top.reps_in_reserve or 0.0), told, pain)
