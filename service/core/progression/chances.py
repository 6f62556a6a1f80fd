"""For one load: how likely each number of repetitions is to leave the wanted reserve, or none."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite

from service.core.capability import RepetitionForecast
from service.core.progression.in_session import LoadForecast
from service.core.progression.situation import Candidate, LoadOption, RepetitionTarget
from service.core.units import Kilograms, Repetitions, Share

#: Candidates this close to the best chance count as good as the best. [1] (judgement)
CLOSE_ENOUGH = 0.02
#: A load may pass a bound by so much through conversion between units. [1]
ROUNDING = 1e-5


@dataclass(frozen=True, slots=True)
class Trial:
    """A candidate before its interval is worked out."""

    option: LoadOption
    reps: int
    p_wanted: Share
    p_too_hard: Share


@dataclass(frozen=True, slots=True)
class Wanted:
    """Reserve wanted [repetitions, inclusive; infinite above where more is no fault] and the accepted chance of
    leaving none."""

    reserve_low: float
    reserve_high: float
    too_hard: Share

    def trial(self, option: LoadOption, reps: int, forecast: RepetitionForecast) -> Trial:
        """Return the chances of one number of repetitions; a reserve of q is q to q + 1 on the continuous
        scale."""
        reached = forecast.probability_at_least(reps + self.reserve_low)
        highest = reps + self.reserve_high + 1.0
        beyond = forecast.probability_at_least(highest) if isfinite(highest) else 0.0
        return Trial(option, reps, reached - beyond, 1.0 - forecast.probability_at_least(reps + 1.0))


def trials(
    forecast: LoadForecast, options: Iterable[LoadOption], reps: Sequence[int], wanted: Wanted
) -> list[Trial]:
    """Return every allowed pair of a load and a number of repetitions: none above the cap on too hard."""
    allowed = []
    for option in options:
        at_load = forecast.repetitions_at(option.load_kg)
        for count in reps:
            trial = wanted.trial(option, count, at_load)
            if trial.p_too_hard > wanted.too_hard:
                break
            allowed.append(trial)
    return allowed


def boldest(allowed: Sequence[Trial]) -> Trial | None:
    """Return the most progressive trial (heavier, then more repetitions) among those close to the best
    chance."""
    if not allowed:
        return None
    best = max(trial.p_wanted for trial in allowed)
    close = [trial for trial in allowed if trial.p_wanted >= best - CLOSE_ENOUGH]
    return max(close, key=lambda trial: (trial.option.load_kg, trial.reps))


def heaviest_close(
    forecast: LoadForecast, options: Iterable[LoadOption], reps: Sequence[int], wanted: Wanted
) -> Trial | None:
    """Return the best trial of the heaviest load whose allowed chance is close to the best of all, allowed or
    not; else that of the lightest load with an allowed one.

    What is close does not depend on the cap, so that a tighter cap never moves to a heavier load.
    """
    from_heavy = sorted(options, key=lambda option: -option.load_kg)
    every = trials(forecast, from_heavy, reps, Wanted(wanted.reserve_low, wanted.reserve_high, 1.0))
    enough = max((trial.p_wanted for trial in every), default=0.0) - CLOSE_ENOUGH
    allowed = [boldest(trials(forecast, [option], reps, wanted)) for option in from_heavy]
    found = [trial for trial in allowed if trial is not None]
    return next((trial for trial in found if trial.p_wanted >= enough), found[-1] if found else None)


def candidate(forecast: LoadForecast, trial: Trial) -> Candidate:
    """Return a trial with the interval of the repetitions to failure and the reserve that is likely left."""
    at_load = forecast.repetitions_at(trial.option.load_kg)
    reserve = max(at_load.median - trial.reps, 0.0)
    return Candidate(trial.option, trial.reps, reserve, trial.p_wanted, trial.p_too_hard, at_load.interval())


def fitting_repetitions(at_load: RepetitionForecast, target: RepetitionTarget) -> Repetitions:
    """Return the repetitions that leave the middle of the wanted reserve at the median. [repetitions]"""
    return at_load.median - 0.5 * (target.reserve_low + target.reserve_high + 1.0)


def at_or_below(options: Sequence[LoadOption], load_kg: Kilograms) -> LoadOption | None:
    """Return the heaviest option that does not exceed a load (by more than rounding), or ``None``."""
    below = [option for option in options if option.load_kg <= load_kg * (1.0 + ROUNDING)]
    return max(below, key=lambda option: option.load_kg, default=None)


def next_above(options: Sequence[LoadOption], load_kg: Kilograms) -> LoadOption | None:
    """Return the lightest option heavier than a load, or ``None``."""
    above = [option for option in options if option.load_kg > load_kg * (1.0 + ROUNDING)]
    return min(above, key=lambda option: option.load_kg, default=None)


def whole_range(low: float, high: float) -> range:
    """Return the whole repetitions from low to high, at least one. [repetitions]"""
    first = max(ceil(low), 1)
    return range(first, max(floor(high), first) + 1)
