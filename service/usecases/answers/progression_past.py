"""The working sets of one lift and side by session, and what they come to."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from service.core.capability import Side
from service.core.progression import Shown
from service.core.progression.breaks import EndedBreak
from service.core.units import Days, Kilograms, Share
from service.usecases.answers.history import ExerciseHistory, SeenSet
from service.usecases.folding.evidence import (
    LEAST_LOAD_KG,
    MOST_REPETITIONS,
    counted,
    is_missed,
    part_of_range,
)

#: Sets where none were done yet, and the sessions whose median is the usual number (judgement).
USUAL_SETS, SESSIONS_LOOKED_AT = 3, 3
#: Days without the lift that count as a break, and the sessions that tell the load before it (judgement).
_BREAK_DAYS, _SESSIONS_BEFORE = 10.0, 3
#: Sessions that tell whether what can be lifted has fallen lately (judgement).
_SESSIONS_SHOWN = 4
#: Sets of one load within this share are at the same load. [1] (judgement)
_SAME_LOAD: Share = 0.001
#: A last load this many times the heaviest of all other sessions is a slip where what is known of strength does not
#: believe it either. [1] (judgement)
_SLIP_TIMES, _BELIEVED = 1.5, 0.5


@dataclass(frozen=True, slots=True)
class Past:
    """The working sets of one exercise and side by session, oldest first; ``today`` those of the session that is on."""

    sessions: Sequence[Sequence[SeenSet]]
    today: Sequence[SeenSet] = ()

    @property
    def last(self) -> Sequence[SeenSet]:
        """The working sets of the newest session, none where there is none."""
        return self.sessions[-1] if self.sessions else ()

    @property
    def tried(self) -> Sequence[SeenSet]:
        """All working sets, oldest first."""
        return [seen for sets in (*self.sessions, self.today) for seen in sets]

    @property
    def heaviest_kg(self) -> Kilograms | None:
        """The heaviest load of which a repetition was done, None without one. [kg]"""
        return max((_kilograms(seen) for sets in self.sessions for seen in done_sets(sets)), default=None)

    @property
    def usual_sets(self) -> int:
        """The usual number of working sets a session."""
        counts = [rounds(sets) for sets in self.sessions[-SESSIONS_LOOKED_AT:]]
        return round(median(counts)) if counts else USUAL_SETS

    def effort_missing(self) -> int:
        """Return how many of the newest sessions in a row told no reserve at all."""
        count = 0
        for sets in reversed(self.sessions):
            if any(seen.record.reps_in_reserve is not None or seen.record.to_failure for seen in sets):
                break
            count += 1
        return count

    def shown(self) -> tuple[tuple[Shown, ...], ...]:
        """Return what the newest sessions since the last break showed, oldest first; nothing where the last told no reserve."""
        days = [sets[0].day for sets in self.sessions]
        breaks = [place for place in range(1, len(days)) if days[place] - days[place - 1] > _BREAK_DAYS]
        newest = done_sets(self.last)[-1:]
        part = part_of_range(newest[0].record) if newest else ""
        since = [shown_in(sets, part) for sets in self.sessions[max(breaks, default=0) :]]
        if not since or not since[-1]:
            return ()
        return tuple(told for told in since if told)[-_SESSIONS_SHOWN:]

    def above_range(self, high: int) -> int:
        """Return how many of the newest sessions in a row ended two or more repetitions above the range."""
        count = 0
        for sets in reversed(self.sessions):
            if (sets[-1].record.reps or 0) < high + 2:
                break
            count += 1
        return count

    def ended_break(self, now: Days) -> EndedBreak | None:
        """Return the last break between two sessions, None where there was none."""
        days = [sets[0].day for sets in self.sessions]
        gaps = [(place, later - earlier) for place, (earlier, later) in enumerate(pairwise(days), start=1)]
        broken = [(place, gap) for place, gap in gaps if gap > _BREAK_DAYS]
        if not broken:
            return None
        place, gap = broken[-1]
        before = [
            seen.load.kilograms
            for sets in self.sessions[max(place - _SESSIONS_BEFORE, 0) : place]
            for seen in top_sets(sets)
            if seen.load is not None
        ]
        return EndedBreak(gap, now - days[place], max(before, default=0.0))


def past_of(history: ExerciseHistory, side: Side | None) -> Past:
    """Return the working sets by session, counted as the lift is: repetitions, the missed ones among them, holds, carries;
    of one side if named."""
    by_session: dict[int, list[SeenSet]] = defaultdict(list)
    for seen in history.work_sets(side):
        if was_tried(seen):
            by_session[seen.session].append(seen)
    return Past(list(by_session.values()))


def was_tried(seen: SeenSet) -> bool:
    """Whether a set tells a load and what was done with it, be it that it did not go up."""
    missed = is_missed(seen.record, seen.exercise)
    return seen.load is not None and (missed or counted(seen.record, seen.exercise) > 0)


def top_sets(sets: Sequence[SeenSet]) -> list[SeenSet]:
    """Return the sets at the heaviest load of a session."""
    loads = [seen.load.kilograms for seen in sets if seen.load is not None]
    heaviest = max(loads, default=0.0)
    return [
        seen
        for seen in sets
        if seen.load is not None and seen.load.kilograms >= heaviest * (1.0 - _SAME_LOAD)
    ]


def rounds(sets: Sequence[SeenSet]) -> int:
    """Return how often a lift was done: a set of the left and one of the right side are one round of a two-sided lift."""
    sides = Counter(seen.side for seen in sets)
    return sides.total() - min(sides["left"], sides["right"])


def done_sets(sets: Sequence[SeenSet]) -> list[SeenSet]:
    """Return the sets of which at least one repetition was done, or that were held or carried."""
    return [seen for seen in sets if counted(seen.record, seen.exercise) > 0.0]


def shown_in(sets: Sequence[SeenSet], part: str) -> tuple[Shown, ...]:
    """Return what the sets through one part of the range showed, those that told a reserve and tell of strength."""
    return tuple(
        Shown(
            _kilograms(seen),
            (seen.record.reps or 0) + (seen.record.reps_in_reserve or 0),
            seen.record.reps_in_reserve or 0.0,
            cut_short=seen.record.limited_by == "pain",
        )
        for seen in done_sets(sets)
        if (seen.record.reps_in_reserve is not None or seen.record.to_failure)
        and _kilograms(seen) >= LEAST_LOAD_KG
        and (seen.record.reps or 0) <= MOST_REPETITIONS
        and part_of_range(seen.record) == part
    )


def missed_in(sets: Sequence[SeenSet]) -> Kilograms | None:
    """Return the lightest load that did not go up once and that nothing since has matched, None without one. [kg]"""
    standing: list[Kilograms] = []
    for seen in sets:
        if seen.load is None:
            continue
        if is_missed(seen.record, seen.exercise):
            standing.append(seen.load.kilograms)
        else:
            standing = [one for one in standing if one > seen.load.kilograms * (1.0 + _SAME_LOAD)]
    return min(standing, default=None)


def without_slips(past: Past, history: ExerciseHistory, now: Days) -> Past:
    """Return the past without newest loads that are slips of the keyboard: 600 kg after sessions at 60."""
    sessions = list(past.sessions)
    while len(sessions) > 1:
        usual = max(_kilograms(seen) for sets in sessions[:-1] for seen in sets)
        kept = [seen for seen in sessions[-1] if not _is_slip(seen, usual, history, now)]
        if len(kept) == len(sessions[-1]):
            break
        sessions[-1:] = [kept] if kept else []
    return replace(past, sessions=sessions)


def _is_slip(seen: SeenSet, usual: Kilograms, history: ExerciseHistory, now: Days) -> bool:
    load, done = _kilograms(seen), seen.record.reps or 0
    if load <= _SLIP_TIMES * usual or done == 0:
        return False
    forecast = history.forecast(now, seen.side)
    return forecast is not None and forecast.repetitions_at(load).probability_at_least(done) < _BELIEVED


def _kilograms(seen: SeenSet) -> Kilograms:
    return seen.load.kilograms if seen.load is not None else 0.0
