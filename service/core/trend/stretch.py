"""Which sessions of a lift may be compared: one range, one station, no break between, and close enough together."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import expm1, inf, log2
from statistics import median
from typing import Final

from service.core.estimates import Reason
from service.core.trend.steps import Step, moved_between
from service.core.units import Days

#: A pause of all training that ends what can be compared: the service's bands of return begin beyond ten days
#: (judgement), and someone who trains seldom has not paused until twice and a half the usual gap has passed.
BREAK_DAYS: Final[Days] = 10.0
BREAK_GAPS: Final = 2.5
#: A lift left out for so long while others were trained begins anew (judgement).
LIFT_PAUSE_DAYS: Final[Days] = 28.0
#: Fewer sessions than this tell no change, and sessions further apart tell none either: between them strength is not
#: followed but guessed (judgement).
FEWEST_SESSIONS: Final = 3
RARE_DAYS: Final[Days] = 14.5
#: A pause of so many days makes a lift's log as young as a new one, a shorter one less (judgement).
FORGETTING_DAYS: Final[Days] = 21.0
#: How soon the doubt of a young log halves (judgement).
SETTLING_HALVES: Final[Days] = 18.0
#: The athlete's own sessions, of whatever lift, are too far apart beyond this: weeks without any training cost strength
#: in the model, and weeks without a log look the same (judgement).
RARE_ATHLETE_DAYS: Final[Days] = 10.5


@dataclass(frozen=True, slots=True)
class Visited:
    """One session of a lift: its day, and under which range and at which station its working sets were done.

    A session may hold several of either; none where that was not told, as of a tested maximum, which stands with any.
    """

    day: Days
    ranges: frozenset[str]
    stations: frozenset[str]


@dataclass(frozen=True, slots=True)
class Stretch:
    """The days that may be compared, oldest first, and why others are left out or why these are not enough. [d]"""

    days: tuple[Days, ...]
    reasons: tuple[Reason, ...]
    enough: bool


def comparable_stretch(
    visits: Sequence[Visited],
    athlete_days: Sequence[Days],
    since: Days,
    until: Days,
    like: Visited | None = None,
    steps: Sequence[Step] = (),
) -> Stretch:
    """Return the newest sessions of a lift from ``since`` on that may be compared with one another.

    ``visits``, the days of all the athlete's sessions and the lift's ``steps`` come oldest first. Sessions before a break,
    under another range, at another station or on another side of a step are never joined with those after: their difference
    is no progress and no regression. The range and station are those of ``like``, or of the newest sessions that told one.
    """
    window = [one for one in visits if since <= one.day <= until]
    if not window:
        return Stretch((), (Reason("trend.too_few", {"sessions": 0}),), enough=False)
    alike, reasons = _alike(window, [*window, like] if like is not None else window)
    level, stepped = _on_one_level(alike, steps)
    kept, broken = _unbroken(level, athlete_days)
    if not broken:
        broken = _break_under_way([one.day for one in visits], kept[0].day, athlete_days)
    reasons += (*stepped, *broken)
    days = tuple(one.day for one in kept)
    lacking = _lacking(days, [day for day in athlete_days if since <= day <= until])
    return Stretch(days, (*reasons, *lacking), enough=not lacking)


@dataclass(frozen=True, slots=True)
class Run:
    """The days of a lift's sessions from one pause to the next, and how long the pause before them was, 0 of the first. [d]"""

    days: tuple[Days, ...]
    pause: Days


def comparable_runs(
    visits: Sequence[Visited],
    athlete_days: Sequence[Days],
    until: Days,
    like: Visited | None = None,
    steps: Sequence[Step] = (),
) -> tuple[Run, ...]:
    """Return all runs of sessions without a pause in them, oldest first, that `comparable_stretch` takes the last of."""
    window = [one for one in visits if one.day <= until]
    if not window:
        return ()
    alike, _ = _alike(window, [*window, like] if like is not None else window)
    level, _ = _on_one_level(alike, steps)
    days = [one.day for one in level]
    pauses = _pauses(days, athlete_days)
    ends = [one.end for one in pauses]
    return tuple(
        Run(tuple(day for day in days if begin <= day < end), pause)
        for begin, end, pause in zip(
            [-inf, *ends], [*ends, inf], [0.0, *(one.days for one in pauses)], strict=True
        )
    )


def where_both_were(stretch: Stretch, limbs: Mapping[str, Collection[Days]]) -> Stretch:
    """Return the sessions between which each limb was trained: what both do together is not told by one of them.

    ``limbs`` gives the days [d] on which each was trained, or sets did not say which it was.
    """
    if not stretch.enough:
        return stretch
    seen = {limb: [day for day in stretch.days if day in days] for limb, days in limbs.items()}
    fewest = min(seen, key=lambda limb: len(seen[limb]))
    if len(seen[fewest]) < FEWEST_SESSIONS:
        lacking = _side_not_told(fewest, len(seen[fewest]))
        return replace(stretch, reasons=(lacking, *stretch.reasons), enough=False)
    first, last = max(days[0] for days in seen.values()), min(days[-1] for days in seen.values())
    kept = tuple(day for day in stretch.days if first <= day <= last)
    if len(kept) < FEWEST_SESSIONS:
        too_few = Reason("trend.too_few", {"sessions": len(kept)})
        return Stretch(kept, (*stretch.reasons, too_few), enough=False)
    return replace(stretch, days=kept)


def of_one_side(stretch: Stretch, limb: str, visits: int, others: int) -> Stretch:
    """Return a side's stretch with the reason where it has too few ``visits`` of its own while the lift has ``others``."""
    if visits >= FEWEST_SESSIONS or others < FEWEST_SESSIONS:
        return stretch
    others_told = tuple(reason for reason in stretch.reasons if reason.code != "trend.too_few")
    return replace(stretch, reasons=(_side_not_told(limb, visits), *others_told), enough=False)


def _side_not_told(limb: str, sessions: int) -> Reason:
    return Reason("trend.side_not_told", {"side": limb, "sessions": sessions})


def _alike(window: Sequence[Visited], models: Sequence[Visited]) -> tuple[list[Visited], list[Reason]]:
    station = next((one.stations for one in reversed(models) if one.stations), frozenset())
    at_station = [one for one in window if _agree(one.stations, station)]
    at_theirs = (one.ranges for one in reversed(models) if _agree(one.stations, station))
    depth = next((ranges for ranges in at_theirs if ranges), frozenset())
    alike = [one for one in at_station if _agree(one.ranges, depth)]
    reasons = []
    if len(at_station) < len(window):
        reasons.append(Reason("trend.new_station", {"sessions": len(window) - len(at_station)}))
    if len(alike) < len(at_station):
        reasons.append(Reason("trend.depth_changed", {"sessions": len(at_station) - len(alike)}))
    return alike, reasons


def _on_one_level(alike: Sequence[Visited], steps: Sequence[Step]) -> tuple[Sequence[Visited], list[Reason]]:
    """Return the sessions that no step parts from the newest one, and by how much the last of the others differ."""
    moved = [moved_between(one.day, alike[-1].day, steps) for one in alike]
    apart = [change for change in moved if change]
    if not apart:
        return alike, []
    params = {"sessions": len(apart), "percent": 100.0 * abs(expm1(apart[-1]))}
    told = [Reason("trend.sudden_rise", params)]
    if apart[-1] < 0.0:
        told = [Reason("trend.sudden_fall", params), Reason("trend.sudden_fall_seen")]
    return [one for one, change in zip(alike, moved, strict=True) if not change], told


def _agree(some: frozenset[str], others: frozenset[str]) -> bool:
    return not some or not others or bool(some & others)


def _unbroken(alike: Sequence[Visited], athlete_days: Sequence[Days]) -> tuple[list[Visited], list[Reason]]:
    """Return the sessions after the last break, which is told where it lies between them."""
    pauses = _pauses([one.day for one in alike], athlete_days)
    if not pauses:
        return list(alike), []
    last = pauses[-1]
    return [one for one in alike if one.day >= last.end], [_told(last)]


def _break_under_way(days: Sequence[Days], first: Days, athlete_days: Sequence[Days]) -> list[Reason]:
    """Return the pause that ended with the first session compared: the window began in it, so that no session shows it."""
    ended = [one for one in _pauses(days, athlete_days) if one.end == first]
    return [_told(one) for one in ended]


def _told(pause: "_Pause") -> Reason:
    return Reason("trend.break" if pause.of_all else "trend.lift_paused", {"days": pause.days})


@dataclass(frozen=True, slots=True)
class _Pause:
    """A pause before a lift's session on the day ``end`` [d], so many ``days`` long, of all training or of the lift."""

    end: Days
    days: Days
    of_all: bool


def _pauses(days: Sequence[Days], athlete_days: Sequence[Days]) -> list[_Pause]:
    """Return the pauses between a lift's sessions, oldest first, that end what can be compared."""
    limit = break_limit(athlete_days)
    breaks = [(before, after) for before, after in pairwise(athlete_days) if after - before > limit]
    found = []
    for before, after in pairwise(days):
        inside = [end - start for start, end in breaks if before <= start and end <= after]
        if inside:
            found.append(_Pause(after, max(inside), of_all=True))
        elif after - before > max(LIFT_PAUSE_DAYS, limit):
            found.append(_Pause(after, after - before, of_all=False))
    return found


def age_of_log(days: Sequence[Days], athlete_days: Sequence[Days], day: Days) -> Days:
    """Return for how long a lift was followed before a day, as far as that can settle what is believed of it. [d]

    ``days`` are the lift's sessions, oldest first. A pause makes a log young again: what comes back after it comes as fast
    as a new log is learnt, and how much of it there is nobody knows beforehand. One of three weeks leaves nothing of the
    age, one shorter as much as its share of them halves the doubt by: after a fortnight's the log is as good as one of
    ten days.
    """
    ages = [day - days[0]]
    for one in _pauses(days, athlete_days):
        if one.end <= day:
            kept = SETTLING_HALVES * log2(max(FORGETTING_DAYS / one.days, 1.0))
            ages.append(kept + day - one.end)
    return min(ages)


def break_limit(athlete_days: Sequence[Days]) -> Days:
    """Return the longest pause between two sessions that is no break for someone who trains on these days. [d]"""
    gaps = [after - before for before, after in pairwise(athlete_days)]
    return max(BREAK_DAYS, BREAK_GAPS * median(gaps)) if gaps else BREAK_DAYS


def _lacking(days: Sequence[Days], athlete_days: Sequence[Days]) -> list[Reason]:
    gaps = [after - before for before, after in pairwise(days)]
    between = [after - before for before, after in pairwise(athlete_days)]
    if gaps and median(gaps) > RARE_DAYS:
        return [Reason("trend.too_rare", {"days": median(gaps)})]
    if between and median(between) > RARE_ATHLETE_DAYS:
        return [Reason("trend.too_rare", {"days": median(between)})]
    if len(days) < FEWEST_SESSIONS:
        return [Reason("trend.too_few", {"sessions": len(days)})]
    return []
