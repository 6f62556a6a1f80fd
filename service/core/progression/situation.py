"""What the choice of a load is given, and what it answers."""

from dataclasses import dataclass
from typing import Literal

from service.core.estimates import Caution, Interval, Reason
from service.core.progression.breaks import EndedBreak
from service.core.units import Days, Kilograms, Repetitions, Share

Policy = Literal["add_repetitions_then_load", "two_for_two", "hold_load", "return_after_break", "reduce_load"]


@dataclass(frozen=True, slots=True)
class LoadOption:
    """One load the site can make: effective [kg], and the caller's index for its external label."""

    load_kg: Kilograms
    index: int


@dataclass(frozen=True, slots=True)
class RepetitionTarget:
    """Wanted repetitions and reserve, both inclusive."""

    low: int
    high: int
    reserve_low: float = 1.0
    reserve_high: float = 3.0


@dataclass(frozen=True, slots=True)
class Caps:
    """``too_hard``: highest accepted chance (0 to 1) that the set leaves no repetition in reserve."""

    too_hard: Share = 0.10


@dataclass(frozen=True, slots=True)
class Shown:
    """A working set whose reserve was told: its load [kg], done and left together, and left alone [repetitions].

    ``cut_short`` says that pain ended it: then no less was possible, and more perhaps.
    """

    load_kg: Kilograms
    repetitions: Repetitions
    left: Repetitions = 0.0
    cut_short: bool = False


@dataclass(frozen=True, slots=True)
class ProgressionContext:
    """What happened before on this exercise and side.

    ``last_load_kg`` and ``last_reps`` are of the last working set, ``most_kg`` is the heaviest done lately,
    ``recent_pain`` the worst of 0-10 since, ``effort_missing_count`` the sessions in a row without reserve,
    ``sessions_above_range`` those in a row in which the last set went two or more repetitions past the range.
    ``ended_break`` is the last break before this one; ``new_station`` marks a lift that is known, at a station
    whose loads are not. ``missed_kg`` is a load of the newest session that did not go up once, and that nothing
    since has matched; ``held`` says that heavier loads are there, and left out on purpose. ``shown`` are the newest
    sessions with a told reserve since the last break, oldest first; empty where the newest one told none. Of a side that was
    never done they are the other side's.
    """

    last_load_kg: Kilograms | None = None
    last_reps: int | None = None
    first_time: bool = False
    days_since_last: Days | None = None
    recent_pain: float | None = None
    effort_missing_count: int = 0
    novice: bool = False
    single_joint: bool = False
    upper_body: bool = True
    sessions_above_range: int = 0
    after_illness: bool = False
    ended_break: EndedBreak | None = None
    new_station: bool = False
    missed_kg: Kilograms | None = None
    most_kg: Kilograms | None = None
    held: bool = False
    shown: tuple[tuple[Shown, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """One load and number of repetitions, with the chances that decide.

    ``reserve`` is the median of what would be left; ``p_wanted`` the chance that it lies in the wanted
    reserve, ``p_too_hard`` that none is left or the repetitions are missed; ``expected_reps`` predicts those
    to failure.
    """

    option: LoadOption
    reps: int
    reserve: float
    p_wanted: Share
    p_too_hard: Share
    expected_reps: Interval


@dataclass(frozen=True, slots=True)
class Choice:
    """The load and repetitions of the next set, why, and what else was possible.

    ``reps`` are for the next set, stopping with ``reserve`` left; ``reps_low`` to ``reps_high`` is the
    target at this load that the coming sessions work towards. ``p_wanted`` is the chance that ``reserve_low``
    to ``reserve_high`` are left; the latter is infinite where more is no fault. ``sets_share`` [1] scales the
    usual number of sets. ``source_keys`` are works that this choice rests on and not every one does.
    """

    load_index: int
    load_kg: Kilograms
    reps: int
    reps_low: int
    reps_high: int
    reserve_low: float
    reserve_high: float
    reserve: float
    p_wanted: Share
    p_too_hard: Share
    expected_reps: Interval
    policy: Policy
    sets_share: Share
    alternatives: tuple[Candidate, ...]
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]
    source_keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NoForecast:
    """No load can be named honestly, and why; ``nothing_here`` where another site may have one."""

    reason: Reason
    cautions: tuple[Caution, ...] = ()
    nothing_here: bool = False


@dataclass(frozen=True, slots=True)
class RampSet:
    """One warm-up set on the way to the top load."""

    option: LoadOption
    reps: int
